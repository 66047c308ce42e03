"""Where it leads: the slope that was judged, its interval, and when a limit would be met. Pure.

The line is the judged slope through the middle of the closed days since the last jump; the shade
is the same with both ends of the slope's 95 % interval. Own design, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from strandkeeper.alerts import wording
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import DirectionVerdict, ForecastTo
from strandkeeper_dashboard.chart import Line, Outlook
from strandkeeper_dashboard.chart_added import weathered
from strandkeeper_dashboard.chart_source import Loose, Points, Source

__all__ = ["axis_end_ms", "drifts", "outlooks", "told"]

DAY_MS: Final = 86_400_000
MONTH_MS: Final = 30.44 * DAY_MS
_LONG_RANGES: Final = ("1month", "1year", "all")
_FEWEST_DAYS: Final = 3
_NO_HOLE_S: Final = 10**9


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """A line through (`middle_ms`, `level_mdb`): slopes in 0.001 dB a month, lowest to highest.

    Its sum with the receive power is `power_mdbm`: one falls as the other rises.
    """

    from_ms: int
    middle_ms: int
    now_ms: int
    level_mdb: float
    power_mdbm: float
    slopes: tuple[float, float, float]

    def at(self, time_ms: int) -> tuple[int, int, int]:
        """Added loss at a time, 0.001 dB: as judged, least, greatest."""
        months = (time_ms - self.middle_ms) / MONTH_MS
        low, likely, high = sorted(self.level_mdb + slope * months for slope in self.slopes)
        return round(likely), round(low), round(high)


def slope_of(source: Source, direction: Direction) -> Slope | None:
    """The drift that is told now, None where none is or too little of it is on record."""
    verdict = source.direction(direction)
    if verdict is None or verdict.drift is None or not verdict.drift.reported:
        return None
    told = _since_the_last_jump(source, direction, verdict)
    if len(told) < _FEWEST_DAYS:
        return None
    slope = verdict.drift.slope
    first, last = told[0][0].start_ms, told[-1][0].start_ms + DAY_MS
    middle = (first + last) // 2
    level = median(
        value - slope.value * 1000 * (_middle_ms(stat) - middle) / MONTH_MS for stat, value in told
    )
    sums = [stat.rx_mdbm + value for stat, value in told if stat.rx_mdbm is not None]
    return Slope(
        from_ms=first,
        middle_ms=middle,
        now_ms=last,
        level_mdb=level,
        power_mdbm=median(sums) if sums else 0.0,
        slopes=(slope.low * 1000, slope.value * 1000, slope.high * 1000),
    )


def _middle_ms(stat: PeriodStat) -> int:
    return stat.start_ms + stat.span_s * 500


def _since_the_last_jump(
    source: Source, direction: Direction, verdict: DirectionVerdict
) -> Sequence[tuple[PeriodStat, int]]:
    last = max((step.time_high_ms for step in verdict.steps), default=0)
    days = [day for day in source.days.get(direction, ()) if day.start_ms >= last]
    raw = [(day, day.added_loss_mdb) for day in days if day.added_loss_mdb is not None]
    return weathered(source, direction, days) or raw


def axis_end_ms(source: Source) -> int:
    """Where the time axis ends: on a long range far enough ahead to see where a drift leads."""
    now, span = source.window.to_ms, source.window.span_ms
    if source.window.range_id not in _LONG_RANGES:
        return now
    ends = [now]
    for direction in Direction:
        if slope_of(source, direction) is None:
            continue
        verdict = source.direction(direction)
        early = None if verdict is None else verdict.forecast.earliest_ms
        soon = early is not None and 0 < early - now <= span
        ends.append(now + (min(span, (early or 0) - now) * 5 // 4 if soon else span // 6))
    return max(ends)


def drifts(source: Source, end_ms: int) -> Iterator[Loose]:
    """The slope in the panel of the loss, and ahead of now in that of the power."""
    for direction in Direction:
        slope = slope_of(source, direction)
        if slope is None:
            continue
        name = source.link.direction_name(direction)
        times = sorted({max(slope.from_ms, source.window.from_ms), slope.middle_ms, end_ms})
        inside = [t for t in times if source.window.from_ms <= t <= end_ms]
        yield (
            _line(f"drift-{direction}", direction, f"{name}, as it creeps"),
            {(t - source.t0_ms) // 1000: slope.at(t) for t in inside},
        )
        if end_ms > source.window.to_ms and slope.power_mdbm:
            yield _ahead(source, direction, slope, end_ms)


def _line(name: str, direction: Direction, label: str) -> Line:
    return Line(
        id=name,
        panel="added" if name.startswith("drift") else "power",
        role=direction.value,
        label=label,
        gap_s=_NO_HOLE_S,
        style="drift",
    )


def _ahead(source: Source, direction: Direction, slope: Slope, end_ms: int) -> Loose:
    label = f"{source.link.end(direction.receiver).name} receives, going on like this"
    points: Points = {}
    for t in (source.window.to_ms, end_ms):
        likely, low, high = (round(slope.power_mdbm - loss) for loss in slope.at(t))
        points[(t - source.t0_ms) // 1000] = (likely, high, low)
    return _line(f"ahead-{direction}", direction, label), points


def outlooks(source: Source, end_ms: int) -> Iterator[Outlook]:
    """When the reserve would be used up, or the light too weak, where the axis shows it."""
    for direction in Direction:
        verdict = source.direction(direction)
        if verdict is None or verdict.forecast.to is None or verdict.sensitivity is None:
            continue
        early, late = verdict.forecast.earliest_ms, verdict.forecast.latest_ms
        if early is None or early >= end_ms:
            continue
        level = verdict.sensitivity
        if verdict.forecast.to is ForecastTo.RESERVE:
            level = level + source.reserve
        yield Outlook(
            role=direction.value,
            from_s=max(0, (early - source.t0_ms) // 1000),
            to_s=(min(late or end_ms, end_ms) - source.t0_ms) // 1000,
            value=round(level.value * 1000),
            text=told(source.link, verdict),
        )


def told(link: Link, verdict: DirectionVerdict) -> str:
    """Where one direction leads, in a sentence with its name."""
    said = wording.forecast_sentence(verdict.forecast)
    return f"{link.direction_name(verdict.direction)}: {said[:1].lower()}{said[1:]}"
