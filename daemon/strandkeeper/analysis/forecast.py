"""When the reported margin will have gone, as a range of dates."""

from __future__ import annotations

import math
from typing import Final

from strandkeeper.analysis.periods import DAY_MS
from strandkeeper.analysis.robust import middle
from strandkeeper.analysis.slow import DayRow, DirectionSlow
from strandkeeper.model.block import MISSING
from strandkeeper.model.link import DirectionFacts, Thresholds
from strandkeeper.model.verdict import Forecast, ForecastTo

__all__ = ["forecast"]

MONTH_MS: Final = 30.44 * DAY_MS
DAYS_USED: Final = 14
SEASON_DOWN: Final = 1.6  # what a season and its cold and warm spells move a module, by its range
SEASON_UP: Final = 0.9  # of a day; the first crossing is made by the worst hour, not the mildest
RANGE: Final = 8**0.5  # of a sine, by its root mean square
YEARS_SHOWN: Final = 10
Z95: Final = 1.96


def forecast(slow: DirectionSlow, facts: DirectionFacts, limits: Thresholds) -> Forecast:
    """Range of dates on which the margin reaches the reserve, or the sensitivity if past that.

    Parameters
    ----------
    slow : DirectionSlow
        The direction with its trend, days and weather [0.001 dB, 0.01 °C].
    facts : DirectionFacts
        Its receiver's limits and anchoring [dBm].
    limits : Thresholds
        The reserve [dB].

    Returns
    -------
    Forecast
        Record times [ms]; `latest_ms` None: may never be; both None with `why_null`.

    Raises
    ------
    Nothing.

    Notes
    -----
    The trend is carried on with both ends of its 95 % interval; the level is widened by its own
    uncertainty and by what temperature does to the readings between seasons. It speaks of the
    reported margin; the accuracy of the reading stands beside it.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> forecast(DirectionSlow(), DirectionFacts(), Thresholds()).why_null
    'unknown'
    """
    sensitivity = facts.limits.sensitivity
    if sensitivity is None or not slow.trend.window_days:
        return Forecast(why_null="unknown")
    days = [day for day in slow.days[-DAYS_USED:] if MISSING not in (day.level, day.rx)]
    if not slow.trend.reported or slow.trend.value <= 0 or not days:
        return Forecast(why_null="no-end-in-sight")
    reserve = limits.reserve_warn_anchored if facts.anchored else limits.reserve_warn
    now_ms = days[-1].start_ms + DAY_MS // 2
    margin = _level_now(days, now_ms, slow) - sensitivity.value * 1000
    to = ForecastTo.RESERVE if margin > reserve.value * 1000 else ForecastTo.SENSITIVITY
    left = margin - (reserve.value * 1000 if to is ForecastTo.RESERVE else 0.0)
    return _range(slow, now_ms, left, to)


def _level_now(days: list[DayRow], now_ms: int, slow: DirectionSlow) -> float:
    """Receive power by now, from the last days carried along the trend [0.001 dBm]."""
    carried = [
        round(day.rx - slow.trend.value * (now_ms - day.start_ms - DAY_MS // 2) / MONTH_MS)
        for day in days
    ]
    return float(middle(carried))


def _weather_reach(slow: DirectionSlow) -> tuple[float, float]:
    """How far the reading may move up and down between seasons and in a day [0.001 dB]."""
    sender, receiver = slow.weather[:2] if slow.weather[5] else (0.0, 0.0)
    days = [d for d in slow.days if MISSING not in (d.level, d.sender_temp, d.receiver_temp)]
    if not days:
        return 0.0, 0.0
    parts = [sender * d.sender_temp + receiver * d.receiver_temp for d in days]
    now = sum(parts[-DAYS_USED:]) / len(parts[-DAYS_USED:])
    unseen = 0.0 if len(days) > 300 else _daily_reach(days, sender, receiver)
    daily = middle([d.swing for d in days[-60:]]) / 2
    up = max(now - min(parts), SEASON_UP * unseen)
    down = max(max(parts) - now, SEASON_DOWN * unseen) + daily
    return up, down


def _daily_reach(days: list[DayRow], sender: float, receiver: float) -> float:
    """What the day's range of both modules makes of the reading [0.001 dB].

    Of the sender a quarter: its own reading of what it sends is not part of the margin.
    """
    sums = [day.sums for day in days if day.sums]
    if not sums:
        return 0.0
    mine = math.sqrt(middle([day[1] // day[0] for day in sums]))
    theirs = math.sqrt(middle([day[3] // day[0] for day in sums]))
    return RANGE * (abs(sender) / 4 * mine + abs(receiver) * theirs)


def _range(slow: DirectionSlow, now_ms: int, left: float, to: ForecastTo) -> Forecast:
    note = slow.trend
    up, down = _weather_reach(slow)
    fast, gentle = note.value + note.half, note.value - note.half
    earliest = max(0.0, left - down - Z95 * note.level_sd) / fast
    latest = (left + up + Z95 * note.level_sd) / gentle if gentle > 0 else None
    if earliest > 12 * YEARS_SHOWN:
        return Forecast(why_null="no-end-in-sight")
    shown = latest is not None and latest <= 12 * YEARS_SHOWN * 2
    return Forecast(
        earliest_ms=now_ms + int(earliest * MONTH_MS),
        latest_ms=now_ms + int((latest or 0.0) * MONTH_MS) if shown else None,
        to=to,
        why_null="",
    )
