"""`strandkeeper status`: how every link stands, out of the record, in words or as JSON."""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any

from strandkeeper.cli.status_text import status_text
from strandkeeper.config.load import load
from strandkeeper.config.problem import nearest
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.ping import Pings
from strandkeeper.model.poll import LinkEnd
from strandkeeper.model.settings import Settings
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.model.verdict_json import SCHEMA, verdict_to_json
from strandkeeper.store import open_reader

__all__ = ["EXAMPLE", "add_arguments", "run", "status_json"]

EXAMPLE = 'strandkeeper status station.toml "Lab to pump house"'


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The configuration, one link or all, and for whom."""
    parser.add_argument("config", type=Path, help="the configuration file (TOML)")
    parser.add_argument("link", nargs="?", help="one link by its name, with details (default: all)")
    parser.add_argument(
        "--json", action="store_true", help="print JSON, schema 1, times in UTC (default: words)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the status; 0 also when links are ill: the answer was given."""
    settings = load(arguments.config)
    links = settings.links if arguments.link is None else (_named(settings, arguments.link),)
    with closing(open_reader(settings.store.path)) as reader:
        verdicts = {v.link: v for v in reader.verdicts()}
        pings = _pings(reader.switches(), links)
    now_ms = time.time_ns() // 1_000_000
    if arguments.json:
        told = {**status_json(settings, links, verdicts, now_ms), "pings": _pings_json(pings)}
        print(json.dumps(told, ensure_ascii=False))
    else:
        print(status_text(settings, links, verdicts, now_ms, details=arguments.link is not None))
        for where, said in pings.items():
            print(f"\n{where.link}: {said.words}.")
    return ExitCode.DONE


def _pings(switches: Iterable[SwitchHealth], links: Sequence[Link]) -> dict[LinkEnd, Pings]:
    """What pings across these links say, where the owner asked for any."""
    names = {link.name for link in links}
    return {w: p for s in switches for w, p in s.pings.items() if w.link in names}


def _pings_json(pings: Mapping[LinkEnd, Pings]) -> list[dict[str, Any]]:
    return [
        {"link": where.link, "end": where.end.name.lower(), **asdict(said)}
        for where, said in pings.items()
    ]


def status_json(
    settings: Settings, links: Sequence[Link], verdicts: Mapping[LinkName, LinkVerdict], now_ms: int
) -> dict[str, Any]:
    """{schema, station, at, links: [verdict with the names of its ends]}, links in file order.

    A link that was not judged yet has the same shape; its `at` is null and every figure unknown.
    """
    return {
        "schema": SCHEMA,
        "station": settings.station,
        "at": iso_utc(now_ms),
        "links": [_link_json(link, verdicts.get(link.name)) for link in links],
    }


def _link_json(link: Link, verdict: LinkVerdict | None) -> dict[str, Any]:
    data = verdict_to_json(verdict or _unread(link))
    if verdict is None:
        data["at"] = None
    return {**data, "names": {"a": link.a.name, "b": link.b.name}}


def _unread(link: Link) -> LinkVerdict:
    return LinkVerdict(
        link=link.name,
        at_ms=0,
        a=EndState(end=End.A, managed=link.a.switch is not None),
        b=EndState(end=End.B, managed=link.b.switch is not None),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
    )


def _named(settings: Settings, name: str) -> Link:
    for link in settings.links:
        if link.name == name:
            return link
    names = [str(link.name) for link in settings.links]
    close = nearest(name, names)
    known = ", ".join(f'"{n}"' for n in names) or "none"
    meant = f'; did you mean "{close}"?' if close else ""
    raise InputError(f'no link is called "{name}"{meant}', hint=f"there are: {known}")
