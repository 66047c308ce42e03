"""What a trend draws, as integers on one shared time grid; browser and SVG draw the same arrays.

Times are whole seconds after `t0_ms`, powers 0.001 dBm, losses 0.001 dB, laser currents 0.001 mA,
temperatures 0.01 degrees, errors frames. None on the grid means that this line has no point there,
not that it is zero; a hole in a line is where two of its neighbours lie further apart than `gap_s`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from strandkeeper.store.series import Tier
from strandkeeper_dashboard.window import Window

__all__ = [
    "PANEL_IDS",
    "TIER_WORDS",
    "Chart",
    "Jump",
    "Limit",
    "Line",
    "LineStyle",
    "Mark",
    "Outlook",
    "Panel",
    "PanelId",
    "Span",
    "SpanKind",
]

PanelId = Literal["power", "margin", "added", "errors", "laser", "heat", "state"]
PANEL_IDS: Final[tuple[PanelId, ...]] = (
    "power",
    "margin",
    "added",
    "errors",
    "laser",
    "heat",
    "state",
)
SpanKind = Literal["down", "silent", "dark"]
_FEW_MARKS: Final = 16
# plain: measured; raw: measured, behind a plain line that was made from it; drift: worked out
LineStyle = Literal["plain", "raw", "drift"]

TIER_WORDS: Final = {
    Tier.RAW: "every reading",
    Tier.FIVE_MINUTES: "five-minute summaries",
    Tier.HOURS: "hourly summaries",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a panel. `low`/`high` are empty where each point is one reading.

    `role` is the direction whose colour it has: that of the light it is about. `weakest` is what a
    receiver needs, 0.001 dBm, where a power can be told as what is to spare.
    """

    id: str
    panel: PanelId
    role: str
    label: str
    gap_s: int
    values: tuple[int | None, ...] = ()
    low: tuple[int | None, ...] = ()
    high: tuple[int | None, ...] = ()
    style: LineStyle = "plain"
    weakest: int | None = None


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
    """A level of a panel that does not move, in that panel's integers."""

    kind: Literal["sensitivity", "reserve", "overload", "good"]
    value: int
    label: str
    panel: PanelId = "power"


@dataclass(frozen=True, slots=True, kw_only=True)
class Jump:
    """A lasting jump of the loss: between when, and by how much."""

    role: str
    from_s: int
    to_s: int
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """When a limit of the power panel would be met; `to_s` is cut at the end of the axis."""

    role: str
    from_s: int
    to_s: int
    value: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something that happened, or that a person did; `id` is where the page tells of it."""

    t_s: int
    kind: str
    text: str
    id: str


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
    """Everything a trend draws. The axis ends at `end_ms`: now, or ahead where a forecast is."""

    window: Window
    end_ms: int
    t0_ms: int
    t_s: tuple[int, ...]
    tier: Tier
    panels: tuple[Panel, ...]
    lines: tuple[Line, ...]
    spans: tuple[Span, ...]
    limits: tuple[Limit, ...]
    jumps: tuple[Jump, ...]
    outlooks: tuple[Outlook, ...]
    marks: tuple[Mark, ...]
    rows: tuple[str, str]
    ways: tuple[str, str]

    @property
    def axis_ms(self) -> int:
        """How long the time axis is."""
        return self.end_ms - self.window.from_ms

    @property
    def ahead_s(self) -> int | None:
        """Where the time that has not come yet begins; None where the axis ends now."""
        return (self.window.to_ms - self.t0_ms) // 1000 if self.end_ms > self.window.to_ms else None

    @property
    def crowded(self) -> bool:
        """Whether there are too many marks to draw each through all panels."""
        return len(self.marks) > _FEW_MARKS

    @property
    def measured(self) -> tuple[Line, ...]:
        """The lines that were measured, for tables: what was worked out stands in words."""
        return tuple(line for line in self.lines if line.style != "drift")

    @property
    def resolution(self) -> str:
        """What a point is, in words."""
        return TIER_WORDS[self.tier]

    @property
    def empty(self) -> bool:
        """Whether nothing at all was recorded in this window."""
        return not any(value is not None for line in self.measured for value in line.values)
