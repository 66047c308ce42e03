"""Findings that are counts over days: restarts, flaps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.analysis.times_down import days_down
from strandkeeper.model.block import MISSING, PowerCode
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import End
from strandkeeper.model.reading import AdminStatus

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run
    from strandkeeper.analysis.state import LinkLive


DAY_MS: Final = 86_400_000
SINCE_FIRST_MS: Final = 600_000
LASER_ON_MDBM: Final = -20_000


def flap_times(live: LinkLive) -> list[int]:
    """When the link went down, for however long."""
    return [note.from_ms for note in (*live.flaps, *live.outages)]


def judge(run: Run, now_ms: int) -> None:
    """Count what has been going on for days."""
    live, limits = run.live, run.facts.thresholds
    active, tell = live.active, run.tell
    for which in (End.A, End.B):
        boots = [b for b in live.ends[which].boots if b > now_ms - limits.restarts_window_s * 1000]
        severity = Severity.WARNING if len(boots) >= limits.restarts else None
        since = boots[0] if boots else MISSING
        put(active, key_of(FindingKind.RESTARTS, end=which), severity, since, now_ms, tell)
    _judge_flaps(run, now_ms)
    _judge_pair(run, now_ms)
    _judge_parts(run, now_ms)


def _judge_parts(run: Run, now_ms: int) -> None:
    """Parts that do not fit together: urgent while the link is down, which they may explain.

    Where the link is up all the same, what is not sure is for the record only.
    """
    misfits = run.facts.misfits
    severity = None
    if misfits:
        sure = any(misfit.certain for misfit in misfits)
        severity = Severity.WARNING if sure else Severity.NOTE
        severity = Severity.URGENT if run.live.up is False else severity
    put(run.live.active, key_of(FindingKind.WRONG_PART), severity, now_ms, now_ms, run.tell)


def _judge_pair(run: Run, now_ms: int) -> None:
    """Find a pair not crossed: since the first day both ends send and neither sees light."""
    live = run.live
    key = key_of(FindingKind.PAIR_NOT_CROSSED)
    if live.up_ever and key not in live.active:
        return
    ends = live.ends
    dark = all(
        end.answers
        and not end.lit_ever
        and end.rx_code == PowerCode.NO_LIGHT
        and end.tx_code == PowerCode.MEASURED
        and end.tx > LASER_ON_MDBM
        and end.admin != AdminStatus.DOWN
        for end in ends
    )
    old = all(now_ms - end.dark_since_ms >= SINCE_FIRST_MS for end in ends) if dark else False
    on = dark and old and run.facts.strands == 2
    severity = Severity.URGENT if on else None
    put(live.active, key, severity, ends[0].dark_since_ms, now_ms, run.tell)


def _judge_flaps(run: Run, now_ms: int) -> None:
    live, limits = run.live, run.facts.thresholds
    key = key_of(FindingKind.FLAPPING)
    times = [t for t in flap_times(live) if t > now_ms - 14 * DAY_MS] if live.up_ever else []
    if not times and key not in live.active:
        return
    today = sum(t > now_ms - DAY_MS for t in times)
    days = days_down(live, now_ms) if times else ()
    many = today >= limits.flaps_day or len(days) >= limits.flaps_days_of_14
    since = min(times, default=now_ms)
    put(live.active, key, Severity.WARNING if many else None, since, now_ms, run.tell)
