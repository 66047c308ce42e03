"""`strandkeeper cable CONFIG import|export|show`: the ledger of cables and strands."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from pathlib import Path

from strandkeeper.analysis.spares import best_spares
from strandkeeper.cli.ask_daemon import ask_for
from strandkeeper.cli.rework_text import local_time
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.ledger_files import (
    from_csv,
    from_json,
    readings_to_csv,
    to_csv,
    to_json,
    works_to_csv,
)
from strandkeeper.model.settings import Settings
from strandkeeper.store import ledger, open_reader

__all__ = ["EXAMPLE", "add_arguments", "run"]


EXAMPLE = "strandkeeper cable station.toml export --json -o cables.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What to do with the ledger, and in which form."""
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    parser.add_argument("action", choices=("import", "export", "show"), help="what to do")
    parser.add_argument(
        "file", metavar="FILE", nargs="?", help="import: a .json or .csv file, - is JSON on stdin"
    )
    parser.add_argument("--json", action="store_true", help="export: JSON, whole (default: CSV)")
    parser.add_argument(
        "--of",
        choices=("strands", "readings", "works"),
        default="strands",
        help="export as CSV: strands, meter readings, or work (default strands)",
    )
    parser.add_argument(
        "-o", dest="output", metavar="FILE", help="export: to here (default stdout)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Bring in, write out or show."""
    settings = load(arguments.config)
    if arguments.action == "import":
        return _import(settings, arguments.file)
    with closing(open_reader(settings.store.path)) as record:
        cables, strands, readings, works = record.ask(ledger.everything)
    if arguments.action == "show":
        print("\n".join(_shown(cables, strands)) or "The ledger is empty.")
        return ExitCode.DONE
    if arguments.json:
        text = to_json(cables, strands, readings, works)
    else:
        tables = {"strands": to_csv(strands), "readings": readings_to_csv(readings)}
        text = tables.get(arguments.of) or works_to_csv(works)
    if arguments.output is None:
        sys.stdout.write(text)
    else:
        _write(Path(arguments.output), text)
    return ExitCode.DONE


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{path} cannot be written: {error.strerror}", hint="name another file with -o"
        ) from error


def _import(settings: Settings, file: str | None) -> int:
    if file is None:
        raise InputError("cable import needs a file", hint="a .json or .csv file, or - for stdin")
    try:
        text = sys.stdin.read() if file == "-" else Path(file).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{file} cannot be read: {error}", hint="name a UTF-8 file") from error
    payload = from_csv(text) if file.lower().endswith(".csv") else from_json(text)
    ask_for(settings, EntryKind.LEDGER, payload)
    print("The ledger has taken it in.")
    return ExitCode.DONE


def _shown(cables: list[Cable], strands: list[Strand]) -> list[str]:
    lines: list[str] = []
    for cable in cables:
        ends = f", {cable.a} to {cable.b}" if cable.a and cable.b else ""
        length = "" if cable.length_m is None else f", {cable.length_m:g} m"
        lines.append(f"{cable.name}: {cable.strands} strands{length}{ends}")
        lines += [_strand(s) for s in strands if s.cable == cable.name]
        best = best_spares(strands, cable=cable.name)
        if best:
            lines.append(f"  best spare: {best[0].number} ({best[0].label})")
    return lines


def _strand(strand: Strand) -> str:
    way = "" if strand.direction is None else f" {strand.direction.value}"
    use = f"{strand.link}{way}" if strand.link else strand.use.value
    tried = "" if strand.tested_ms is None else f", tried {local_time(strand.tested_ms)[:10]}"
    loss = "" if strand.tested_loss is None else f" {strand.tested_loss}"
    plugs = sum(e.attempts for e in strand.ends)
    made = f", {plugs} plugs made" if plugs else ""
    note = f", {strand.note}" if strand.note else ""
    return f"  {strand.number:>4} {strand.label:<16} {use}{tried}{loss}{made}{note}"
