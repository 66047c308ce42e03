"""Drawings of a printed record: levels along the way, and a year's trend. Plain SVG, no script."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

__all__ = ["levels_svg", "trend_svg"]

WIDTH, HEIGHT = 640, 190
LEFT, RIGHT, TOP, BOTTOM = 52, 12, 14, 26


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


def levels_svg(
    title: str,
    planned: Sequence[tuple[str, float]],
    measured: tuple[float, float] | None,
    limits: Sequence[tuple[str, float]],
) -> str:
    """Level [dBm] along the way: planned in steps, measured plain between its two known points.

    `planned` are the names of the places and the level after each; `limits` levels with a name.
    """
    values = [v for _, v in planned] + [v for _, v in limits] + list(measured or ())
    if not values:
        return ""
    low, high = _scale(min(values), max(values))
    body = _ticks(low, high, "dBm")
    for name, value in limits:
        y = _y(value, low, high)
        body.append(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" class="limit"/>'
            f'<text x="{WIDTH - RIGHT - 2}" y="{y - 3:.1f}" text-anchor="end">{escape(name)}</text>'
        )
    span = WIDTH - RIGHT - LEFT
    if planned:
        width = span / len(planned)
        points = []
        for number, (name, value) in enumerate(planned):
            x, y = LEFT + number * width, _y(value, low, high)
            points += [f"{x:.1f},{y:.1f}", f"{x + width:.1f},{y:.1f}"]
            body.append(
                f'<text x="{x + width / 2:.1f}" y="{HEIGHT - 8}" text-anchor="middle">'
                f"{escape(name)}</text>"
            )
        body.append(f'<polyline points="{" ".join(points)}" class="planned"/>')
    if measured is not None:
        sent, got = (_y(v, low, high) for v in measured)
        body.append(
            f'<line x1="{LEFT}" y1="{sent:.1f}" x2="{WIDTH - RIGHT}" y2="{got:.1f}" class="line"/>'
        )
    return _frame(title, body)


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
    body.append(f'<text x="{LEFT}" y="{HEIGHT - 8}">{escape(ends[0])}</text>')
    body.append(
        f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - 8}" text-anchor="end">{escape(ends[1])}</text>'
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
