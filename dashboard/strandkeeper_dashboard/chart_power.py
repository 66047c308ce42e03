"""Receive power, what of it is to spare, and the limits of both. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.optics.units import Db
from strandkeeper_dashboard import figures
from strandkeeper_dashboard.chart import Limit, Line
from strandkeeper_dashboard.chart_source import Loose, Points, Source, gap_s, second

__all__ = ["limits", "margin", "power"]


def power(source: Source, direction: Direction) -> Loose:
    """What one receiver got."""
    series = source.series[direction.receiver]
    points: Points = {}
    for at, mean in enumerate(series.rx_mean_mdbm):
        low, high = series.rx_min_mdbm[at], series.rx_max_mdbm[at]
        if mean is not None and low is not None and high is not None:
            points[second(series, at, source.t0_ms)] = (mean, low, high)
    line = Line(
        id=f"power-{direction}",
        panel="power",
        role=direction.value,
        label=f"{source.link.end(direction.receiver).name} receives",
        gap_s=gap_s(series.span_ms // 1000),
        weakest=_weakest(source, direction),
    )
    return line, points


def _weakest(source: Source, direction: Direction) -> int | None:
    verdict = source.direction(direction)
    known = None if verdict is None else verdict.sensitivity
    return None if known is None else round(known.value * 1000)


def margin(source: Source, direction: Direction) -> Loose:
    """The same above the weakest light that the receiver can use; nothing where that is unknown."""
    line, points = power(source, direction)
    floor = line.weakest
    line = replace(
        line,
        id=f"margin-{direction}",
        panel="margin",
        label=f"{source.link.end(direction.receiver).name} has to spare",
        weakest=None,
    )
    if floor is None:
        return line, {}
    return line, {t: (p[0] - floor, p[1] - floor, p[2] - floor) for t, p in points.items()}


def limits(source: Source) -> tuple[Limit, ...]:
    """Both receivers' limits; alike ones once, others with the receiver's name."""
    found = [*_limits(source)]
    known = [source.direction(d) for d in Direction]
    if any(verdict is not None and verdict.sensitivity is not None for verdict in known):
        found.append(
            Limit(
                kind="reserve",
                panel="margin",
                value=round(source.reserve.value * 1000),
                label=f"keep at least {figures.reserve(source.reserve)}",
            )
        )
    return (*found, *_good(source))


def _good(source: Source) -> Iterator[Limit]:
    known = [source.direction(d) for d in Direction]
    if any(verdict is not None and verdict.baseline is not None for verdict in known):
        yield Limit(kind="good", panel="added", value=0, label="as when it was last good")


def _limits(source: Source) -> tuple[Limit, ...]:
    if source.verdict is None:
        return ()
    each = [
        (source.link.end(d.receiver).name, _own(source.verdict.direction(d), source.reserve))
        for d in Direction
    ]
    (_, first), (_, other) = each
    if first == other:
        return tuple(first)
    return tuple(
        replace(limit, label=f"{name}: {limit.label}") for name, own in each for limit in own
    )


def _own(verdict: DirectionVerdict, reserve: Db) -> list[Limit]:
    found = []
    if verdict.overload is not None:
        label = f"strongest it can use {figures.dbm(verdict.overload)}"
        value = round(verdict.overload.value * 1000)
        found.append(Limit(kind="overload", value=value, label=label))
    if verdict.sensitivity is not None:
        keep = verdict.sensitivity + reserve
        label = f"keep at least {figures.reserve(reserve)}: {figures.dbm(keep)}"
        found.append(Limit(kind="reserve", value=round(keep.value * 1000), label=label))
        label = f"weakest it can use {figures.dbm(verdict.sensitivity)}"
        value = round(verdict.sensitivity.value * 1000)
        found.append(Limit(kind="sensitivity", value=value, label=label))
    return found
