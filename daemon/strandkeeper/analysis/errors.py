"""Damaged frames: how many, in how many bursts, and whether that is worth a word."""

from __future__ import annotations

from strandkeeper.analysis.conditions import Active, Tell, key_of, put
from strandkeeper.analysis.slow import DirectionSlow, Window
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import Thresholds
from strandkeeper.model.names import Direction

DAY_MS = 86_400_000
HOUR_MS = 3_600_000
FEWEST_URGENT = 5  # one bad frame among few is no ratio


def take_errors(slow: DirectionSlow, window: Window) -> None:
    """Enter a window's counts; a day of them is kept."""
    end_ms = window.start_ms + WINDOW_MS
    if window.errors != MISSING and window.errors > 0:
        frames = window.frames if window.frames != MISSING else MISSING
        slow.errors.append((window.start_ms, window.errors, frames, window.rx))
    if window.frames != MISSING and window.frames > 0:
        hour = window.start_ms // HOUR_MS
        if slow.frames and slow.frames[-1][0] == hour:
            slow.frames[-1] = (hour, slow.frames[-1][1] + window.frames)
        else:
            slow.frames.append((hour, window.frames))
    if slow.errors and slow.errors[0][0] < end_ms - DAY_MS:
        slow.errors = [entry for entry in slow.errors if entry[0] >= end_ms - DAY_MS]
    if slow.frames and slow.frames[0][0] * HOUR_MS < end_ms - DAY_MS:
        slow.frames = [entry for entry in slow.frames if entry[0] * HOUR_MS >= end_ms - DAY_MS]


def count_errors(slow: DirectionSlow) -> tuple[int, int]:
    """Damaged frames and frames of the last day."""
    return sum(entry[1] for entry in slow.errors), sum(entry[1] for entry in slow.frames)


def judge_errors(
    slow: DirectionSlow,
    window: Window,
    direction: Direction,
    thresholds: Thresholds,
    active: Active,
    tell: Tell,
) -> bool:
    """Put or end the finding; True if this window had damaged frames in more than one."""
    key = key_of(FindingKind.ERRORS, direction)
    if not slow.errors and key not in active:
        return False
    total = sum(entry[1] for entry in slow.errors)
    severity = None
    if total >= thresholds.errors_warn_frames and len(slow.errors) >= 2:
        severity = Severity.WARNING
    if window.errors != MISSING and _urgent(window.errors, window.frames, thresholds):
        severity = Severity.URGENT
    since = slow.errors[0][0] if slow.errors else window.start_ms
    put(active, key, severity, since, window.start_ms + WINDOW_MS, tell)
    return severity is not None


def _urgent(errors: int, frames: int, thresholds: Thresholds) -> bool:
    """More than one damaged in so many, over one window (the frames counted are the good ones)."""
    if errors < FEWEST_URGENT or frames == MISSING:
        return False
    return errors > thresholds.errors_urgent_ratio * (frames + errors)
