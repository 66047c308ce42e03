"""`strandkeeper history`: what the record holds of a link as CSV, or a CSV brought into it."""

from __future__ import annotations

import argparse
import difflib
import gc
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.jobs.history import ImportReport, export_lines, import_rows
from strandkeeper.model.link import Link
from strandkeeper.model.settings import Settings
from strandkeeper.model.times import iso_utc, ms_from_iso
from strandkeeper.readers.history_csv import read_history
from strandkeeper.store import open_reader, open_writer

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = 'strandkeeper history station.toml "Lab to pump house" --csv > pump-house.csv'

LAST_MS = 1 << 46


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    parser.add_argument("link", metavar="LINK", help="the link's name, as in the configuration")
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--csv", action="store_true", help="write the history to standard output")
    way.add_argument(
        "--import",
        dest="file",
        metavar="FILE.csv",
        help="bring this history in and judge it; - is standard input. "
        "The record must have no rows of the link in that time",
    )
    parser.add_argument(
        "--from", dest="begin", metavar="TIME", help="with --csv: from this time on (ISO 8601)"
    )
    parser.add_argument(
        "--to", dest="end", metavar="TIME", help="with --csv: up to, without, this time (ISO 8601)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Write or bring in."""
    settings = load(arguments.config)
    link = _find_link(settings, arguments.link)
    if arguments.csv:
        begin = 0 if arguments.begin is None else ms_from_iso(arguments.begin)
        end = LAST_MS if arguments.end is None else ms_from_iso(arguments.end)
        return _export(settings, link, begin, end)
    return _import(settings, link, arguments.file)


def _find_link(settings: Settings, name: str) -> Link:
    for link in settings.links:
        if link.name == name:
            return link
    names = [link.name for link in settings.links]
    near = difflib.get_close_matches(name, names, n=1)
    hint = f"Did you mean {near[0]!r}?" if near else f"There are: {', '.join(map(repr, names))}."
    raise InputError(f"there is no link {name!r} in the configuration", hint=hint)


def _export(settings: Settings, link: Link, begin_ms: int, end_ms: int) -> int:
    with closing(open_reader(settings.store.path)) as record:
        if link.name not in record.links():
            raise InputError(
                f"the record has nothing of link {link.name!r} yet",
                hint="It has once the daemon has polled it (`strandkeeper run CONFIG`).",
            )
        for line in export_lines(record, link, begin_ms, end_ms):
            print(line)
    return ExitCode.DONE


def _import(settings: Settings, link: Link, file: str) -> int:
    with (
        _no_garbage_hunt(),
        closing(open_writer(settings.store.path, reserve=False)) as writer,
        closing(open_reader(settings.store.path)) as reader,
        _lines(file) as lines,
        _progress() as progress,
    ):
        report = import_rows(settings, link, read_history(lines), (writer, reader), progress)
    _tell(link, report)
    return ExitCode.DONE


@contextmanager
def _no_garbage_hunt() -> Iterator[None]:
    """Rows hold no cycles; looking for some among a million fresh objects takes a fifth longer."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@contextmanager
def _lines(file: str) -> Iterator[Iterator[str]]:
    """The lines of a file, `-` being standard input."""
    if file == "-":
        yield iter(sys.stdin)
        return
    try:
        with Path(file).open(encoding="utf-8-sig", newline="") as text:
            yield text
    except UnicodeDecodeError as error:
        raise InputError(f"{file} is not UTF-8 text", hint="Save it as CSV, UTF-8.") from error
    except OSError as error:
        raise InputError(
            f"{file} cannot be read: {error.strerror}", hint="Name a CSV file that you may read."
        ) from error


@contextmanager
def _progress() -> Iterator[Callable[[int], None]]:
    """Count rows on a terminal; silent elsewhere."""
    terminal = sys.stderr.isatty()

    def show(rows: int) -> None:
        if terminal:
            print(f"\r{rows} rows read", end="", file=sys.stderr, flush=True)

    try:
        yield show
    finally:
        if terminal:
            print(file=sys.stderr)


def _tell(link: Link, report: ImportReport) -> None:
    print(
        f"{link.name}: {report.rows} rows from {iso_utc(report.from_ms)} to "
        f"{iso_utc(report.to_ms)}, {report.events} events, on record only: nobody is alerted"
    )
    if report.judged_on:
        print("If the daemon is running, restart it: it then goes on from here.", file=sys.stderr)
    else:
        print(
            "The record goes on after these rows: what is said of the link now was left as it is.",
            file=sys.stderr,
        )
