"""A chart as the browser gets it: the arrays, and a layout made from the panels alone. Pure."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from strandkeeper.model.times import iso_utc
from strandkeeper_dashboard.chart import Chart, Line, Panel, PanelId

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
# How high each panel is, and what lies between, above and below them, px.
_HEIGHTS: Final[dict[PanelId, int]] = {
    "power": 270,
    "margin": 190,
    "added": 190,
    "errors": 80,
    "laser": 100,
    "heat": 110,
    "state": 74,
}
_BETWEEN: Final = 46
_ABOVE: Final = 66
_BELOW: Final = 48
ROW_LEVELS: Final = (1.5, 0.5)  # end A above end B
_MARKS_UP_TO: Final = 2.6  # above both rows there is one for the marks
_DASHES: Final = {"ab": "solid", "ba": "dot"}
_DIGITS: Final[dict[PanelId, str]] = {"errors": "", "heat": ".0f"}


def to_json(chart: Chart, *, utc_offset_s: int) -> dict[str, Any]:
    """Integers on a shared grid, how to draw each line, and the layout.

    `utc_offset_s` moves the axis to the station's time of day; plots know no time zones.
    """
    axes = _axes(chart)
    return {
        "schema": SCHEMA,
        "from": iso_utc(chart.window.from_ms),
        "to": iso_utc(chart.window.to_ms),
        "resolution": chart.resolution,
        "t0_ms": chart.t0_ms,
        "utc_offset_s": utc_offset_s,
        "ahead_s": chart.ahead_s,
        "axes": axes,
        "t_s": chart.t_s,
        "lines": [_line(chart, line, axes) for line in chart.lines],
        "limits": [
            {**asdict(limit), "per_unit": _panel(chart, limit.panel).per_unit}
            for limit in chart.limits
        ],
        "spans": [asdict(span) for span in chart.spans],
        "jumps": [asdict(jump) for jump in chart.jumps],
        "outlooks": [asdict(outlook) for outlook in chart.outlooks],
        "crowded": chart.crowded,
        "marks": [asdict(mark) for mark in chart.marks],
        "layout": _layout(chart, utc_offset_s, axes),
    }


def _axes(chart: Chart) -> dict[str, str]:
    """What the plot script calls the level axis of each panel."""
    return {p.id: "y" if at == 0 else f"y{at + 1}" for at, p in enumerate(chart.panels)}


def _panel(chart: Chart, panel: PanelId) -> Panel:
    return next(one for one in chart.panels if one.id == panel)


def _line(chart: Chart, line: Line, axes: dict[str, str]) -> dict[str, Any]:
    panel = _panel(chart, line.panel)
    return {
        "id": line.id,
        "role": line.role,
        "style": line.style,
        "gap_s": line.gap_s,
        "per_unit": panel.per_unit,
        "weakest": line.weakest,
        "values": line.values,
        "low": line.low,
        "high": line.high,
        "trace": _trace(chart, line, panel, axes),
    }


def _trace(chart: Chart, line: Line, panel: Panel, axes: dict[str, str]) -> dict[str, Any]:
    """All of the plot's trace but its points and its colour."""
    first = panel is chart.panels[0] and line.style == "plain"
    digits = _DIGITS.get(panel.id, ".1f")
    spare = "" if line.weakest is None else ", %{customdata}"
    trace: dict[str, Any] = {
        "type": "scatter",
        "mode": "lines",
        "name": _plain(chart.ways[line.role == "ba"] if first else line.label),
        "yaxis": axes[panel.id],
        "connectgaps": False,
        "showlegend": first,
        "hovertemplate": f"%{{y:{digits}}} {panel.unit}{spare}<extra>{_plain(line.label)}</extra>",
        "line": {"width": 1.75, "dash": _DASHES[line.role]},
    }
    if line.style == "raw":
        trace["line"]["width"] = 1
        trace["opacity"] = 0.55
    if line.style == "drift":
        trace["line"] = {"width": 1.5, "dash": "8px,3px"}
    if panel.id == "errors":
        trace["line"] = {"width": 1.25, "shape": "hvh", "dash": _DASHES[line.role]}
        trace["fill"] = "tozeroy"
    return trace


def _plain(text: str) -> str:
    """Owner's words inside a plot's template: its markup and its placeholders taken out."""
    for letter, safe in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("%", "&#37;")):
        text = text.replace(letter, safe)
    return text


def _domains(chart: Chart) -> tuple[int, dict[PanelId, tuple[float, float]]]:
    """The height of all panels, px, and where each stands in it, from 0 below to 1 above."""
    heights = [_HEIGHTS[panel.id] for panel in chart.panels]
    whole = sum(heights) + _BETWEEN * (len(heights) - 1)
    found: dict[PanelId, tuple[float, float]] = {}
    top = whole
    for panel, height in zip(chart.panels, heights, strict=True):
        found[panel.id] = (round((top - height) / whole, 4), round(top / whole, 4))
        top -= height + _BETWEEN
    found["state"] = (0.0, found["state"][1])
    return whole, found


def _layout(chart: Chart, utc_offset_s: int, axes: dict[str, str]) -> dict[str, Any]:
    whole, domains = _domains(chart)
    start = chart.window.from_ms + utc_offset_s * 1000
    layout: dict[str, Any] = {
        "autosize": True,
        "height": whole + _ABOVE + _BELOW,
        "hovermode": "x",
        "dragmode": "zoom",
        "margin": {"l": 52, "r": 16, "t": _ABOVE, "b": _BELOW},
        "legend": {
            "orientation": "h",
            "traceorder": "normal",
            "x": 0,
            "y": 1 + 22 / whole,
            "yanchor": "bottom",
        },
        "xaxis": {
            "type": "date",
            "range": [start, start + chart.axis_ms],
            "anchor": axes["state"],
            "tickangle": 0,
            "tickformatstops": TIME_FORMATS,
            "hoverformat": "%-d %b %Y %H:%M",
        },
        "annotations": [
            *(_title(panel, domains[panel.id][1]) for panel in chart.panels),
            *(
                _row(name, level, axes["state"])
                for name, level in zip(chart.rows, ROW_LEVELS, strict=True)
            ),
        ],
    }
    for panel in chart.panels:
        layout[f"yaxis{axes[panel.id][1:]}"] = {
            "domain": list(domains[panel.id]),
            "range": [panel.low / panel.per_unit, panel.high / panel.per_unit],
            "fixedrange": True,
            "zeroline": False,
            "anchor": "x",
            "nticks": 4 if panel.id in ("errors", "laser", "heat") else 6,
        }
    layout[f"yaxis{axes['state'][1:]}"] |= {
        "range": [0, _MARKS_UP_TO],
        "tickvals": list(ROW_LEVELS),
        "showticklabels": False,
    }
    return layout


def _row(name: str, level: float, axis: str) -> dict[str, Any]:
    return {
        "name": "row",
        "text": _plain(name),
        "xref": "paper",
        "yref": axis,
        "x": 0,
        "y": level,
        "xanchor": "left",
        "yanchor": "middle",
        "showarrow": False,
        "borderpad": 2,
    }


def _title(panel: Panel, top: float) -> dict[str, Any]:
    unit = f" [{panel.unit}]" if panel.unit else ""
    return {
        "text": f"{panel.title}{unit}",
        "font": {"weight": 600},
        "xref": "paper",
        "yref": "paper",
        "x": 0,
        "y": top,
        "xanchor": "left",
        "yanchor": "bottom",
        "showarrow": False,
    }
