"""`strandkeeper alerts`: what is to be heard of, seen, muted; and a trial of every way out."""

from __future__ import annotations

import argparse
import asyncio
import getpass
import json
import re
import time
from contextlib import closing
from pathlib import Path
from typing import Final

from strandkeeper.alerts.calm import calm_of
from strandkeeper.alerts.wording_digest import trial_message
from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.app.secrets import resolve
from strandkeeper.cli.alerts_text import Known, alerts_json, alerts_text
from strandkeeper.config.load import load
from strandkeeper.config.problem import nearest
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.message import Target
from strandkeeper.model.settings import Settings
from strandkeeper.notify.send import send
from strandkeeper.store import RecordReader, open_reader

__all__ = ["EXAMPLE", "add_arguments", "run", "seconds_of"]

EXAMPLE = "strandkeeper alerts station.toml mute 12 --for 8h"

_ACTS: Final = ("list", "ack", "mute", "unmute")
_SPAN: Final = re.compile(r"^(\d+)\s*([mhd])$")
_UNITS: Final = {"m": 60, "h": 3600, "d": 86_400}
_WAIT_S: Final = 5.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The configuration, what to do, and with which alert or link."""
    parser.add_argument("config", type=Path, help="the configuration file (TOML)")
    parser.add_argument("act", nargs="?", choices=_ACTS, default="list", help="(default: list)")
    parser.add_argument(
        "subject", nargs="?", help="the number of an alert; for mute and unmute a link's name, too"
    )
    parser.add_argument(
        "--for", dest="span", default="8h", help="how long to mute: 30m, 8h, 2d (default: 8h)"
    )
    parser.add_argument("--all", action="store_true", help="list also what is over")
    parser.add_argument("--json", action="store_true", help="list as JSON, schema 1")
    parser.add_argument(
        "--trial",
        action="store_true",
        help="send a trial message to every target and say what happened",
    )


def run(arguments: argparse.Namespace) -> int:
    """Do it; a trial that fails anywhere ends with 1."""
    settings = load(arguments.config)
    if arguments.trial:
        return asyncio.run(_trial(settings))
    with closing(open_reader(settings.store.path)) as reader:
        if arguments.act == "list":
            return _list(settings, reader, everything=arguments.all, as_json=arguments.json)
        entry = _entry(settings, arguments.act, arguments.subject, arguments.span)
        return _ask(reader, entry)


def seconds_of(span: str) -> int:
    """`30m`, `8h` or `2d` in seconds. Raises InputError.

    >>> seconds_of("8h")
    28800
    """
    match = _SPAN.match(span.strip())
    if match is None:
        raise InputError(f"{span!r} is not a time span", hint="write it like 30m, 8h or 2d")
    return int(match[1]) * _UNITS[match[2]]


def _list(settings: Settings, reader: RecordReader, *, everything: bool, as_json: bool) -> int:
    alerts = reader.alerts(200) if everything else reader.open_alerts()[::-1]
    now_ms = time.time_ns() // 1_000_000
    known = Known(
        alerts=alerts,
        waiting=reader.waiting_messages(),
        silences=reader.silences(),
        calm={v.link: calm_of(v, settings.thresholds, now_ms) for v in reader.verdicts()},
    )
    if as_json:
        print(json.dumps(alerts_json(settings, known), ensure_ascii=False))
    else:
        print(alerts_text(settings, known, now_ms, offset_s=time.localtime().tm_gmtoff))
    return ExitCode.DONE


def _entry(settings: Settings, act: str, subject: str | None, span: str) -> Entry:
    if subject is None:
        raise InputError(
            f"{act} needs the number of an alert"
            + ("" if act == "ack" else " or a link's name in quotes"),
            hint="strandkeeper alerts CONFIG lists the numbers",
        )
    who = getpass.getuser()
    if act == "ack":
        number = _number(subject)
        if number is None:
            raise InputError(f"{subject!r} is not the number of an alert")
        return Entry(kind=EntryKind.ACKNOWLEDGE, who=who, payload={"alert": number})
    payload = _subject(settings, subject)
    for_s = 0 if act == "unmute" else seconds_of(span)
    return Entry(kind=EntryKind.MUTE, who=who, payload={**payload, "for_s": for_s})


def _subject(settings: Settings, subject: str) -> dict[str, object]:
    number = _number(subject)
    if number is not None:
        return {"alert": number}
    names = [str(link.name) for link in settings.links]
    if subject not in names:
        close = nearest(subject, names)
        meant = f'; did you mean "{close}"?' if close else ""
        raise InputError(f'no link is called "{subject}"{meant}')
    return {"link": subject}


def _number(text: str) -> int | None:
    return int(text) if text.isdecimal() else None


def _ask(reader: RecordReader, entry: Entry) -> int:
    """Append the entry and wait a little for the daemon's answer."""
    number = reader.append_entry(entry)
    deadline = time.monotonic() + _WAIT_S
    while time.monotonic() < deadline:
        stored = next((e for e in reader.entries(limit=50) if e.id == number), None)
        if stored is not None and stored.refusal:
            raise InputError(f"not done: {stored.refusal}")
        if stored is not None and stored.applied_ms is not None:
            print("done")
            return ExitCode.DONE
        time.sleep(0.2)
    print("asked; the service does it as soon as it runs")
    return ExitCode.DONE


async def _trial(settings: Settings) -> int:
    targets = settings.telling.targets
    if not targets:
        raise InputError(
            "no target is configured, so nobody is told of anything",
            hint="Add a [[target]] to the configuration; the starter file shows three kinds.",
        )
    results = await asyncio.gather(*(_try(settings, target) for target in targets))
    return ExitCode.DONE if all(results) else ExitCode.OPERATOR


async def _try(settings: Settings, target: Target) -> bool:
    offset_s = time.localtime().tm_gmtoff
    setting = Setting(
        now_ms=time.time_ns() // 1_000_000, offset_s=offset_s, station=settings.station
    )
    began = time.monotonic()
    result = await send(target, trial_message(target.name, setting), resolve)
    took = f"{time.monotonic() - began:.1f} s"
    print(
        f"{target.name}: sent ({took})" if result.ok else f"{target.name}: NOT sent: {result.why}"
    )
    return result.ok
