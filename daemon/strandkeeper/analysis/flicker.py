"""A strand whose light has become restless though its median is fine: a loose connector."""

from __future__ import annotations

from typing import Final

from strandkeeper.analysis.conditions import Active, Tell, key_of, put
from strandkeeper.analysis.levels import mdb
from strandkeeper.analysis.slow import DirectionSlow, Window
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import Thresholds
from strandkeeper.model.names import Direction

LOOKED_AT: Final = 12  # windows: one hour
ENOUGH: Final = 6
OVER: Final = 1
SD_OF_MEAN_DISTANCE: Final = 1.2533  # normal noise: standard deviation by mean distance


def judge_flicker(
    slow: DirectionSlow,
    window: Window,
    direction: Direction,
    thresholds: Thresholds,
    active: Active,
    tell: Tell,
) -> None:
    """Half of an hour's windows restless begins it, at most one ends it."""
    restless = int(_restless(slow, window, thresholds))
    key = key_of(FindingKind.FLICKER, direction)
    if not restless and key not in active and not any(slow.restless):
        slow.restless.clear()
        return
    slow.restless = [*slow.restless[-(LOOKED_AT - 1) :], restless]
    count = sum(slow.restless)
    on = count >= ENOUGH or (key in active and count > OVER)
    since = window.start_ms - (LOOKED_AT - 1) * WINDOW_MS
    severity = Severity.WARNING if on else None
    put(active, key, severity, since, window.start_ms + WINDOW_MS, tell)


def _restless(slow: DirectionSlow, window: Window, thresholds: Thresholds) -> bool:
    if not window.light:
        return False
    if window.dark:
        return True
    spread = SD_OF_MEAN_DISTANCE * window.spread
    limit = mdb(thresholds.flicker_spread)
    if slow.calm != MISSING:
        normal = SD_OF_MEAN_DISTANCE * slow.calm
        if spread > max(limit, thresholds.flicker_ratio * normal):
            return True
    return window.peak > mdb(thresholds.flicker_peak) and spread > limit
