"""A chart as geometry for an SVG drawn on the server: shown without scripts, and on paper. Pure.

Positions along time are per cent of the width (and 0 to 1000 inside the stretched part), heights
are px, so text keeps its size at any width.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Final

from strandkeeper_dashboard import figures
from strandkeeper_dashboard.chart import Chart, Jump, Line, Outlook, Panel, PanelId, Span

__all__ = ["PanelDrawing", "Path", "Tick", "TrendDrawing", "trend_drawing"]

LEFT, RIGHT = 9.0, 100.0
_WIDE: Final = 1000
_TICK_CLEAR_PX: Final = 6
_HEIGHTS: Final[dict[PanelId, int]] = {
    "power": 230,
    "margin": 150,
    "added": 150,
    "errors": 80,
    "laser": 80,
    "heat": 90,
    "state": 56,
}
_ToPx = Callable[[int], float]
_STEPS_S: Final = (
    *(60 * m for m in (5, 10, 15, 30)),
    *(3600 * h for h in (1, 2, 3, 6, 12)),
    *(86400 * d for d in (1, 2, 7, 14, 30, 61, 91, 182, 365)),
)


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on an axis and what it says."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Path:
    """Path data inside the stretched part: x 0 to 1000, y in px."""

    role: str
    d: str
    style: str = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanDrawing:
    """A bar of the state panel."""

    kind: str
    x: float
    width: float
    y: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JumpDrawing:
    """A lasting jump: a stretch over the whole height, and how much it was."""

    role: str
    x: float
    width: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlookDrawing:
    """A stretch at the height of the limit that would be met."""

    role: str
    x: float
    width: float
    y: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelDrawing:
    """One panel."""

    panel: Panel
    height: int
    ticks: tuple[Tick, ...]
    paths: tuple[Path, ...]
    bands: tuple[Path, ...]
    limits: tuple[tuple[str, float, str], ...] = ()
    spans: tuple[SpanDrawing, ...] = ()
    jumps: tuple[JumpDrawing, ...] = ()
    outlooks: tuple[OutlookDrawing, ...] = ()


@dataclass(frozen=True, slots=True)
class MarkDrawing:
    """Where something happened, what, and where the page tells of it."""

    at: float
    text: str
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendDrawing:
    """All panels over one time axis."""

    panels: tuple[PanelDrawing, ...]
    times: tuple[Tick, ...]
    marks: tuple[MarkDrawing, ...]
    ahead: float | None


def trend_drawing(chart: Chart, zone: tzinfo | None = None) -> TrendDrawing:
    """The whole trend as geometry; `zone` is the station's, for the time axis."""
    across = [_x(chart, t_s) for t_s in chart.t_s]  # once: all lines share the grid
    return TrendDrawing(
        panels=tuple(_panel(chart, panel, across) for panel in chart.panels),
        times=tuple(_times(chart, zone)),
        marks=tuple(
            MarkDrawing(_percent(_x(chart, mark.t_s)), mark.text, mark.id) for mark in chart.marks
        ),
        ahead=None if chart.ahead_s is None else _percent(_x(chart, chart.ahead_s)),
    )


def _x(chart: Chart, t_s: int) -> float:
    span_s = chart.axis_ms / 1000
    return round(min(1.0, max(0.0, t_s / span_s)) * _WIDE, 1)


def _percent(x: float) -> float:
    return round(LEFT + x / _WIDE * (RIGHT - LEFT), 2)


def _panel(chart: Chart, panel: Panel, across: Sequence[float]) -> PanelDrawing:
    height = _HEIGHTS[panel.id]
    lines = [line for line in chart.lines if line.panel == panel.id]
    high, scale = panel.high, height / (panel.high - panel.low)

    def y(value: int) -> float:
        return round((high - value) * scale, 1)

    draw = _bars if panel.id == "errors" else _line
    return PanelDrawing(
        panel=panel,
        height=height,
        ticks=() if panel.id == "state" else tuple(_levels(panel, y)),
        paths=tuple(Path(line.role, draw(chart, line, across, y), line.style) for line in lines),
        bands=tuple(Path(line.role, _band(chart, line, across, y)) for line in lines if line.low),
        limits=tuple(
            (li.kind, y(li.value), li.label) for li in chart.limits if li.panel == panel.id
        ),
        spans=tuple(_span(chart, span) for span in chart.spans) if panel.id == "state" else (),
        jumps=tuple(_jump(chart, jump) for jump in chart.jumps) if panel.id == "added" else (),
        outlooks=tuple(_outlook(chart, one, y(one.value)) for one in chart.outlooks)
        if panel.id == "power"
        else (),
    )


def _stretch(chart: Chart, from_s: int, to_s: int) -> tuple[float, float]:
    """Where a stretch begins and how wide it is, never too thin to see."""
    start, end = _percent(_x(chart, from_s)), _percent(_x(chart, to_s))
    return start, round(max(0.4, end - start), 2)


def _jump(chart: Chart, jump: Jump) -> JumpDrawing:
    x, width = _stretch(chart, jump.from_s, jump.to_s)
    return JumpDrawing(role=jump.role, x=x, width=width, label=jump.label)


def _outlook(chart: Chart, outlook: Outlook, y: float) -> OutlookDrawing:
    x, width = _stretch(chart, outlook.from_s, outlook.to_s)
    return OutlookDrawing(role=outlook.role, x=x, width=width, y=y, text=outlook.text)


def _runs(chart: Chart, line: Line) -> Iterator[list[int]]:
    """Indices of points that belong together: a new run after each hole."""
    run: list[int] = []
    times, longest, before = chart.t_s, line.gap_s, 0
    for at, value in enumerate(line.values):
        if value is None:
            continue
        if run and times[at] - before > longest:
            yield run
            run = []
        run.append(at)
        before = times[at]
    if run:
        yield run


def _line(chart: Chart, line: Line, across: Sequence[float], y: _ToPx) -> str:
    return "".join(
        "M"
        + "L".join(f"{across[at]} {y(line.values[at] or 0)}" for at in run)
        # a lone point is drawn as a dot: a line of no length with round ends
        + ("h0" if len(run) == 1 else "")
        for run in _runs(chart, line)
    )


def _bars(_chart: Chart, line: Line, across: Sequence[float], y: _ToPx) -> str:
    floor = y(0)
    return "".join(
        f"M{across[at]} {floor}V{y(value)}" for at, value in enumerate(line.values) if value
    )


def _band(chart: Chart, line: Line, across: Sequence[float], y: _ToPx) -> str:
    pieces = []
    for run in _runs(chart, line):
        above = [f"{across[at]} {y(line.high[at] or 0)}" for at in run]
        below = [f"{across[at]} {y(line.low[at] or 0)}" for at in reversed(run)]
        pieces.append("M" + "L".join([*above, *below]) + "Z")
    return "".join(pieces)


def _span(chart: Chart, span: Span) -> SpanDrawing:
    x, width = _stretch(chart, span.from_s, span.to_s)
    return SpanDrawing(
        kind=span.kind,
        x=x,
        width=width,
        y=6 + 28 * span.row,
        text=span.text,
    )


def _levels(panel: Panel, y: _ToPx) -> Iterator[Tick]:
    reach = (panel.high - panel.low) / panel.per_unit
    rough = reach / (5 if panel.id in ("power", "margin") else 3)
    step = _round_step(rough) if panel.id != "errors" else max(1, round(_round_step(rough)))
    level = math.ceil(panel.low / panel.per_unit / step) * step
    while level * panel.per_unit <= panel.high:
        digits = 0 if step >= 1 else 1
        height = y(round(level * panel.per_unit))
        if height >= _TICK_CLEAR_PX:  # the panel's title stands above
            yield Tick(height, figures.number(level, digits))
        level += step


def _round_step(rough: float) -> float:
    """The next of 1, 2, 5 times a power of ten, at least 0.1."""
    scale: float = 10.0 ** math.floor(math.log10(max(rough, 0.1)))
    return next(scale * m for m in (1, 2, 5, 10) if scale * m >= rough * 0.999)


def _times(chart: Chart, zone: tzinfo | None) -> Iterator[Tick]:
    span_s = chart.axis_ms / 1000
    step_s = next((s for s in _STEPS_S if span_s / s <= 6), _STEPS_S[-1])
    for moment in _round_moments(chart.window.from_ms, chart.end_ms, step_s, zone):
        x = (moment.timestamp() * 1000 - chart.window.from_ms) / chart.axis_ms
        if step_s >= 86400:
            text = f"{moment.day} {moment.strftime('%b')}"
        else:
            text = moment.strftime("%H:%M")
        if step_s > 100 * 86400 or (step_s >= 30 * 86400 and moment.month == 1):
            text = moment.strftime("%b %Y")
        yield Tick(_percent(x * _WIDE), text)


def _round_moments(
    from_ms: int, to_ms: int, step_s: int, zone: tzinfo | None
) -> Sequence[datetime]:
    """Round times of day (or midnights) at the station inside the window."""
    start = datetime.fromtimestamp(from_ms / 1000, UTC).astimezone(zone)
    moment = start.replace(hour=0, minute=0, second=0, microsecond=0)
    end = datetime.fromtimestamp(to_ms / 1000, UTC)
    step = timedelta(seconds=step_s)
    found = []
    while moment <= end:
        if moment >= start:
            found.append(moment)
        moment += step
    return found
