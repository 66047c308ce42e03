"""Damaged frames: how many, in how many bursts, and whether that is worth a word."""

from __future__ import annotations

from functools import lru_cache
from operator import itemgetter
from typing import Final

from strandkeeper.analysis.conditions import Active, Tell, key_of, put
from strandkeeper.analysis.robust import middle
from strandkeeper.analysis.slow import DirectionSlow, Window
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import Thresholds
from strandkeeper.model.names import Direction
from strandkeeper.optics.confidence import error_ratio_lower, error_ratio_upper

__all__ = ["dispersion", "light_at_errors", "ratio_limits"]

DAY_MS = 86_400_000
HOUR_MS = 3_600_000
FEWEST_FOR_BURSTS: Final = 10
WINDOWS_AN_HOUR: Final = HOUR_MS // WINDOW_MS
ONE_SIDE: Final = 0.975
Z_CHANCE: Final = 3.1  # one in a thousand on one side
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
    count = itemgetter(1)
    return sum(map(count, slow.errors)), sum(map(count, slow.frames))


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


@lru_cache(maxsize=256)
def ratio_limits(damaged: int, frames: int) -> tuple[float, float]:
    """95 % limits of the share of damaged frames.

    Parameters
    ----------
    damaged, frames : int
        Damaged and good frames counted [frames]; up to a million damaged, not both zero.

    Returns
    -------
    tuple of float
        [-] Lower and upper limit.

    Raises
    ------
    Nothing.

    Source
    ------
    Exact Poisson limits, 2.5 % on either side, by optics.confidence.

    Example
    -------
    >>> low, high = ratio_limits(10, 999_990)
    >>> f"{low:.2e} {high:.2e}"
    '4.80e-06 1.84e-05'
    """
    seen = float(damaged + frames)
    low = error_ratio_lower(damaged, seen, confidence=ONE_SIDE)
    return low, min(1.0, error_ratio_upper(damaged, seen, confidence=ONE_SIDE))


def dispersion(slow: DirectionSlow) -> tuple[float, float] | None:
    """How unevenly the last day's damaged frames come: index of dispersion of five-minute counts.

    Parameters
    ----------
    slow : DirectionSlow
        The direction, with its counts of the last day [frames].

    Returns
    -------
    tuple of float, or None
        [-] Variance by mean, and up to where chance alone may bring it (one in a thousand); None
        with fewer than ten damaged frames or two hours. Independent errors give about 1.

    Raises
    ------
    Nothing.

    Notes
    -----
    Windows without a damaged frame count as zero, twelve to an hour in which frames were counted.
    The limit is the chi-squared quantile of n - 1 degrees of freedom by n - 1 (Wilson and
    Hilferty's approximation).

    Source
    ------
    Index of dispersion and its chi-squared test: Cox and Lewis, The Statistical Analysis of Series
    of Events (1966), section 6.3; Wilson and Hilferty, PNAS 17 (1931) 684. From memory,
    unconfirmed.

    Example
    -------
    >>> slow = DirectionSlow(
    ...     errors=[(0, 20, 1000, -9000)], frames=[(hour, 12_000) for hour in range(24)]
    ... )
    >>> index, chance = dispersion(slow)
    >>> round(index), index > chance
    (20, True)
    """
    counts = [entry[1] for entry in slow.errors]
    windows = max(len(counts), WINDOWS_AN_HOUR * len(slow.frames))
    total = sum(counts)
    if total < FEWEST_FOR_BURSTS or windows < 2 * WINDOWS_AN_HOUR:
        return None
    mean = total / windows
    squares = sum(count * count for count in counts) - windows * mean * mean
    freedom = windows - 1
    step = 2 / (9 * freedom)
    return squares / freedom / mean, (1 - step + Z_CHANCE * step**0.5) ** 3


def light_at_errors(slow: DirectionSlow) -> int | None:
    """Receive power while frames were damaged, against the day's usual.

    Parameters
    ----------
    slow : DirectionSlow
        The direction, with its counts of the last day and its hours [0.001 dBm].

    Returns
    -------
    int or None
        [0.001 dB] Negative is weaker; None where either is not known.

    Raises
    ------
    Nothing.

    Source
    ------
    Mean weighted by damaged frames against the median of the hours; own design, no source.

    Example
    -------
    >>> light_at_errors(DirectionSlow()) is None
    True
    """
    lit = [(count, rx) for _, count, _, rx in slow.errors if rx != MISSING]
    usual = [hour.rx for hour in slow.hours[-24:] if hour.rx != MISSING]
    total = sum(count for count, _ in lit)
    if not total or not usual:
        return None
    return sum(count * rx for count, rx in lit) // total - middle(usual)
