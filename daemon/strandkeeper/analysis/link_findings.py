"""Findings that are counts over days: restarts, flaps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import End

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run

__all__ = ["flap_times", "judge"]

DAY_MS: Final = 86_400_000


def flap_times(run_live: object) -> list[int]:
    """When the link went down and up again within the time that makes it an outage."""
    live = run_live
    return [note.from_ms for note in (*live.flaps, *live.outages)]  # type: ignore[attr-defined]


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


def _judge_flaps(run: Run, now_ms: int) -> None:
    live, limits = run.live, run.facts.thresholds
    key = key_of(FindingKind.FLAPPING)
    times = [t for t in flap_times(live) if t > now_ms - 14 * DAY_MS] if live.up_ever else []
    if not times and key not in live.active:
        return
    today = sum(t > now_ms - DAY_MS for t in times)
    days = len({t // DAY_MS for t in times})
    many = today >= limits.flaps_day or days >= limits.flaps_days_of_14
    since = min(times, default=now_ms)
    put(live.active, key, Severity.WARNING if many else None, since, now_ms, run.tell)
