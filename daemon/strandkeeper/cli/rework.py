"""`strandkeeper rework start|finish|list`: work on a link, measured before and after."""

from __future__ import annotations

import argparse
import json
from contextlib import closing
from functools import partial
from pathlib import Path

from strandkeeper.alerts.wording_rework import TUG_TEST, work_cautions
from strandkeeper.cli.ask_daemon import ask_for, direction_named, link_named, print_cautions
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.cli.rework_text import work_lines
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.rework import Rework
from strandkeeper.model.rework_json import rework_to_json
from strandkeeper.model.settings import Settings
from strandkeeper.store import open_reader, rework

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = (
    'strandkeeper rework start station.toml "Pump house" --what "new plug" --to Lab --at Lab; '
    'strandkeeper rework finish station.toml "Pump house" --new-plugs 1; '
    "strandkeeper rework list station.toml"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What to do, on which link, and what about it."""
    parser.add_argument("action", choices=("start", "finish", "list"), help="what to do")
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    parser.add_argument("link", metavar="LINK", nargs="?", help="the link (list: default all)")
    parser.add_argument("--what", help="start: what will be done")
    parser.add_argument("--why", help="start: why")
    parser.add_argument("--to", metavar="END", help="start: the direction, by its receiving end")
    parser.add_argument("--at", metavar="END", help="start: the end that is worked at")
    parser.add_argument("--cable", help="start: the cable (default: the one that carries it)")
    parser.add_argument("--strand", type=int, metavar="N", help="start: the strand's number")
    parser.add_argument(
        "--matings",
        type=int,
        metavar="N",
        help="mated pairs a direction made anew or plugged again (default 1)",
    )
    parser.add_argument("--new-plugs", type=int, metavar="N", help="finish: plugs made (default 0)")
    parser.add_argument("--note", help="finish: what is worth remembering")
    parser.add_argument("--outdoors", action="store_true", help="start: show those cautions, too")
    parser.add_argument("--json", action="store_true", help="list: as JSON (default: words)")


def run(arguments: argparse.Namespace) -> int:
    """Start, finish or list."""
    settings = load(arguments.config)
    if arguments.action == "list":
        return _list(settings, arguments)
    if arguments.link is None:
        raise InputError(f"rework {arguments.action} needs the link", hint=f"example: {EXAMPLE}")
    link = link_named(settings, arguments.link)
    return (_start if arguments.action == "start" else _finish)(settings, link, arguments)


def _start(settings: Settings, link: Link, arguments: argparse.Namespace) -> int:
    way, at = direction_named(link, arguments.to), direction_named(link, arguments.at)
    stored = ask_for(
        settings,
        EntryKind.REWORK_START,
        {
            "link": link.name,
            "what": arguments.what,
            "why": arguments.why,
            "direction": None if way is None else way.value,
            "end": None if at is None else at.receiver.name,
            "cable": arguments.cable,
            "strand": arguments.strand,
            "matings": arguments.matings,
        },
    )
    print(f"Work {stored.id} on {link.name} has begun; its alerts are held for two hours.")
    print(paragraph(f'Watch it: strandkeeper live {arguments.config} "{link.name}"'))
    print(paragraph(TUG_TEST))
    print(paragraph(f'Then: strandkeeper rework finish {arguments.config} "{link.name}"'))
    print_cautions(work_cautions(outdoors=arguments.outdoors))
    return ExitCode.DONE


def _finish(settings: Settings, link: Link, arguments: argparse.Namespace) -> int:
    ask_for(
        settings,
        EntryKind.REWORK_FINISH,
        {
            "link": link.name,
            "note": arguments.note,
            "matings": arguments.matings,
            "new_plugs": arguments.new_plugs,
        },
    )
    print(f"Work on {link.name} has ended; its alerts speak again. Acceptance goes on by itself.")
    print(paragraph(f'See it: strandkeeper rework list {arguments.config} "{link.name}"'))
    return ExitCode.DONE


def _list(settings: Settings, arguments: argparse.Namespace) -> int:
    wanted = None if arguments.link is None else link_named(settings, arguments.link).name
    with closing(open_reader(settings.store.path)) as record:
        works = record.ask(partial(rework.reworks, link=wanted))
    if arguments.json:
        listed = {"schema": 1, "reworks": [rework_to_json(w) for w in works]}
        print(json.dumps(listed, ensure_ascii=False))
        return ExitCode.DONE
    if not works:
        print("No work is on record.")
    print(
        "\n\n".join("\n".join(_lines(settings, work)) for work in works), end="\n" if works else ""
    )
    return ExitCode.DONE


def _lines(settings: Settings, work: Rework) -> list[str]:
    names = {link.name: link for link in settings.links}
    return work_lines(work, _way_names(names.get(work.link), work.link))


def _way_names(link: Link | None, name: LinkName) -> dict[Direction, str]:
    if link is None:
        return {way: f"{name} {way.value}" for way in Direction}
    return {way: link.direction_name(way) for way in Direction}
