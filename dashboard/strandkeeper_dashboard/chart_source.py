"""What a trend is made from, and how its points are put on one time axis. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict
from strandkeeper.optics.units import Db
from strandkeeper.store.series import Series
from strandkeeper_dashboard.chart import PANEL_IDS, Line, Mark, PanelId
from strandkeeper_dashboard.window import Window

__all__ = ["Loose", "Points", "Source", "gap_s", "on_grid", "pair", "second"]

# second after t0: value, least, greatest
Points = dict[int, tuple[int, int, int]]
Loose = tuple[Line, Points]

_RAW_GAP_S: Final = 95


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What the record holds of one link and window, and which panels are wanted.

    `days` are the closed days from which a drift was judged, also those before the window.
    """

    link: Link
    window: Window
    series: Mapping[End, Series]
    stats: Mapping[Direction, Sequence[PeriodStat]]
    marks: Sequence[Mark]
    verdict: LinkVerdict | None
    reserve: Db
    days: Mapping[Direction, Sequence[PeriodStat]] = field(default_factory=dict)
    wanted: frozenset[PanelId] = frozenset(PANEL_IDS)
    fahrenheit: bool = False

    @property
    def t0_ms(self) -> int:
        """Where the seconds of the time grid begin."""
        return self.window.from_ms // 1000 * 1000

    def direction(self, direction: Direction) -> DirectionVerdict | None:
        """What is judged of one direction now."""
        return None if self.verdict is None else self.verdict.direction(direction)


def gap_s(span_s: int) -> int:
    """Two missing points are a hole, one is not."""
    return max(_RAW_GAP_S, span_s * 5 // 2)


def second(series: Series, at: int, t0_ms: int) -> int:
    """The middle of a point, seconds after t0."""
    return (series.start_ms[at] + series.span_ms // 2 - t0_ms) // 1000


def pair(series: Series, at: int) -> int:
    """Which points of the two ends belong together: the same period, or the same half minute."""
    start = series.start_ms[at]
    return start if series.span_ms else start // 30_000


def on_grid(loose: Iterable[Loose]) -> tuple[tuple[int, ...], tuple[Line, ...]]:
    """The one time grid of all lines, and the lines on it."""
    each = list(loose)
    grid = tuple(sorted({t for _line, points in each for t in points}))
    return grid, tuple(_placed(line, points, grid) for line, points in each)


def _placed(line: Line, points: Points, grid: Sequence[int]) -> Line:
    found = [points.get(t) for t in grid]
    spread = any(p is not None and p[1] != p[2] for p in found)
    return replace(
        line,
        values=tuple(None if p is None else p[0] for p in found),
        low=tuple(None if p is None else p[1] for p in found) if spread else (),
        high=tuple(None if p is None else p[2] for p in found) if spread else (),
    )
