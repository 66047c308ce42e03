"""The arrays of a trend out of what the record holds. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict
from strandkeeper.optics.units import Db
from strandkeeper.store.series import Series
from strandkeeper_dashboard import figures
from strandkeeper_dashboard.chart import Chart, Limit, Line, Mark, Panel, PanelId, Span, SpanKind
from strandkeeper_dashboard.window import Window

__all__ = ["Source", "chart"]

Points = dict[int, tuple[int, int, int]]

_RAW_GAP_S: Final = 95


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What the record holds of one link and window."""

    link: Link
    window: Window
    series: Mapping[End, Series]
    stats: Mapping[Direction, Sequence[PeriodStat]]
    marks: Sequence[Mark]
    verdict: LinkVerdict | None
    reserve: Db


def chart(source: Source) -> Chart:
    """The arrays of one link's trend."""
    t0_ms = source.window.from_ms // 1000 * 1000
    loose = [
        *(_power(source, d, t0_ms) for d in Direction),
        *(_added(source, d, t0_ms) for d in Direction),
        *(_errors(source, end, t0_ms) for end in End),
    ]
    grid = tuple(sorted({t for _line, points in loose for t in points}))
    lines = tuple(_on_grid(line, points, grid) for line, points in loose)
    limits = _limits(source)
    return Chart(
        window=source.window,
        t0_ms=t0_ms,
        t_s=grid,
        tier=source.series[End.A].tier,
        panels=_panels(lines, limits),
        lines=lines,
        spans=tuple(span for end in End for span in _spans(source, end, t0_ms)),
        limits=limits,
        marks=tuple(source.marks),
        rows=(source.link.a.name, source.link.b.name),
    )


def _gap_s(span_s: int) -> int:
    """Two missing points are a hole, one is not."""
    return max(_RAW_GAP_S, span_s * 5 // 2)


def _on_grid(line: Line, points: Points, grid: Sequence[int]) -> Line:
    found = [points.get(t) for t in grid]
    spread = any(p is not None and p[1] != p[2] for p in found)
    return replace(
        line,
        values=tuple(None if p is None else p[0] for p in found),
        low=tuple(None if p is None else p[1] for p in found) if spread else (),
        high=tuple(None if p is None else p[2] for p in found) if spread else (),
    )


def _second(series: Series, at: int, t0_ms: int) -> int:
    """The middle of a point, seconds after t0."""
    return (series.start_ms[at] + series.span_ms // 2 - t0_ms) // 1000


def _power(source: Source, direction: Direction, t0_ms: int) -> tuple[Line, Points]:
    series = source.series[direction.receiver]
    points: Points = {}
    for at, mean in enumerate(series.rx_mean_mdbm):
        low, high = series.rx_min_mdbm[at], series.rx_max_mdbm[at]
        if mean is not None and low is not None and high is not None:
            points[_second(series, at, t0_ms)] = (mean, low, high)
    line = Line(
        id=f"power-{direction}",
        panel="power",
        role=direction.value,
        label=f"{source.link.end(direction.receiver).name} receives",
        gap_s=_gap_s(series.span_ms // 1000),
        values=(),
    )
    return line, points


def _added(source: Source, direction: Direction, t0_ms: int) -> tuple[Line, Points]:
    stats = source.stats[direction]
    points = _added_of_stats(stats, t0_ms) if stats else _added_now(source, direction, t0_ms)
    line = Line(
        id=f"added-{direction}",
        panel="added",
        role=direction.value,
        label=source.link.direction_name(direction),
        gap_s=_gap_s(stats[0].span_s if stats else source.series[End.A].span_ms // 1000),
        values=(),
    )
    return line, points


def _added_of_stats(stats: Sequence[PeriodStat], t0_ms: int) -> Points:
    return {
        (stat.start_ms + stat.span_s * 500 - t0_ms) // 1000: (stat.added_loss_mdb,) * 3
        for stat in stats
        if stat.added_loss_mdb is not None
    }


def _added_now(source: Source, direction: Direction, t0_ms: int) -> Points:
    """Loss of each point less the baseline that holds now."""
    verdict = source.verdict
    baseline = None if verdict is None else verdict.direction(direction).baseline
    if baseline is None:
        return {}
    sender, receiver = source.series[direction.sender], source.series[direction.receiver]
    sent = {
        _pair(sender, at): value
        for at, value in enumerate(sender.tx_mean_mdbm)
        if value is not None
    }
    good = round(baseline.loss.value * 1000)
    points: Points = {}
    for at, value in enumerate(receiver.rx_mean_mdbm):
        far = sent.get(_pair(receiver, at))
        if value is not None and far is not None:
            points[_second(receiver, at, t0_ms)] = (far - value - good,) * 3
    return points


def _pair(series: Series, at: int) -> int:
    """Which points of the two ends belong together: the same period, or the same half minute."""
    start = series.start_ms[at]
    return start if series.span_ms else start // 30_000


def _errors(source: Source, end: End, t0_ms: int) -> tuple[Line, Points]:
    series = source.series[end]
    points: Points = {
        _second(series, at, t0_ms): (value,) * 3
        for at, value in enumerate(series.errors)
        if value is not None
    }
    label = f"{source.link.end(end).name} received damaged"
    return Line(
        id=f"errors-{end.name.lower()}",
        panel="errors",
        role=Direction.seen_by(end).value,
        label=label,
        gap_s=_gap_s(series.span_ms // 1000),
        values=(),
    ), points


def _spans(source: Source, end: End, t0_ms: int) -> list[Span]:
    series = source.series[end]
    name = source.link.end(end).name
    kinds: tuple[tuple[SpanKind, Sequence[int], str], ...] = (
        ("down", series.down_ms, f"port of {name} down"),
        ("silent", series.silent, f"switch of {name} did not answer"),
        ("dark", series.rx_no_light, f"no light at {name}"),
    )
    return [
        Span(kind=kind, row=int(end), from_s=from_s, to_s=to_s, text=words)
        for kind, counts, words in kinds
        for from_s, to_s in _stretches(series, counts, t0_ms)
    ]


def _stretches(series: Series, counts: Sequence[int], t0_ms: int) -> list[tuple[int, int]]:
    """Neighbouring points with a count, joined. A raw row stands for the half minute before it."""
    joined: list[tuple[int, int]] = []
    before_ms, after_ms = (0, series.span_ms) if series.span_ms else (30_000, 0)
    for start, count in zip(series.start_ms, counts, strict=True):
        if not count:
            continue
        from_s = max(0, (start - before_ms - t0_ms) // 1000)
        to_s = (start + after_ms - t0_ms) // 1000
        if joined and from_s - joined[-1][1] <= 15:
            joined[-1] = (joined[-1][0], to_s)
        else:
            joined.append((from_s, to_s))
    return joined


def _limits(source: Source) -> tuple[Limit, ...]:
    """Both receivers' limits; alike ones once, others with the receiver's name."""
    if source.verdict is None:
        return ()
    each = [
        (source.link.end(d.receiver).name, _own_limits(source.verdict.direction(d), source.reserve))
        for d in Direction
    ]
    (_, first), (_, second) = each
    if first == second:
        return tuple(first)
    return tuple(
        Limit(kind=limit.kind, value=limit.value, label=f"{name}: {limit.label}")
        for name, limits in each
        for limit in limits
    )


def _own_limits(verdict: DirectionVerdict, reserve: Db) -> list[Limit]:
    limits = []
    if verdict.overload is not None:
        label = f"strongest it can use {figures.dbm(verdict.overload)}"
        value = round(verdict.overload.value * 1000)
        limits.append(Limit(kind="overload", value=value, label=label))
    if verdict.sensitivity is not None:
        keep = verdict.sensitivity + reserve
        label = f"keep at least {figures.reserve(reserve)}: {figures.dbm(keep)}"
        limits.append(Limit(kind="reserve", value=round(keep.value * 1000), label=label))
        label = f"weakest it can use {figures.dbm(verdict.sensitivity)}"
        value = round(verdict.sensitivity.value * 1000)
        limits.append(Limit(kind="sensitivity", value=value, label=label))
    return limits


def _panels(lines: Sequence[Line], limits: Sequence[Limit]) -> tuple[Panel, ...]:
    def reach(panel: PanelId) -> list[int]:
        own = [line for line in lines if line.panel == panel]
        return [v for line in own for v in (*line.values, *line.low, *line.high) if v is not None]

    power = [*reach("power"), *(limit.value for limit in limits)] or [-20_000, 0]
    added = [*reach("added"), -500, 1500]
    errors = [*reach("errors"), 10]
    return (
        Panel(
            id="power",
            title="Receive power",
            unit="dBm",
            per_unit=1000,
            low=min(power) - 1500,
            high=max(power) + 1500,
        ),
        Panel(
            id="added",
            title="Lost since it was good",
            unit="dB",
            per_unit=1000,
            low=min(added) - 200,
            high=max(added) + 200,
        ),
        Panel(
            id="errors",
            title="Damaged frames",
            unit="frames",
            per_unit=1,
            low=0,
            high=max(errors) * 11 // 10,
        ),
        Panel(id="state", title="Ports and switches", unit="", per_unit=1, low=0, high=2),
    )
