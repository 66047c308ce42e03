"""A chart as a table: the same figures for eyes, screen readers and spreadsheets. Pure."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.times import iso_utc
from strandkeeper_dashboard import figures
from strandkeeper_dashboard.chart import Chart, Line, Panel

__all__ = ["TrendTable", "to_csv", "trend_table"]

_ROWS: Final = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendTable:
    """`heads` are (name, unit); each row begins at a time and holds one cell a head."""

    heads: tuple[tuple[str, str], ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def trend_table(chart: Chart) -> TrendTable:
    """At most 24 rows of equal length: means of powers and losses, sums of damaged frames."""
    span_s = chart.window.span_ms / 1000 / _ROWS
    rows = []
    for number in range(_ROWS):
        start, end = number * span_s, (number + 1) * span_s
        inside = [at for at, t in enumerate(chart.t_s) if start <= t < end]
        if inside:
            cells = tuple(_cell(chart, line, inside) for line in chart.measured)
            rows.append((chart.t0_ms + round(start * 1000), cells))
    heads = tuple(
        (f"{_panel(chart, line).title}: {line.label}", _panel(chart, line).unit)
        for line in chart.measured
    )
    return TrendTable(heads=heads, rows=tuple(rows))


def _panel(chart: Chart, line: Line) -> Panel:
    return next(panel for panel in chart.panels if panel.id == line.panel)


def _cell(chart: Chart, line: Line, inside: Iterable[int]) -> str:
    known = [value for at in inside if (value := line.values[at]) is not None]
    if not known:
        return "–"
    panel = _panel(chart, line)
    if panel.id == "errors":
        return str(sum(known))
    return figures.number(sum(known) / len(known) / panel.per_unit, 1)


def to_csv(chart: Chart) -> str:
    """Every point of the chart, one row a time, empty where a line has none; CRLF (RFC 4180)."""
    text = io.StringIO()
    out = csv.writer(text)
    out.writerow(["time", *(_column(chart, line) for line in chart.measured)])
    for at, t_s in enumerate(chart.t_s):
        cells = [_exact(chart, line, line.values[at]) for line in chart.measured]
        out.writerow([iso_utc(chart.t0_ms + t_s * 1000), *cells])
    return text.getvalue()


def _column(chart: Chart, line: Line) -> str:
    unit = _panel(chart, line).unit.lower().replace("°", "")
    return f"{line.id.replace('-', '_')}_{unit}"


def _exact(chart: Chart, line: Line, value: int | None) -> str:
    per_unit = _panel(chart, line).per_unit
    if value is None:
        return ""
    return str(value) if per_unit == 1 else f"{value / per_unit:.3f}"
