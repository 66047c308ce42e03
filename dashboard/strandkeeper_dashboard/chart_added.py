"""What was lost since a direction was good: as read, and with the weather taken out. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from statistics import median
from typing import Final

from strandkeeper.model.names import Direction, End
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Step
from strandkeeper.optics.units import Db
from strandkeeper_dashboard import figures
from strandkeeper_dashboard.chart import Jump, Line
from strandkeeper_dashboard.chart_source import Loose, Points, Source, gap_s, pair, second

__all__ = ["added", "jumps", "weathered"]

_MOST: Final = 8
_LABEL_SHARE: Final = 0.08  # of the width: what a label needs


def added(source: Source, direction: Direction) -> Iterator[Loose]:
    """As read; where the weather is known to move the readings, also without the weather."""
    stats = source.stats.get(direction, ())
    line = Line(
        id=f"added-{direction}",
        panel="added",
        role=direction.value,
        label=f"{source.link.direction_name(direction)}, as read",
        gap_s=gap_s(stats[0].span_s if stats else source.series[End.A].span_ms // 1000),
    )
    raw = _of_stats(stats, source.t0_ms) if stats else _of_series(source, direction)
    calm = {_middle_s(stat, source.t0_ms): (v, v, v) for stat, v in weathered(source, direction)}
    if not calm:
        yield replace(line, label=source.link.direction_name(direction)), raw
        return
    yield replace(line, style="raw"), raw
    name = f"{source.link.direction_name(direction)}, without the weather"
    yield replace(line, id=f"calm-{direction}", label=name), calm


def _middle_s(stat: PeriodStat, t0_ms: int) -> int:
    return (stat.start_ms + stat.span_s * 500 - t0_ms) // 1000


def _of_stats(stats: Sequence[PeriodStat], t0_ms: int) -> Points:
    return {
        _middle_s(stat, t0_ms): (stat.added_loss_mdb,) * 3
        for stat in stats
        if stat.added_loss_mdb is not None
    }


def weathered(
    source: Source, direction: Direction, stats: Sequence[PeriodStat] | None = None
) -> list[tuple[PeriodStat, int]]:
    """Each closed period with its added loss [0.001 dB] as it would be at the middle temperature.

    Empty where nobody knows how the weather moves the readings. The coefficients are those in use
    now, for all of the time shown, so that learning better ones does not look like a jump.
    """
    verdict = source.direction(direction)
    known = None if verdict is None else verdict.compensation_db_per_c
    chosen = source.stats.get(direction, ()) if stats is None else stats
    if known is None:
        return []
    parts = []
    for stat in chosen:
        warm, far = stat.sender_temp_cc, stat.receiver_temp_cc
        if stat.added_loss_mdb is not None and warm is not None and far is not None:
            parts.append((stat, stat.added_loss_mdb, 10 * (known[0] * warm + known[1] * far)))
    middle = median(part for *_, part in parts) if parts else 0.0
    return [(stat, round(value - part + middle)) for stat, value, part in parts]


def _of_series(source: Source, direction: Direction) -> Points:
    """Loss of each point less the baseline that holds now."""
    verdict = source.direction(direction)
    baseline = None if verdict is None else verdict.baseline
    if baseline is None:
        return {}
    sender, receiver = source.series[direction.sender], source.series[direction.receiver]
    sent = {
        pair(sender, at): value for at, value in enumerate(sender.tx_mean_mdbm) if value is not None
    }
    good = round(baseline.loss.value * 1000)
    points: Points = {}
    for at, value in enumerate(receiver.rx_mean_mdbm):
        far = sent.get(pair(receiver, at))
        if value is not None and far is not None:
            points[second(receiver, at, source.t0_ms)] = (far - value - good,) * 3
    return points


def jumps(source: Source) -> tuple[Jump, ...]:
    """The lasting jumps inside the window, of both directions; of many the greatest."""
    found = [
        (direction, step)
        for direction in Direction
        if (verdict := source.direction(direction)) is not None
        for step in verdict.steps
        if source.window.from_ms <= step.time_ms <= source.window.to_ms
    ]
    found.sort(key=lambda one: -abs(one[1].size.value))
    drawn: list[Jump] = []
    for direction, step in found[:_MOST]:
        jump = _jump(source, direction, step)
        near = source.window.span_ms // 1000 * _LABEL_SHARE
        crowded = any(abs(jump.from_s - other.from_s) < near for other in drawn)
        drawn.append(replace(jump, label="") if crowded else jump)
    return tuple(drawn)


def _jump(source: Source, direction: Direction, step: Step) -> Jump:
    return Jump(
        role=direction.value,
        from_s=max(0, (step.time_low_ms - source.t0_ms) // 1000),
        to_s=(min(step.time_high_ms, source.window.to_ms) - source.t0_ms) // 1000,
        label=figures.db(Db(step.size.value), signed=True),
    )
