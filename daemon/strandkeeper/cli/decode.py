"""`strandkeeper decode`: a module's raw pages in words."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from strandkeeper.errors import DecodeError, ExitCode, InputError
from strandkeeper.optics.sff8472.dump import RawPages, pages_from_bytes
from strandkeeper.optics.sff8472.module import Module, decode_module

EXAMPLE = "strandkeeper decode module.hex"

_MOST_BYTES = 1 << 20  # a dump of two pages is 4 KiB of text; more is another file


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One file with both pages, or one for each."""
    parser.add_argument(
        "file",
        help="binary or hexadecimal dump: page A0h, alone or followed by A2h; '-' reads stdin",
    )
    parser.add_argument("a2_file", nargs="?", help="page A2h, if it is in a file of its own")
    parser.add_argument("--json", action="store_true", help="the same for a script (schema 1)")


def run(arguments: argparse.Namespace) -> int:
    """Print what is sound; 1 when the pages are damaged or cut short."""
    raw = pages(Path(arguments.file), Path(arguments.a2_file) if arguments.a2_file else None)
    module = decode_module(raw.a0, raw.a2)
    if arguments.json:
        from strandkeeper.cli.decode_json import module_json

        print(json.dumps(module_json(module, raw.remarks), ensure_ascii=False, indent=2))
    else:
        from strandkeeper.cli.decode_text import module_text

        print(module_text(module, raw.remarks))
    return ExitCode.DONE if sound(module) else _damaged()


def sound(module: Module) -> bool:
    """Whether every page given is whole with right checksums."""
    pages_given = [p for p in (module.identity, module.diagnostics) if p is not None]
    return module.identity is not None and all(page.sound for page in pages_given)


def _damaged() -> int:
    sys.stdout.flush()
    print(
        "strandkeeper: the pages are damaged or incomplete; what could be read is above",
        file=sys.stderr,
    )
    return ExitCode.OPERATOR


def pages(first: Path, second: Path | None) -> RawPages:
    """Read the file or files. Raises InputError for one that cannot be read or is no dump."""
    raw = pages_from_bytes(_read(first))
    if second is None:
        return raw
    other = pages_from_bytes(_read(second))
    a2 = other.a2 if other.a0 is None else other.a0
    if raw.a2 is not None and raw.a0 is not None:
        raise DecodeError(
            f"{first} holds both pages already", hint=f"leave out {second}, or give A0h alone"
        )
    return RawPages(a0=raw.a0 or raw.a2, a2=a2, remarks=raw.remarks)


def _read(path: Path) -> bytes:
    try:
        content = sys.stdin.buffer.read(_MOST_BYTES + 1) if str(path) == "-" else _content(path)
    except OSError as error:
        raise InputError(
            f"{path} cannot be read: {error.strerror}", hint="give the file that holds the dump"
        ) from error
    if len(content) > _MOST_BYTES:
        raise InputError(f"{path} is too long for a module's pages", hint="is it another file?")
    return content


def _content(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(_MOST_BYTES + 1)
