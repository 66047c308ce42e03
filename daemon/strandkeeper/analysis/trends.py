"""Once a day: what the weather does, which way the loss is going, and whether that is reported."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple
from typing import Final

import numpy as np
from numpy.typing import NDArray

from strandkeeper.analysis.drift import MONTH_DAYS, Slope, TrendWindow, slope_of
from strandkeeper.analysis.periods import DAY_MS, HOUR_MS
from strandkeeper.analysis.slow import DayRow, DirectionSlow, HourRow, TrendNote
from strandkeeper.analysis.weather import Weather, learn
from strandkeeper.model.block import MISSING

WINDOWS: Final = (
    TrendWindow(days=7, spacing_days=HOUR_MS / DAY_MS, z_report=6.0, least=300.0),
    TrendWindow(days=30, spacing_days=1.0, z_report=5.3, least=50.0),
    TrendWindow(days=180, spacing_days=1.0, z_report=4.3, least=30.0),
)
CONFIRM: Final = 3  # days in a row
YEAR_DAYS: Final = 365
Floats = NDArray[np.float64]


def weather_of(slow: DirectionSlow) -> Weather:
    """The compensation in use."""
    sender, receiver, ss, sr, rr, used = slow.weather
    return Weather(sender=sender, receiver=receiver, cov=(ss, sr, rr), used=bool(used))


def learn_weather(slow: DirectionSlow) -> None:
    """Learn the weather anew from the closed days."""
    learnt = learn(slow.days)
    if learnt is not None:
        slow.weather = (learnt.sender, learnt.receiver, *learnt.cov, float(learnt.used))


def find_slope(slow: DirectionSlow, window: TrendWindow) -> None:
    """Find the slope of one window and keep it until the trend is decided."""
    found = _window_slope(slow, weather_of(slow), window)
    slow.slopes.append(() if found is None else tuple(float(part) for part in astuple(found)))


def decide(slow: DirectionSlow) -> None:
    """Take the slopes that were found for the trend as of the last closed day."""
    slow.trend = _decide(slow.trend, [_slope_from(parts) for parts in slow.slopes])
    slow.trend.season_excluded = _season_excluded(slow, weather_of(slow))
    slow.slopes = []


def _slope_from(parts: tuple[float, ...]) -> Slope | None:
    if not parts:
        return None
    value, half, level, level_sd, days, certain, likely = parts
    return Slope(
        value=value,
        half=half,
        level=level,
        level_sd=level_sd,
        days=days,
        certain=bool(certain),
        likely=bool(likely),
    )


def _columns(rows: Sequence[HourRow | DayRow]) -> tuple[Floats, Floats, Floats, Floats]:
    """Start, level, sender's and receiver's temperature of the rows that have a level."""
    kept = [row for row in rows if row.level != MISSING]
    start = np.array([row.start_ms for row in kept], dtype=np.float64) / DAY_MS
    level = np.array([row.level for row in kept], dtype=np.float64)
    temps = []
    for values in ([row.sender_temp for row in kept], [row.receiver_temp for row in kept]):
        known = np.array(values, dtype=np.float64)
        still = MISSING in values
        temps.append(np.zeros(len(kept)) if still else known)
    return start, level, temps[0], temps[1]


def _offsets(slow: DirectionSlow, start: Floats) -> Floats:
    """What settled steps have added up to at each time [0.001 dB]."""
    total = np.zeros(len(start))
    for step in slow.steps:
        if step.settled:
            total += step.size * (start >= step.time_ms / DAY_MS)
    return total


def _window_slope(slow: DirectionSlow, weather: Weather, window: TrendWindow) -> Slope | None:
    days, hourly = window.days, window.spacing_days < 1
    rows: Sequence[HourRow | DayRow] = slow.hours if hourly else slow.days
    if not rows:
        return None
    newest = rows[-1].start_ms
    since = newest - days * DAY_MS
    picked = [row for row in rows if row.start_ms > since]
    start, _, sender, receiver = _columns(picked)
    if len(start) < (60 if hourly else 14):
        return None
    if not hourly and days > 30 and start[-1] - start[0] < 30:
        return None
    value = _compensated(slow, weather, picked)
    warming = [_trend_of(start, temps) for temps in (sender, receiver)]
    extra = weather.variance(*warming) ** 0.5 * MONTH_DAYS
    floor = max(1.0, slow.grain / 12**0.5 / 3)
    return slope_of(start, value, window, extra_sd=extra, floor=floor)


def _trend_of(start: Floats, temps: Floats) -> float:
    """Slope of a temperature [0.01 °C per day], least squares."""
    centred = start - start.mean()
    return float(centred @ temps / max(float(centred @ centred), 1e-9))


def _season_excluded(slow: DirectionSlow, weather: Weather) -> bool:
    """Whether the same month of the year before bears the slope out."""
    newest = slow.days[-1].start_ms if slow.days else 0
    now = [d for d in slow.days if d.start_ms > newest - 30 * DAY_MS]
    then = [
        d
        for d in slow.days
        if newest - (YEAR_DAYS + 30) * DAY_MS < d.start_ms <= newest - YEAR_DAYS * DAY_MS
    ]
    levels = [_compensated(slow, weather, rows) for rows in (then, now)]
    if min(map(len, levels)) < 14:
        return False
    grown = float(np.median(levels[1]) - np.median(levels[0]))
    expected = slow.trend.value * min(slow.trend.window_days, YEAR_DAYS) / MONTH_DAYS
    return grown * expected > 0 and abs(grown) >= abs(expected) / 2


def _compensated(slow: DirectionSlow, weather: Weather, rows: Sequence[HourRow | DayRow]) -> Floats:
    start, level, sender, receiver = _columns(rows)
    value = level - _offsets(slow, start)
    if weather.used:
        value = value - weather.sender * sender - weather.receiver * receiver
    return value


def _decide(note: TrendNote, slopes: list[Slope | None]) -> TrendNote:
    """Report after three days in a row; stay until no window thinks it likely."""
    certain = [
        (abs(s.value) / s.half, window.days, s)
        for window, s in zip(WINDOWS, slopes, strict=True)
        if s is not None and s.certain
    ]
    likely = any(s is not None and s.likely and s.value * note.value > 0 for s in slopes)
    days_seen = note.days_seen + 1 if certain else 0
    reported = days_seen >= CONFIRM or (note.reported and likely)
    best = max(certain, key=lambda one: one[0], default=None)
    window, slope = _longest(slopes) if best is None else best[1:]
    if slope is None:
        return TrendNote(days_seen=days_seen, reported=False)
    return TrendNote(
        value=slope.value,
        half=slope.half,
        level=slope.level,
        level_sd=slope.level_sd,
        window_days=window,
        days_seen=days_seen,
        reported=reported,
    )


def _longest(slopes: list[Slope | None]) -> tuple[int, Slope | None]:
    known = [(w.days, s) for w, s in zip(WINDOWS, slopes, strict=True) if s is not None]
    return known[-1] if known else (0, None)
