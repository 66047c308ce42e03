"""A chart as the browser gets it: the arrays, and a layout that does not depend on them. Pure."""

from __future__ import annotations

from typing import Any, Final

from strandkeeper.model.times import iso_utc
from strandkeeper_dashboard.chart import Chart, Line, Panel

__all__ = ["SCHEMA", "to_json"]

SCHEMA: Final = 1

_DAY_MS: Final = 86_400_000
# Day before month and 24 hours, as everywhere on these pages.
TIME_FORMATS: Final = [
    {"dtickrange": [None, 59_999], "value": "%H:%M:%S\n%-d %b %Y"},
    {"dtickrange": [60_000, _DAY_MS - 1], "value": "%H:%M\n%-d %b %Y"},
    {"dtickrange": [_DAY_MS, 27 * _DAY_MS], "value": "%-d %b\n%Y"},
    {"dtickrange": ["M1", None], "value": "%b\n%Y"},
]
# Where each panel stands in the figure, from the bottom (0) to the top (1).
_DOMAINS: Final = {
    "power": (0.53, 0.97),
    "added": (0.30, 0.46),
    "errors": (0.13, 0.23),
    "state": (0.0, 0.07),
}
_AXES: Final = {"power": "y", "added": "y2", "errors": "y3", "state": "y4"}
ROW_LEVELS: Final = (1.5, 0.5)  # end A above end B
_SHAPES: Final = {"ab": "solid", "ba": "dot"}


def to_json(chart: Chart, *, utc_offset_s: int) -> dict[str, Any]:
    """Integers on a shared grid, how to draw each line, and the static layout.

    `utc_offset_s` moves the axis to the station's time of day; plots know no time zones.
    """
    return {
        "schema": SCHEMA,
        "from": iso_utc(chart.window.from_ms),
        "to": iso_utc(chart.window.to_ms),
        "resolution": chart.resolution,
        "t0_ms": chart.t0_ms,
        "utc_offset_s": utc_offset_s,
        "t_s": chart.t_s,
        "lines": [_line(chart, line) for line in chart.lines],
        "limits": [
            {"kind": limit.kind, "value": limit.value, "label": limit.label}
            for limit in chart.limits
        ],
        "spans": [
            {
                "kind": span.kind,
                "row": span.row,
                "from_s": span.from_s,
                "to_s": span.to_s,
                "text": span.text,
            }
            for span in chart.spans
        ],
        "marks": [{"t_s": mark.t_s, "kind": mark.kind, "text": mark.text} for mark in chart.marks],
        "layout": _layout(chart, utc_offset_s),
    }


def _line(chart: Chart, line: Line) -> dict[str, Any]:
    panel = next(panel for panel in chart.panels if panel.id == line.panel)
    return {
        "id": line.id,
        "role": line.role,
        "gap_s": line.gap_s,
        "per_unit": panel.per_unit,
        "values": line.values,
        "low": line.low,
        "high": line.high,
        "trace": _trace(line, panel),
    }


def _trace(line: Line, panel: Panel) -> dict[str, Any]:
    """All of the plot's trace but its points and its colour."""
    digits = "" if panel.id == "errors" else ".1f"
    trace: dict[str, Any] = {
        "type": "scatter",
        "mode": "lines",
        "name": line.label,
        "yaxis": _AXES[panel.id],
        "connectgaps": False,
        "showlegend": panel.id == "power",
        "hovertemplate": f"%{{y:{digits}}} {panel.unit}<extra>{_plain(line.label)}</extra>",
        "line": {"width": 1.75, "dash": _SHAPES[line.role]},
    }
    if panel.id == "errors":
        trace["line"] = {"width": 1.25, "shape": "hvh", "dash": _SHAPES[line.role]}
        trace["fill"] = "tozeroy"
    return trace


def _plain(text: str) -> str:
    """Owner's words inside a plot's template: its markup and its placeholders taken out."""
    for letter, safe in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("%", "&#37;")):
        text = text.replace(letter, safe)
    return text


def _layout(chart: Chart, utc_offset_s: int) -> dict[str, Any]:
    start = chart.window.from_ms + utc_offset_s * 1000
    end = chart.window.to_ms + utc_offset_s * 1000
    layout: dict[str, Any] = {
        "autosize": True,
        "hovermode": "x",
        "dragmode": "zoom",
        "margin": {"l": 52, "r": 16, "t": 8, "b": 48},
        "legend": {
            "orientation": "h",
            "traceorder": "normal",
            "x": 0,
            "y": 1.0,
            "yanchor": "bottom",
        },
        "xaxis": {
            "type": "date",
            "range": [start, end],
            "anchor": "y4",
            "tickangle": 0,
            "tickformatstops": TIME_FORMATS,
            "hoverformat": "%-d %b %Y %H:%M",
        },
        "annotations": [
            *(_title(panel) for panel in chart.panels),
            *(_row(name, level) for name, level in zip(chart.rows, ROW_LEVELS, strict=True)),
        ],
    }
    for panel in chart.panels:
        name = f"yaxis{_AXES[panel.id][1:]}"
        layout[name] = {
            "domain": list(_DOMAINS[panel.id]),
            "range": [panel.low / panel.per_unit, panel.high / panel.per_unit],
            "fixedrange": True,
            "zeroline": False,
            "anchor": "x",
        }
    layout["yaxis4"] |= {"tickvals": list(ROW_LEVELS), "showticklabels": False}
    return layout


def _row(name: str, level: float) -> dict[str, Any]:
    return {
        "name": "row",
        "text": _plain(name),
        "xref": "paper",
        "yref": "y4",
        "x": 0,
        "y": level,
        "xanchor": "left",
        "yanchor": "middle",
        "showarrow": False,
        "borderpad": 2,
    }


def _title(panel: Panel) -> dict[str, Any]:
    unit = f" [{panel.unit}]" if panel.unit else ""
    return {
        "text": f"{panel.title}{unit}",
        "font": {"weight": 600},
        "xref": "paper",
        "yref": "paper",
        "x": 0,
        "y": _DOMAINS[panel.id][1],
        "xanchor": "left",
        "yanchor": "bottom",
        "showarrow": False,
    }
