"""What a trend draws, as integers on one shared time grid; browser and SVG draw the same arrays.

Times are whole seconds after `t0_ms`, powers 0.001 dBm, losses 0.001 dB, errors frames. None on
the grid means that this line has no point there, not that it is zero; a hole in a line is where
two of its neighbours lie further apart than its `gap_s`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from strandkeeper.store.series import Tier
from strandkeeper_dashboard.window import Window

__all__ = ["TIER_WORDS", "Chart", "Limit", "Line", "Mark", "Panel", "PanelId", "Span", "SpanKind"]

PanelId = Literal["power", "added", "errors", "state"]
SpanKind = Literal["down", "silent", "dark"]

TIER_WORDS: Final = {
    Tier.RAW: "every reading",
    Tier.FIVE_MINUTES: "five-minute summaries",
    Tier.HOURS: "hourly summaries",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a panel. `low`/`high` are empty where each point is one reading."""

    id: str
    panel: PanelId
    role: str
    label: str
    gap_s: int
    values: tuple[int | None, ...]
    low: tuple[int | None, ...] = ()
    high: tuple[int | None, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch in which an end was down, silent or in the dark; `row` 0 is end A."""

    kind: SpanKind
    row: int
    from_s: int
    to_s: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A level of the power panel that does not move, 0.001 dBm."""

    kind: Literal["sensitivity", "reserve", "overload"]
    value: int
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something that happened."""

    t_s: int
    kind: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One panel: its unit, how many of its integers make one unit, what it spans."""

    id: PanelId
    title: str
    unit: str
    per_unit: int
    low: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Everything a trend draws."""

    window: Window
    t0_ms: int
    t_s: tuple[int, ...]
    tier: Tier
    panels: tuple[Panel, ...]
    lines: tuple[Line, ...]
    spans: tuple[Span, ...]
    limits: tuple[Limit, ...]
    marks: tuple[Mark, ...]
    rows: tuple[str, str]

    @property
    def resolution(self) -> str:
        """What a point is, in words."""
        return TIER_WORDS[self.tier]

    @property
    def empty(self) -> bool:
        """Whether nothing at all was recorded in this window."""
        return not any(value is not None for line in self.lines for value in line.values)
