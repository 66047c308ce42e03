"""The live view out of the record: the daemon polls, this only says that somebody looks."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.alerts.wording_figures import duration
from strandkeeper.alerts.wording_rework import (
    out_of_reach_sentence,
    sees_sentence,
    unmanaged_sentence,
    work_cautions,
)
from strandkeeper.analysis.handwork import LiveFigures, explain_handwork
from strandkeeper.analysis.live_track import Track
from strandkeeper.analysis.spares import best_spares
from strandkeeper.cli.live_screen import Pane, line_of, room_of_terminal, screen
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.link import Link
from strandkeeper.model.live import LiveGrant
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import NOT_REPORTED
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict
from strandkeeper.store import RecordReader, ledger, open_reader, rework

__all__ = ["look_at_record"]

RENEW_S: Final = 10.0
LOOK_S: Final = 0.25
_SNMP: Final = 161
LONGEST_S: Final = 30 * 60.0
CAUTION_S: Final = 6.0
CLEAR: Final = "\x1b[H\x1b[2J"


@dataclass(slots=True)
class _View:
    settings: Settings
    link: Link
    record: RecordReader
    cautions: tuple[str, ...]
    tracks: dict[Direction, Track] = field(
        default_factory=lambda: {way: Track() for way in Direction}
    )
    updates: int = 0


def look_at_record(settings: Settings, link: Link, *, updates: int, outdoors: bool) -> None:
    """Show until Ctrl-C, half an hour, or so many readings; then tell the daemon that it ended."""
    with closing(open_reader(settings.store.path)) as record:
        view = _View(settings, link, record, work_cautions(outdoors=outdoors))
        try:
            _follow(view, updates)
        except KeyboardInterrupt:
            pass
        finally:
            record.append_entry(_entry(link, end=True))


def _entry(link: Link, *, end: bool = False) -> Entry:
    payload: dict[str, object] = {"link": link.name}
    if end:
        payload["end"] = True
    return Entry(kind=EntryKind.LIVE, who="live", payload=payload)


def _follow(view: _View, updates: int) -> None:
    begun_s = time.monotonic()
    asked_s, shown = begun_s - RENEW_S, -1
    while time.monotonic() - begun_s < LONGEST_S and not 0 < updates <= view.updates:
        now_s = time.monotonic()
        if now_s - asked_s >= RENEW_S:
            view.record.append_entry(_entry(view.link))
            asked_s = now_s
        _take(view)
        if view.updates != shown:
            shown = view.updates
            _show(view, now_s - begun_s)
        time.sleep(LOOK_S)


def _take(view: _View) -> None:
    rows = view.record.latest(view.link.name, with_optics=True)
    for way, track in view.tracks.items():
        row, far = rows.get(way.receiver), rows.get(way.sender)
        if row is None or row.optics is None:
            continue
        before = len(track.readings), track.readings[-1][0] if track.readings else 0
        sent = NOT_REPORTED if far is None or far.optics is None else far.optics.tx
        track.take(row.time_ms, row.optics.rx, sent)
        if (len(track.readings), track.readings[-1][0]) != before:
            view.updates += 1


def _show(view: _View, lasted_s: float) -> None:
    verdict = view.record.verdict(view.link.name)
    panes = [_pane(view, way, verdict) for way in Direction]
    if not sys.stdout.isatty():
        print(line_of(lasted_s, panes), flush=True)
        return
    rate = _rate(next(iter(_grants(view)), None))
    title = f"{view.link.name}, looking for {duration(lasted_s)} (Ctrl-C ends it)"
    room = room_of_terminal(int(lasted_s / CAUTION_S))
    print(CLEAR + screen(title, rate, panes, view.cautions, room), flush=True)


def _grants(view: _View) -> Iterable[LiveGrant]:
    return (g for g in view.record.ask(rework.live_grants) if g.link == view.link.name)


def _rate(granted: LiveGrant | None) -> str:
    if granted is None:
        return "The daemon has not taken this up: does it run? What is shown is as usual."
    text = f"A reading every {granted.interval_s:g} s"
    if granted.refresh_s is not None:
        text += f"; the switch renews its figures about every {granted.refresh_s:.0f} s"
    return f"{text}{f' ({granted.why})' if granted.why else ''}"


def _pane(view: _View, way: Direction, verdict: LinkVerdict | None) -> Pane:
    link, track = view.link, view.tracks[way]
    mine = None if verdict is None else verdict.direction(way)
    return Pane(
        name=link.direction_name(way),
        sees=sees_sentence(link, way.receiver),
        track=track,
        spare_db=None if mine is None or mine.margin is None else mine.margin.value,
        state=_state(view, way.receiver),
        signs=explain_handwork(_figures(view, way, mine)),
    )


def _state(view: _View, end: End) -> str:
    switch = view.link.end(end).switch
    if switch is None:
        return unmanaged_sentence(view.link, end)
    row: EndRow | None = view.record.latest(view.link.name).get(end)
    if row is None or not row.answered:
        where = view.settings.switch(switch)
        port = "" if where.port == _SNMP else f" --snmp-port {where.port}"
        return out_of_reach_sentence(view.link, end, f"{where.host}{port}")
    name = view.link.end(end).name
    return f"The port at {name} is down." if row.oper is OperStatus.DOWN else ""


def _figures(view: _View, way: Direction, mine: DirectionVerdict | None) -> LiveFigures:
    track = view.tracks[way]
    dark = [t.dark for t in view.tracks.values()]
    strands = view.record.ask(ledger.strands)
    cables = {s.cable for s in strands if s.link == view.link.name}
    spares = [s for s in best_spares(strands) if s.cable in cables]
    return LiveFigures(
        excess_db=_excess(track, mine),
        peak_db=track.peak,
        dark=track.dark,
        both_dark=all(dark),
        both_send=all(t.sent is not None for t in view.tracks.values()) and view.link.strands != 1,
        spare=bool(spares),
    )


def _excess(track: Track, mine: DirectionVerdict | None) -> float | None:
    """What it loses now above its baseline, else above its plan; None where neither is known."""
    if track.now is None or track.sent is None or mine is None:
        return None
    loss = track.sent - track.now
    if mine.baseline is not None:
        return loss - mine.baseline.loss.value
    return None if mine.planned_limit is None else loss - mine.planned_limit.value
