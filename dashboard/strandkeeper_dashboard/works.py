"""What the page of work on a link shows: running figures, and the work before and after. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper.alerts.wording_rework import (
    acceptance_sentence,
    check_sentence,
    handwork_sentence,
    night_sentence,
    out_of_reach_sentence,
    sees_sentence,
    unmanaged_sentence,
    verdict_sentence,
)
from strandkeeper.analysis.acceptance import outcome_of
from strandkeeper.analysis.handwork import LiveFigures, explain_handwork
from strandkeeper.analysis.live_track import Track
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End, SwitchName
from strandkeeper.model.power import NOT_REPORTED, Power
from strandkeeper.model.reading import EndRow
from strandkeeper.model.rework import CheckKind, Outcome, Rework
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper_dashboard import figures

__all__ = ["LivePane", "WorkSheet", "live_panes", "tracks", "work_sheet"]

_SNMP: Final = 161
_BITS: Final = (CheckKind.BITS, CheckKind.BITS_STAGE)


@dataclass(frozen=True, slots=True, kw_only=True)
class LivePane:
    """One direction as somebody with a plug in one hand must see it."""

    name: str
    sees: str
    now: str
    facts: tuple[str, ...]
    line: str
    state: str
    signs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheet:
    """One piece of work in words."""

    work: Rework
    verdicts: tuple[str, ...]
    checks: tuple[tuple[str, tuple[str, ...]], ...]
    acceptance: str
    night: tuple[str, ...] = ()
    bits_pending: bool = False


def tracks(rows: Iterable[EndRow]) -> dict[Direction, Track]:
    """The readings of both directions since somebody began to look."""
    found = {way: Track() for way in Direction}
    sent: dict[End, Power] = {}
    for row in rows:
        if row.optics is None:
            continue
        sent[row.end] = row.optics.tx
        way = Direction.seen_by(row.end)
        found[way].take(row.time_ms, row.optics.rx, sent.get(way.sender, NOT_REPORTED))
    return found


def live_panes(
    link: Link,
    held: Mapping[Direction, Track],
    verdict: LinkVerdict | None,
    *,
    spare: bool,
    switches: Mapping[SwitchName, SwitchTarget],
) -> list[LivePane]:
    """Both directions; `switches` tell how to ask an end that is out of reach on the spot."""
    return [
        _pane(
            link,
            way,
            held,
            verdict,
            state=_state(link, way.receiver, verdict, switches),
            spare=spare,
        )
        for way in Direction
    ]


def _pane(
    link: Link,
    way: Direction,
    held: Mapping[Direction, Track],
    verdict: LinkVerdict | None,
    *,
    state: str,
    spare: bool,
) -> LivePane:
    track = held[way]
    signs = explain_handwork(
        LiveFigures(
            excess_db=_excess(track, way, verdict),
            peak_db=track.peak,
            dark=track.dark,
            both_dark=all(t.dark for t in held.values()),
            both_send=link.strands != 1 and all(t.sent is not None for t in held.values()),
            spare=spare,
        )
    )
    if track.now is not None:
        now = figures.number(track.now, 1)
    else:
        now = "no light" if track.dark else "not known"
    return LivePane(
        name=link.direction_name(way),
        sees=sees_sentence(link, way.receiver),
        now=now,
        facts=tuple(_facts(track)),
        line=_line([v for _, v in track.readings]),
        state=state,
        signs=tuple(handwork_sentence(sign) for sign in signs),
    )


def _excess(track: Track, way: Direction, verdict: LinkVerdict | None) -> float | None:
    if track.now is None or track.sent is None or verdict is None:
        return None
    loss, mine = track.sent - track.now, verdict.direction(way)
    if mine.baseline is not None:
        return loss - mine.baseline.loss.value
    return None if mine.planned_limit is None else loss - mine.planned_limit.value


def _facts(track: Track) -> list[str]:
    found = []
    if track.change is not None:
        sign = "+" if round(track.change, 1) > 0 else ""
        found.append(f"{sign}{figures.number(track.change, 1)} dB since the start")
    if track.best is not None:
        found.append(f"best {figures.number(track.best, 1)} dBm")
    if track.peak is not None:
        found.append(f"moves by {figures.number(track.peak, 1)} dB")
    return found


def _state(
    link: Link,
    end: End,
    verdict: LinkVerdict | None,
    switches: Mapping[SwitchName, SwitchTarget],
) -> str:
    switch = link.end(end).switch
    if switch is None:
        return unmanaged_sentence(link, end)
    if verdict is None or verdict.end(end).answers is not False:
        return ""
    return out_of_reach_sentence(link, end, _host(switches.get(switch)))


def _host(switch: SwitchTarget | None) -> str:
    """Where to ask it, as `live --switch` takes it."""
    if switch is None:
        return ""
    return switch.host if switch.port == _SNMP else f"{switch.host} --snmp-port {switch.port}"


def _line(values: Sequence[float | None]) -> str:
    """Points of a line 240 wide and 40 high; dark readings are left out."""
    known = [(n, v) for n, v in enumerate(values) if v is not None]
    if len(known) < 2:
        return ""
    low = min(v for _, v in known)
    span = max(max(v for _, v in known) - low, 0.5)
    step = 240 / max(1, len(values) - 1)
    return " ".join(f"{n * step:.1f},{38 - (v - low) / span * 36:.1f}" for n, v in known)


def work_sheet(link: Link, work: Rework) -> WorkSheet:
    """One piece of work: verdict a direction, acceptance line by line."""
    reports = () if work.open else tuple(work.reports.items())
    checks = [c for _, r in reports for c in r.checks]
    return WorkSheet(
        work=work,
        verdicts=tuple(
            verdict_sentence(link.direction_name(way), r.verdict)
            for way, r in reports
            if not work.commissioning
        ),
        checks=tuple(
            (link.direction_name(way), tuple(check_sentence(c) for c in r.checks))
            for way, r in reports
        ),
        acceptance=acceptance_sentence(checks, outcome_of(checks)) if checks else "",
        night=tuple(_nights(link, work)),
        bits_pending=any(c.kind in _BITS and c.outcome is Outcome.PENDING for c in checks),
    )


def _nights(link: Link, work: Rework) -> list[str]:
    """By what a cold night is judged, each way; nothing while the work is under way."""
    if work.open or work.commissioning:
        return []
    said = [
        night_sentence(link.end(way.receiver).name, report, work.coldest_before_c.get(way))
        for way, report in work.reports.items()
    ]
    return [sentence for sentence in said if sentence]
