"""Time and size of a step from the readings around it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from strandkeeper.analysis.slow import DirectionSlow, StepNote
from strandkeeper.model.block import MISSING, Ints

__all__ = ["best_split", "settle"]

Z95: Final = 1.96
NEAR_MS: Final = 20 * 60_000  # the step is looked for this near to where it was found
HELD: Final = 1.8  # spacings between changes; noise alone keeps a coarse figure now and then only
FEWEST_CHANGES: Final = 10
CLIP: Final = 4.0  # spreads beyond which a reading is pulled in
CHI2_95: Final = 3.84  # of one degree of freedom
Floats = NDArray[np.float64]


def best_split(value: Floats, allowed: NDArray[np.bool_]) -> tuple[int, Floats]:
    """The split into two levels with the least squares.

    Parameters
    ----------
    value : array, shape (n,)
        Readings in time order [0.001 dB].
    allowed : array of bool, shape (n,)
        Whether a split before this reading is looked at [-]; the first never is.

    Returns
    -------
    tuple of int and array, shape (n,)
        Number of the first reading after the split [-], and the squares left for each split
        (infinite where not allowed) [(0.001 dB)²].

    Raises
    ------
    ValueError
        If no split is allowed.

    Source
    ------
    Least squares estimate of one change point in mean: Hinkley, Biometrika 57 (1970) 1, section
    2; from memory, unconfirmed.

    Example
    -------
    >>> best_split(np.array([0.0, 1, 0, 9, 10]), np.ones(5, dtype=bool))[0]
    3
    """
    count = len(value)
    before = np.arange(count, dtype=np.float64)
    total = np.concatenate(([0.0], np.cumsum(value)))[:-1]
    whole, squares = float(value.sum()), float((value**2).sum())
    possible = allowed & (before > 0)
    if not possible.any():
        raise ValueError("no split is allowed")
    with np.errstate(divide="ignore", invalid="ignore"):
        left = squares - total**2 / before - (whole - total) ** 2 / (count - before)
    left = np.where(possible, left, np.inf)
    return int(np.argmin(left)), left


def _values(slow: DirectionSlow, ring: Ints) -> tuple[Ints, Floats, Floats]:
    """Times, values and transmit powers of the ring, by loss or by receive power alone."""
    time, rx, tx = ring
    if not slow.by_loss:
        return time, -rx.astype(np.float64), np.zeros(len(time))
    paired = tx != MISSING
    return time[paired], (tx - rx)[paired].astype(np.float64), tx[paired].astype(np.float64)


def settle(slow: DirectionSlow, guess_ms: int, found_ms: int, scale: float) -> StepNote | None:
    """Estimate a step from the ring; None if too few readings are left around it.

    Parameters
    ----------
    slow : DirectionSlow
        The direction, with its ring of readings [0.001 dBm].
    guess_ms, found_ms : int
        Start of the first window after the step by the detector, and when it was found [ms].
    scale : float
        Standard deviation of a difference of means that the slow noise allows [0.001 dB].

    Returns
    -------
    StepNote or None
        Not yet marked as settled. Sizes [0.001 dB], times [ms].

    Raises
    ------
    Nothing.

    Notes
    -----
    The time interval holds the splits whose squares are within 3.84 variances of the best, and
    reaches from the reading before to the reading after, the earlier by one refresh of the switch;
    the time itself is put back by half a refresh.

    Source
    ------
    As `best_split`; profile interval by Wilks' theorem, approximate for a change point.

    Example
    -------
    >>> settle(DirectionSlow(), 0, 0, 10.0) is None
    True
    """
    if not slow.ring:
        return None
    time, value, tx = _values(slow, np.concatenate(slow.ring, axis=1))
    near = (time > guess_ms - NEAR_MS - 60_000) & (time < found_ms + NEAR_MS)
    if near.sum() < 4:
        return None
    inner = (time > guess_ms - NEAR_MS) & (time < guess_ms + NEAR_MS)
    calm = _clipped(value, guess_ms, time)
    if not inner[1:].any():
        return None
    split, left = best_split(calm, inner)
    lower, upper = calm[:split], calm[split:]
    variance = max(float(left[split]) / max(1, len(calm) - 2), 1.0)
    close = np.flatnonzero(left <= left[split] + CHI2_95 * variance)
    size = float(upper.mean() - lower.mean())
    half = Z95 * (variance * (1 / len(lower) + 1 / len(upper)) + scale**2) ** 0.5
    held = slow_refresh_ms(slow)
    return StepNote(
        time_ms=int(time[split - 1] + time[split] - held) // 2,
        low_ms=int(time[max(0, close[0] - 1)]) - held,
        high_ms=int(time[close[-1]]),
        size=round(size),
        size_low=round(size - half),
        size_high=round(size + half),
        found_ms=found_ms,
        tx_change=round(float(np.median(tx[split:]) - np.median(tx[:split]))),
    )


def slow_refresh_ms(slow: DirectionSlow) -> int:
    """How long the receiving switch shows a reading before it takes another, 0 if at every poll.

    A change is then seen up to so long after it happened, half of it on average.
    """
    time, rx, _ = np.concatenate(slow.ring, axis=1)
    moved = np.sort(np.diff(time[1:][np.diff(rx) != 0]))
    if len(moved) < FEWEST_CHANGES:
        return 0
    spacing = int(np.median(np.diff(time)))
    held = int(moved[len(moved) // 10])
    return held if held > HELD * spacing else 0


def _clipped(value: Floats, guess_ms: int, time: Ints) -> Floats:
    """Readings far outside both levels are pulled in to them."""
    sides = [value[time < guess_ms], value[time >= guess_ms]]
    middles = [float(np.median(side)) for side in sides if len(side)]
    spreads = [
        1.4826 * float(np.median(np.abs(side - np.median(side)))) for side in sides if len(side)
    ]
    reach = CLIP * max([*spreads, 5.0])
    clipped: Floats = np.clip(value, min(middles) - reach, max(middles) + reach)
    return clipped
