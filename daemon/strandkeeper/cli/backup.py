"""`strandkeeper backup`: a checked copy of the record, also while the service runs."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from pathlib import Path

from strandkeeper.cli.page_count import page_count
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, StoreError
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.times import iso_utc
from strandkeeper.store import open_reader
from strandkeeper.store.backup import copy_record
from strandkeeper.store.checking import check_whole
from strandkeeper.store.info import RecordInfo

__all__ = ["EXAMPLE", "add_arguments", "run", "told_content"]

EXAMPLE = "strandkeeper backup station.toml /mnt/stick/station-2026-11-25.db"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    parser.add_argument(
        "file", metavar="FILE", type=Path, help="the copy to make; must not exist yet"
    )


def run(arguments: argparse.Namespace) -> int:
    """Copy, check, and say what is in it."""
    settings = load(arguments.config)
    with page_count("copied") as progress:
        copy_record(Path(settings.store.path), arguments.file, progress)
    size = arguments.file.stat().st_size / 1e6
    content = told_content(check_whole(arguments.file))
    print(f"{arguments.file}: {size:.1f} MB, {content}; checked whole")
    _tell_record(settings.store.path, arguments.file)
    print(
        "It holds the names of switches and links, readings, alerts and notes, but no password or "
        "key. Keep the configuration, the files it takes its secrets from, and the dashboard's "
        "users apart: they are not in it.",
        file=sys.stderr,
    )
    return ExitCode.DONE


def _tell_record(record: str, copy: Path) -> None:
    """Let the pages say when the last backup was made; the copy is good without it."""
    payload: dict[str, object] = {"file": copy.name, "bytes": copy.stat().st_size}
    try:
        with closing(open_reader(record)) as reader:
            reader.append_entry(Entry(kind=EntryKind.BACKUP, who="backup", payload=payload))
    except StoreError as error:
        print(f"The record was not told of this backup: {error.message}", file=sys.stderr)


def told_content(info: RecordInfo | None) -> str:
    """What a record holds, in a few words."""
    if info is None:
        return "an older format, upgraded when the daemon next starts"
    if info.oldest_ms is None or info.newest_ms is None:
        return "no readings yet"
    links = "1 link" if info.links == 1 else f"{info.links} links"
    return f"{links}, readings from {iso_utc(info.oldest_ms)} to {iso_utc(info.newest_ms)}"
