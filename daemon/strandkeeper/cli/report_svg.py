"""Drawings of a printed record: levels along the way, and a year's trend. Plain SVG, no script."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

__all__ = ["PLUGS", "Levels", "levels_svg", "trend_svg"]

WIDTH, HEIGHT = 640, 210
LEFT, RIGHT, TOP, BOTTOM = 52, 12, 14, 36
PLUGS: Final = (0.12, 0.88)  # where along the drawing the light enters and leaves the fibre
NAME: Final = 34  # letters of an end's name that fit below one half


def _scale(low: float, high: float) -> tuple[float, float]:
    room = max(1.0, (high - low) * 0.08)
    return low - room, high + room


def _y(value: float, low: float, high: float) -> float:
    return TOP + (high - value) / (high - low) * (HEIGHT - TOP - BOTTOM)


def _frame(title: str, body: Sequence[str]) -> str:
    return (
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(title)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(body)}</svg>'
    )


def _ticks(low: float, high: float, unit: str) -> list[str]:
    step = next(s for s in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20) if (high - low) / s <= 7)
    count = int(low // step) + 1
    found = []
    while count * step < high:
        y = _y(count * step, low, high)
        label = f"{count * step:g}".replace("-", "−")
        found.append(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" class="grid"/>'
            f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{label}</text>'
        )
        count += 1
    return [*found, f'<text x="4" y="{TOP - 3}">{escape(unit)}</text>']


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """What a level diagram draws. Levels are dBm; None or empty: not known, so not drawn.

    `planned` is where the light goes by the plan, (place from 0 to 1, level); `measured` the level
    at the sender and at the receiver; `limits` levels with a name; `reserve` between two levels.
    """

    ends: tuple[str, str]
    planned: Sequence[tuple[float, float]] = ()
    measured: tuple[float, float] | None = None
    accuracy: float = 0.0
    limits: Sequence[tuple[str, float]] = ()
    reserve: tuple[float, float] | None = None


def levels_svg(title: str, levels: Levels) -> str:
    """Launch, plugs, fibre, plugs, receiver as planned; the measured line between its points."""
    measured = levels.measured or ()
    values = [v for _, v in levels.planned] + [v for _, v in levels.limits] + [*measured]
    if measured:
        values += [max(measured) + levels.accuracy, min(measured) - levels.accuracy]
    if not values:
        return ""
    low, high = _scale(min(values), max(values))
    return _frame(
        title,
        [
            *_reserve(levels, low, high),
            *_ticks(low, high, "dBm"),
            *_band(levels, low, high),
            *_limits(levels, low, high),
            *_plan(levels, low, high),
            *_measurement(levels, low, high),
            *_places(levels),
        ],
    )


def _x(place: float) -> float:
    return LEFT + place * (WIDTH - RIGHT - LEFT)


def _xy(place: float, level: float, low: float, high: float) -> str:
    return f"{_x(place):.1f},{_y(level, low, high):.1f}"


def _reserve(levels: Levels, low: float, high: float) -> list[str]:
    if levels.reserve is None:
        return []
    top, bottom = (_y(v, low, high) for v in levels.reserve)
    return [
        f'<rect x="{LEFT}" y="{top:.1f}" width="{WIDTH - RIGHT - LEFT}" '
        f'height="{bottom - top:.1f}" class="reserve"/>'
    ]


def _band(levels: Levels, low: float, high: float) -> list[str]:
    if levels.measured is None or not levels.accuracy:
        return []
    sent, got = levels.measured
    corners = (
        (0, sent + levels.accuracy),
        (1, got + levels.accuracy),
        (1, got - levels.accuracy),
        (0, sent - levels.accuracy),
    )
    points = " ".join(_xy(place, level, low, high) for place, level in corners)
    return [f'<polygon points="{points}" class="band"/>']


def _limits(levels: Levels, low: float, high: float) -> list[str]:
    body = []
    for name, value in levels.limits:
        y = _y(value, low, high)
        body.append(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" class="limit"/>'
            f'<text x="{LEFT + 4}" y="{y - 3:.1f}">{escape(name)}</text>'
        )
    return body


def _plan(levels: Levels, low: float, high: float) -> list[str]:
    if not levels.planned:
        return []
    points = " ".join(_xy(place, level, low, high) for place, level in levels.planned)
    return [f'<polyline points="{points}" class="planned"/>']


def _measurement(levels: Levels, low: float, high: float) -> list[str]:
    if levels.measured is None:
        return []
    sent, got = levels.measured
    ends = f'x1="{LEFT}" y1="{_y(sent, low, high):.1f}" x2="{WIDTH - RIGHT}"'
    body = [f'<line {ends} y2="{_y(got, low, high):.1f}" class="line"/>']
    for place, level, anchor in ((0.0, sent, "start"), (1.0, got, "end")):
        x = _x(place) + (7 if anchor == "start" else -7)
        y = _y(level, low, high) - 7
        text = f"{level:.1f} dBm".replace("-", "\N{MINUS SIGN}")
        body.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="power">{text}</text>'
        )
    return body


def _places(levels: Levels) -> list[str]:
    """Who sends and who receives below, with the plugs and the fibre between them."""
    sender, receiver = (
        name if len(name) <= NAME else f"{name[: NAME - 1]}…" for name in levels.ends
    )
    said = [(0.0, "start", f"{sender} sends"), (1.0, "end", f"{receiver} receives")]
    if levels.planned:
        said += [
            (PLUGS[0], "middle", "plugs"),
            (0.5, "middle", "fibre"),
            (PLUGS[1], "middle", "plugs"),
        ]
    lines = (HEIGHT - 6, HEIGHT - 18)
    return [
        f'<text x="{_x(place):.1f}" y="{lines[anchor == "middle"]}" text-anchor="{anchor}">'
        f"{escape(text)}</text>"
        for place, anchor, text in said
    ]


def trend_svg(
    title: str, points: Sequence[tuple[int, float | None]], ends: tuple[str, str], unit: str
) -> str:
    """A value over time as one line with gaps where nothing was measured. Empty without any."""
    known = [v for _, v in points if v is not None]
    if not known:
        return ""
    low, high = _scale(min(known), max(known))
    first, last = points[0][0], points[-1][0]
    span = max(1, last - first)
    body = _ticks(low, high, unit)
    for run in _runs(points):
        xy = [
            f"{LEFT + (t - first) / span * (WIDTH - RIGHT - LEFT):.1f},{_y(v, low, high):.1f}"
            for t, v in run
        ]
        body.append(f'<polyline points="{" ".join(xy)}" class="line"/>')
    body.append(f'<text x="{LEFT}" y="{HEIGHT - 12}">{escape(ends[0])}</text>')
    body.append(
        f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - 12}" text-anchor="end">{escape(ends[1])}</text>'
    )
    return _frame(title, body)


def _runs(points: Sequence[tuple[int, float | None]]) -> list[list[tuple[int, float]]]:
    runs: list[list[tuple[int, float]]] = [[]]
    for time_ms, value in points:
        if value is None:
            runs.append([])
        else:
            runs[-1].append((time_ms, value))
    return [run for run in runs if len(run) > 1]
