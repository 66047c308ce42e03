"""Damaged frames, lasers and modules, ports and switches over time. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from strandkeeper.model.names import Direction, End
from strandkeeper.store.series import Series
from strandkeeper_dashboard.chart import Line, Span, SpanKind
from strandkeeper_dashboard.chart_source import Loose, Points, Source, gap_s, second

__all__ = ["errors", "heat", "laser", "spans"]

_JOINED_S = 15


def errors(source: Source, end: End) -> Loose:
    """Frames that one end received damaged."""
    series = source.series[end]
    points: Points = {
        second(series, at, source.t0_ms): (value,) * 3
        for at, value in enumerate(series.errors)
        if value is not None
    }
    return Line(
        id=f"errors-{end.name.lower()}",
        panel="errors",
        role=Direction.seen_by(end).value,
        label=f"{source.link.end(end).name} received damaged",
        gap_s=gap_s(series.span_ms // 1000),
    ), points


def laser(source: Source, end: End) -> Loose:
    """The laser current of one end."""
    series = source.series[end]
    points: Points = {
        second(series, at, source.t0_ms): (value,) * 3
        for at, value in enumerate(series.bias_mean_ua)
        if value is not None
    }
    return Line(
        id=f"laser-{end.name.lower()}",
        panel="laser",
        role=_sends(end).value,
        label=f"laser of {source.link.end(end).name}",
        gap_s=gap_s(series.span_ms // 1000),
    ), points


def heat(source: Source, end: End) -> Loose:
    """The temperature of one end's module."""
    series = source.series[end]
    points: Points = {}
    for at, mean in enumerate(series.temp_mean_cc):
        low, high = series.temp_min_cc[at], series.temp_max_cc[at]
        if mean is not None and low is not None and high is not None:
            known = [_degrees(value, fahrenheit=source.fahrenheit) for value in (mean, low, high)]
            points[second(series, at, source.t0_ms)] = (known[0], known[1], known[2])
    return Line(
        id=f"heat-{end.name.lower()}",
        panel="heat",
        role=_sends(end).value,
        label=f"module of {source.link.end(end).name}",
        gap_s=gap_s(series.span_ms // 1000),
    ), points


def _degrees(value_cc: int, *, fahrenheit: bool) -> int:
    return round(value_cc * 9 / 5) + 3200 if fahrenheit else value_cc


def _sends(end: End) -> Direction:
    return next(direction for direction in Direction if direction.sender is end)


def spans(source: Source, end: End) -> list[Span]:
    """When one end's port was down, its switch silent, its receiver in the dark."""
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
        for from_s, to_s in _stretches(series, counts, source.t0_ms)
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
        if joined and from_s - joined[-1][1] <= _JOINED_S:
            joined[-1] = (joined[-1][0], to_s)
        else:
            joined.append((from_s, to_s))
    return joined
