"""What a window says against fixed limits: added loss (the main alarm), margin, overload."""

from __future__ import annotations

from functools import cache
from typing import Final

from strandkeeper.analysis.conditions import Active, Tell, hold, key_of, put
from strandkeeper.analysis.slow import DirectionSlow, Window
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import DirectionFacts, Thresholds
from strandkeeper.model.names import Direction
from strandkeeper.optics.units import Db

SLACK_MDB: Final = 300  # a margin finding ends only this far above its limit


@cache
def mdb(value: Db) -> int:
    """A ratio in 0.001 dB."""
    return round(value.value * 1000)


def ten_minutes(slow: DirectionSlow, window: Window) -> int:
    """Level of this window and the one before it, where that is just before [0.001 dB]."""
    close = window.start_ms - slow.last_ms == WINDOW_MS and slow.last_middle != MISSING
    return (window.middle + slow.last_middle) // 2 if close else window.middle


def judge_added_loss(
    slow: DirectionSlow,
    window: Window,
    direction: Direction,
    thresholds: Thresholds,
    active: Active,
    tell: Tell,
) -> None:
    """Added loss of the last ten minutes against its three steps."""
    note = slow.baseline
    if note is None or not window.light or window.by_loss != note.by_loss:
        return
    slow.added = ten_minutes(slow, window) - note.level
    key = key_of(FindingKind.ADDED_LOSS, direction)
    if key not in active and slow.added < mdb(thresholds.added_loss_note):
        for holding in slow.holds:
            holding.above_ms = MISSING
        return
    limits = (
        (thresholds.added_loss_note, 0),
        (thresholds.added_loss_warn, thresholds.added_loss_warn_s),
        (thresholds.added_loss_urgent, thresholds.added_loss_urgent_s),
    )
    severity = None
    for level, (holding, (limit, seconds)) in enumerate(zip(slow.holds, limits, strict=True)):
        passed = hold(
            holding,
            above=slow.added >= mdb(limit),
            below=slow.added < mdb(limit) // 2,
            at_ms=window.start_ms,
            now_ms=window.start_ms + WINDOW_MS,
            on_ms=seconds * 1000,
            off_ms=thresholds.added_loss_clear_s * 1000,
        )
        severity = Severity(level) if passed else severity
    since = min((h.above_ms for h in slow.holds if h.above_ms != MISSING), default=window.start_ms)
    put(active, key, severity, since, window.start_ms + WINDOW_MS, tell)


def judge_margin(
    rx: int,
    direction: Direction,
    facts: DirectionFacts,
    thresholds: Thresholds,
    now_ms: int,
    active: Active,
    tell: Tell,
) -> None:
    """Margin of a receive power [0.001 dBm] against the reserve."""
    if facts.limits.sensitivity is None or rx == MISSING:
        return
    margin = rx - round(facts.limits.sensitivity.value * 1000)
    warn = thresholds.reserve_warn_anchored if facts.anchored else thresholds.reserve_warn
    urgent = thresholds.reserve_urgent_anchored if facts.anchored else thresholds.reserve_urgent
    key = key_of(FindingKind.MARGIN_LOW, direction)
    had = active.get(key)
    severity = None
    if margin < mdb(urgent) + (SLACK_MDB if had and had[1] == Severity.URGENT else 0):
        severity = Severity.URGENT
    elif margin < mdb(warn) + (SLACK_MDB if had else 0):
        severity = Severity.WARNING
    put(active, key, severity, now_ms, now_ms, tell)


def judge_overload(
    rx: int,
    direction: Direction,
    facts: DirectionFacts,
    now_ms: int,
    active: Active,
    tell: Tell,
    *,
    errors: bool,
) -> None:
    """Receive power [0.001 dBm] above what the receiver can use."""
    limit = facts.limits.overload
    if limit is None or rx == MISSING:
        return
    key = key_of(FindingKind.OVERLOAD, direction)
    over = rx > round(limit.value * 1000) - (SLACK_MDB if key in active else 0)
    severity = None
    if over and (errors or not facts.limits.overload_needs_errors):
        severity = Severity.URGENT if errors else Severity.WARNING
    put(active, key, severity, now_ms, now_ms, tell)
