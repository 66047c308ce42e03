"""The arrays of a trend out of what the record holds. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from strandkeeper.model.names import Direction, End
from strandkeeper_dashboard import chart_added, chart_health, chart_outlook, chart_power
from strandkeeper_dashboard.chart import Chart
from strandkeeper_dashboard.chart_panels import panels
from strandkeeper_dashboard.chart_source import Loose, Source, on_grid

__all__ = ["Source", "chart"]


def chart(source: Source) -> Chart:
    """The arrays of one link's trend, of the panels that are wanted."""
    end_ms = chart_outlook.axis_end_ms(source)
    grid, lines = on_grid(
        loose for loose in _lines(source, end_ms) if loose[0].panel in source.wanted
    )
    limits = chart_power.limits(source)
    return Chart(
        window=source.window,
        end_ms=end_ms,
        t0_ms=source.t0_ms,
        t_s=grid,
        tier=source.series[End.A].tier,
        panels=panels(lines, limits, wanted=source.wanted, fahrenheit=source.fahrenheit),
        lines=lines,
        spans=tuple(span for end in End for span in chart_health.spans(source, end)),
        limits=tuple(limit for limit in limits if limit.panel in source.wanted),
        jumps=chart_added.jumps(source) if "added" in source.wanted else (),
        outlooks=tuple(chart_outlook.outlooks(source, end_ms)) if "power" in source.wanted else (),
        marks=tuple(source.marks),
        rows=(source.link.a.name, source.link.b.name),
        ways=(source.link.direction_name(Direction.AB), source.link.direction_name(Direction.BA)),
    )


def _lines(source: Source, end_ms: int) -> Iterator[Loose]:
    yield from (chart_power.power(source, d) for d in Direction)
    yield from (chart_power.margin(source, d) for d in Direction)
    for direction in Direction:
        yield from chart_added.added(source, direction)
    yield from (chart_health.errors(source, end) for end in End)
    yield from (chart_health.laser(source, end) for end in End)
    yield from (chart_health.heat(source, end) for end in End)
    yield from chart_outlook.drifts(source, end_ms)
