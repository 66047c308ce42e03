"""Ask the daemon for something through the record, and wait for what became of it."""

from __future__ import annotations

import argparse
import getpass
import sys
import time
from contextlib import closing
from pathlib import Path

from strandkeeper.cli.paragraph import paragraph
from strandkeeper.config.problem import nearest
from strandkeeper.errors import InputError
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.settings import Settings
from strandkeeper.store import RecordReader, open_reader

__all__ = [
    "add_config",
    "add_direction",
    "ask_for",
    "direction_named",
    "link_named",
    "print_cautions",
    "submit",
]

WAIT_S = 15.0
_STEP_S = 0.1


def add_config(parser: argparse.ArgumentParser, *, link: bool = True) -> None:
    """The configuration and the link, as every command takes them."""
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    if link:
        parser.add_argument("link", metavar="LINK", help="the link's name, as in the configuration")


def add_direction(parser: argparse.ArgumentParser) -> None:
    """Which way, by the name of the end that receives."""
    parser.add_argument(
        "--to", metavar="END", help="the direction, by the name of the end that receives it"
    )


def link_named(settings: Settings, name: str) -> Link:
    """The link. Raises InputError with the nearest name."""
    for link in settings.links:
        if link.name == name:
            return link
    names = [str(link.name) for link in settings.links]
    close = nearest(name, names)
    meant = f'; did you mean "{close}"?' if close else ""
    known = ", ".join(f'"{n}"' for n in names) or "none"
    raise InputError(f'no link is called "{name}"{meant}', hint=f"there are: {known}")


def direction_named(link: Link, receiver: str | None) -> Direction | None:
    """The direction that the named end receives. Raises InputError."""
    if receiver is None:
        return None
    for end in End:
        if receiver in (link.end(end).name, end.name):
            return Direction.seen_by(end)
    raise InputError(
        f"{link.name!r} has no end {receiver!r}",
        hint=f"its ends are {link.a.name!r} and {link.b.name!r}",
    )


def submit(record: RecordReader, entry: Entry, *, wait_s: float = WAIT_S) -> StoredEntry:
    """Append it and wait until it is applied or refused, or `wait_s` is over."""
    number = record.append_entry(entry)
    until_s = time.monotonic() + wait_s
    while True:
        stored = next(e for e in record.entries(kind=entry.kind) if e.id == number)
        if stored.applied_ms is not None or stored.refusal or time.monotonic() >= until_s:
            return stored
        time.sleep(_STEP_S)


def ask_for(settings: Settings, kind: EntryKind, payload: dict[str, object]) -> StoredEntry:
    """Ask, wait, and say on stderr what became of it. Raises InputError with the refusal."""
    entry = Entry(
        kind=kind,
        who=_who(),
        payload={key: value for key, value in payload.items() if value is not None},
    )
    with closing(open_reader(settings.store.path)) as record:
        stored = submit(record, entry)
    if stored.refusal:
        raise InputError(f"refused: {stored.refusal}")
    if stored.applied_ms is None:
        raise InputError(
            f"asked (number {stored.id}), not yet applied: the daemon does not take it up",
            hint="start it (`strandkeeper run CONFIG`): it then applies what was asked",
        )
    return stored


def _who() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "someone"


def print_cautions(cautions: tuple[str, ...]) -> None:
    """What must stand beside an instruction, on stderr so that an answer stays an answer."""
    for caution in cautions:
        print(paragraph(f"! {caution}", hang=2), file=sys.stderr)
