"""Loss that follows the temperature: a daily swing, or a threshold in the cold."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from strandkeeper.analysis.conditions import Active, Tell, key_of, put
from strandkeeper.analysis.levels import mdb
from strandkeeper.analysis.robust import middle
from strandkeeper.analysis.slow import DirectionSlow, HourRow
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import Thresholds
from strandkeeper.model.names import Direction

__all__ = ["cold_threshold", "follows_temperature", "rises_in_cold"]

Floats = NDArray[np.float64]
DAYS: Final = 7
DAY_MS: Final = 86_400_000
LEAST_HOURS: Final = 96
LEAST_COLD: Final = 8
COLD_MDB: Final = 400
MODULE_PER_C: Final = 0.6  # [0.001 dB per 0.01 °C] ±3 dB over a module's whole range and more
HALF: Final = 0.5
RIDGE: Final = 0.05
FOLLOWS: Final = 0.35  # share of the squares within the day
BETTER: Final = 0.6  # squares left by the threshold against those left by a line
STILL_BETTER: Final = 0.85  # once it stands; frost that deepens looks more and more like a line


def modules_may(slow: DirectionSlow) -> bool:
    """Whether the swing may be the two modules' own: as it has been, and no steeper than they are.

    The coefficients are those of the last two months: a swing that they do not explain is new.
    Before any are learnt nothing can be new: those of the days so far are taken.
    """
    sums = [day.sums for day in slow.days[-DAYS:] if day.sums]
    if not sums:
        return False
    total = np.array(sums, dtype=np.float64).sum(axis=0)
    known = any(slow.weather)
    a, b = slow.weather[:2] if known else _first_days_fit(total)
    if (known and not slow.weather[5]) or max(abs(a), abs(b)) > MODULE_PER_C:
        return False
    _, aa, ab, bb, ay, by, yy = total.tolist()
    left = yy - 2 * (a * ay + b * by) + a * a * aa + 2 * a * b * ab + b * b * bb
    return bool(left < HALF * yy)


def weather_since(slow: DirectionSlow) -> int:
    """What the modules' own temperatures have added since it was good [0.001 dB], 0 if unknown."""
    a, b = slow.weather[:2]
    note = slow.baseline
    if note is None or not slow.weather[5] or max(abs(a), abs(b)) > MODULE_PER_C:
        return 0
    known = [day for day in slow.days if MISSING not in (day.sender_temp, day.receiver_temp)]
    then = [day for day in known if day.start_ms > note.since_ms - DAY_MS][:DAYS]
    now = slow.hours[-1:]
    if not then or not now or MISSING in (now[0].sender_temp, now[0].receiver_temp):
        return 0
    sender = now[0].sender_temp - middle([day.sender_temp for day in then])
    receiver = now[0].receiver_temp - middle([day.receiver_temp for day in then])
    return round(a * sender + b * receiver)


def _first_days_fit(total: Floats) -> tuple[float, float]:
    """Both modules' coefficients out of few days; where they warm as one, half of it is each's."""
    _, aa, ab, bb, ay, by, _ = total.tolist()
    ridge = RIDGE * (aa + bb) + 1.0
    found = np.linalg.solve([[aa + ridge, ab], [ab, bb + ridge]], [ay, by])
    return float(found[0]), float(found[1])


def swing_of(slow: DirectionSlow) -> int:
    """Median of the last days' ranges less what noise alone would show [0.001 dB]."""
    ranges = [day.swing for day in slow.days[-DAYS:] if day.level != MISSING]
    if len(ranges) < 3:
        return 0
    return max(0, middle(ranges) - 3 * slow.watch.hourly)


def rises_in_cold(slow: DirectionSlow) -> bool:
    """Whether the loss of the last days goes up as the module that moves it cools.

    Parameters
    ----------
    slow : DirectionSlow
        The direction, with the sums of its closed days [0.001 dB, 0.01 °C].

    Returns
    -------
    bool
        [-] False also with no days.

    Raises
    ------
    Nothing.

    Source
    ------
    Sign of the covariance within the day; own design, no source.

    Example
    -------
    >>> rises_in_cold(DirectionSlow())
    False
    """
    sums = [day.sums for day in slow.days[-DAYS:] if day.sums]
    return sum(day[4] + day[5] for day in sums) < 0


def follows_temperature(slow: DirectionSlow) -> bool:
    """Whether the temperatures explain a fair part of how the loss moved within the last days.

    Parameters
    ----------
    slow : DirectionSlow
        The direction, with the sums of its closed days [0.001 dB, 0.01 °C].

    Returns
    -------
    bool
        [-] False with fewer than three days that have temperatures.

    Raises
    ------
    Nothing.

    Source
    ------
    Coefficient of determination of a least-squares fit; the limit is own design, no source.

    Example
    -------
    >>> follows_temperature(DirectionSlow())
    False
    """
    sums = [day.sums for day in slow.days[-DAYS:] if day.sums]
    if len(sums) < 3:
        return False
    aa, ab, bb, ay, by, yy = (float(sum(column)) for column in list(zip(*sums, strict=True))[1:])
    matrix = np.array([[aa + 1.0, ab], [ab, bb + 1.0]])
    explained = float(np.array([ay, by]) @ np.linalg.solve(matrix, np.array([ay, by])))
    return explained > FOLLOWS * yy


def cold_threshold(hours: Sequence[HourRow], better: float = BETTER) -> tuple[int, int]:
    """Whether the loss jumps up below some temperature.

    Parameters
    ----------
    hours : sequence of HourRow
        Closed hours of about a week [0.001 dB, 0.01 °C].
    better : float
        Share of a straight line's squares that a threshold may leave at most [-].

    Returns
    -------
    tuple of int
        Module temperature below which the loss is higher [0.01 °C], and by how much [0.001 dB];
        (MISSING, 0) where no threshold explains the hours clearly better than a straight line.

    Raises
    ------
    Nothing.

    Notes
    -----
    The temperature of the module that swings more is looked at; the air is colder than the module.

    Source
    ------
    Own design, no source (two levels split by temperature against a least-squares line).

    Example
    -------
    >>> cold_threshold([])[1]
    0
    """
    known = [h for h in hours if MISSING not in (h.level, h.sender_temp, h.receiver_temp)]
    if len(known) < LEAST_HOURS:
        return MISSING, 0
    level = np.array([h.level for h in known], dtype=np.float64)
    both = np.array([[h.sender_temp for h in known], [h.receiver_temp for h in known]], float)
    temp = both[int(np.argmax(both.std(axis=1)))]
    order = np.argsort(temp, kind="stable")
    level, temp = level[order], temp[order]
    count = len(level)
    sums = np.cumsum(level)
    cold = np.arange(LEAST_COLD, count - LEAST_HOURS // 2)
    gap = sums[cold - 1] / cold - (sums[-1] - sums[cold - 1]) / (count - cold)
    explained = gap**2 * cold * (count - cold) / count
    best = int(np.argmax(np.where(gap > 0, explained, 0.0)))
    total = float(((level - level.mean()) ** 2).sum())
    centred = temp - temp.mean()
    line = float(centred @ level) ** 2 / max(float(centred @ centred), 1e-9)
    if gap[best] < COLD_MDB or total - explained[best] > better * (total - line):
        return MISSING, 0
    return int(temp[cold[best]]), int(gap[best])


def judge_swing(
    slow: DirectionSlow,
    direction: Direction,
    thresholds: Thresholds,
    now_ms: int,
    active: Active,
    tell: Tell,
) -> None:
    """Once a day: put or end the threshold in the cold, and the daily swing where there is none."""
    key = key_of(FindingKind.FREEZING, direction)
    slow.cold = cold_threshold(slow.hours, STILL_BETTER if key in active else BETTER)
    freezes = bool(slow.cold[1])
    put(active, key, Severity.WARNING if freezes else None, now_ms, now_ms, tell)
    key = key_of(FindingKind.DAILY_SWING, direction)
    limit = mdb(thresholds.daily_swing)
    swing = swing_of(slow)
    swings = swing > (limit // 2 if key in active else limit) and follows_temperature(slow)
    severity = Severity.NOTE if modules_may(slow) else Severity.WARNING
    put(active, key, severity if swings and not freezes else None, now_ms, now_ms, tell)
