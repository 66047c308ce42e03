"""The usual window, in which nothing is the matter and nothing was: taken in by the short way.

Nearly all windows of a year are such. What is done here is what `rounds.play` would do with them
and nothing else; anything out of the ordinary, and the first window of an hour, is left to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from strandkeeper.analysis import errors, laser, levels, step_findings
from strandkeeper.analysis.conditions import key_of
from strandkeeper.analysis.flicker import SD_OF_MEAN_DISTANCE
from strandkeeper.analysis.levels import mdb
from strandkeeper.analysis.link_findings import DAY_MS as FLAP_DAY_MS
from strandkeeper.analysis.periods import DAY_MS, HOUR_MS
from strandkeeper.analysis.slow import DirectionSlow, EndSlow, Window
from strandkeeper.analysis.windows import WINDOW_MS, Closed
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind
from strandkeeper.model.link import DirectionFacts, LinkFacts
from strandkeeper.model.names import Direction, End

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run

__all__ = ["CalmLimits"]

BOTH: Final = (Direction.AB, Direction.BA)
_OF_WAYS: Final = (
    FindingKind.ERRORS,
    FindingKind.FLICKER,
    FindingKind.REPEATED_STEPS,
    FindingKind.ADDED_LOSS,
    FindingKind.MARGIN_LOW,
    FindingKind.OVERLOAD,
)
_OF_ENDS: Final = (
    FindingKind.TRANSMIT_LOW,
    FindingKind.TEMPERATURE,
    FindingKind.SUPPLY,
    FindingKind.NO_READINGS,
    FindingKind.FROZEN_FIGURE,
    FindingKind.RESTARTS,
)
_OF_LINK: Final = (
    FindingKind.FLAPPING,
    FindingKind.PAIR_NOT_CROSSED,
    FindingKind.WRONG_PART,
)
WATCHED: Final = frozenset(
    [key_of(kind, way) for kind in _OF_WAYS for way in BOTH]
    + [key_of(kind, end=end) for kind in _OF_ENDS for end in (End.A, End.B)]
    + [key_of(kind) for kind in _OF_LINK]
)
NO_LEAST: Final = -(1 << 40)
NO_MOST: Final = 1 << 40


@dataclass(frozen=True, slots=True, kw_only=True)
class CalmLimits:
    """What every window is held against, as integers [0.001 dB, 0.001 dBm, 0.01 °C, ms]."""

    rx: tuple[tuple[int, int], tuple[int, int]]
    added: int
    spread: int
    coldest: float
    warmest: float
    restarts: int
    restarts_ms: int


def limits_of(facts: LinkFacts) -> CalmLimits:
    """The limits of a link, worked out once for many windows."""
    known = facts.thresholds
    return CalmLimits(
        rx=(_rx_limits(facts, facts.ab), _rx_limits(facts, facts.ba)),
        added=mdb(known.added_loss_note),
        spread=mdb(known.flicker_spread),
        coldest=known.temp_low_c * 100,
        warmest=min(known.temp_warn_c, known.temp_urgent_c) * 100,
        restarts=max(1, known.restarts),
        restarts_ms=known.restarts_window_s * 1000,
    )


def _rx_limits(facts: LinkFacts, known: DirectionFacts) -> tuple[int, int]:
    """Receive powers that are neither too little nor too much."""
    least, most = NO_LEAST, NO_MOST
    if known.limits.sensitivity is not None:
        limits = facts.thresholds
        warn = limits.reserve_warn_anchored if known.anchored else limits.reserve_warn
        urgent = limits.reserve_urgent_anchored if known.anchored else limits.reserve_urgent
        least = round(known.limits.sensitivity.value * 1000) + max(mdb(warn), mdb(urgent))
    if known.limits.overload is not None:
        most = round(known.limits.overload.value * 1000)
    return least, most


def play(run: Run, closed: Closed) -> bool:
    """Take in a window if it is a calm one; False, and nothing altered, if it is not."""
    limits, now_ms = run.calm_limits, (closed.index + 1) * WINDOW_MS
    first, second = closed.directions
    a, b = closed.ends
    if first is None or second is None or a is None or b is None:
        return False
    if not _link_is_calm(run, limits, now_ms):
        return False
    slow = run.slow
    ends, ways = slow.ends, slow.directions
    if not (
        _end_is_calm(ends[0], a, second, now_ms, limits)
        and _end_is_calm(ends[1], b, first, now_ms, limits)
        and _way_is_calm(ways[0], first, limits, limits.rx[0])
        and _way_is_calm(ways[1], second, limits, limits.rx[1])
    ):
        return False
    _take_end(ends[0], a, second, now_ms)
    _take_end(ends[1], b, first, now_ms)
    _take_way(run, ways[0], first, Direction.AB)
    _take_way(run, ways[1], second, Direction.BA)
    return True


def _link_is_calm(run: Run, limits: CalmLimits, now_ms: int) -> bool:
    live = run.live
    if run.facts.misfits or not live.up_ever or not live.active.keys().isdisjoint(WATCHED):
        return False
    for end in live.ends:
        boots = end.boots
        if len(boots) >= limits.restarts and boots[-limits.restarts] > now_ms - limits.restarts_ms:
            return False
    since = now_ms - 14 * FLAP_DAY_MS
    return not any(note.from_ms > since for note in (*live.flaps, *live.outages))


def _end_is_calm(
    end: EndSlow, values: tuple[int, int, int, int], seen: Window, now_ms: int, limits: CalmLimits
) -> bool:
    temp, bias, vcc, tx = values
    return (
        MISSING not in (temp, bias, tx)
        and seen.peak > 0
        and limits.coldest <= temp <= limits.warmest
        and (vcc == MISSING or laser.SUPPLY[0] <= vcc <= laser.SUPPLY[1])
        and end.today_ms == (now_ms - WINDOW_MS) // DAY_MS * DAY_MS
        and not end.low_windows
        and (not end.first or tx - max([day[2] for day in end.first]) >= laser.LOW_MDB)
    )


def _way_is_calm(
    slow: DirectionSlow, window: Window, limits: CalmLimits, rx: tuple[int, int]
) -> bool:
    note = slow.baseline
    return (
        note is not None
        and not slow.due
        and window.light > 0
        and not window.dark
        and bool(slow.hour)
        and window.start_ms // HOUR_MS == slow.hour[0].start_ms // HOUR_MS
        and window.by_loss == slow.by_loss == note.by_loss
        and window.errors <= 0
        and not slow.errors
        and not slow.restless
        and window.spread * SD_OF_MEAN_DISTANCE <= limits.spread
        and rx[0] <= window.rx <= rx[1]
        and slow.watch.found_ms == MISSING
        and levels.ten_minutes(slow, window) - note.level < limits.added
    )


def _take_end(end: EndSlow, values: tuple[int, int, int, int], seen: Window, now_ms: int) -> None:
    end.temp, end.bias, end.vcc, end.tx = values
    n, temp, bias, tx = end.today
    end.today = (n + 1, temp + end.temp, bias + end.bias, tx + end.tx)
    end.mute_windows = 0
    end.frozen = (seen.rx, 0, end.temp, end.temp)


def _take_way(run: Run, slow: DirectionSlow, window: Window, direction: Direction) -> None:
    errors.take_errors(slow, window)
    step_findings.judge(run, slow, window, direction)
    if slow.baseline is not None:
        slow.added = levels.ten_minutes(slow, window) - slow.baseline.level
    for holding in slow.holds:
        holding.above_ms = MISSING
    slow.rx, slow.last_middle, slow.last_ms = window.rx, window.middle, window.start_ms
    slow.hour.append(window)
