"""The panels of a trend: titles, units, and how far each reaches. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from strandkeeper_dashboard.chart import PANEL_IDS, Limit, Line, Panel, PanelId

__all__ = ["PANEL_TITLES", "panels"]

PANEL_TITLES: Final[dict[PanelId, str]] = {
    "power": "Receive power",
    "margin": "To spare before too weak",
    "added": "Lost since it was good",
    "errors": "Damaged frames",
    "laser": "Laser current",
    "heat": "Module temperature",
    "state": "Ports and switches",
}
_UNITS: Final[dict[PanelId, tuple[str, int]]] = {
    "power": ("dBm", 1000),
    "margin": ("dB", 1000),
    "added": ("dB", 1000),
    "errors": ("frames", 1),
    "laser": ("mA", 1000),
    "heat": ("°C", 100),
    "state": ("", 1),
}
# what a panel reaches at least, and how much room it has above and below
_REACH: Final[dict[PanelId, tuple[Sequence[int], int]]] = {
    "power": ((), 1500),
    "margin": ((0, 3000), 1000),
    "added": ((-500, 1500), 200),
    "laser": ((), 1000),
    "heat": ((), 300),
}
_NOTHING: Final[dict[PanelId, Sequence[int]]] = {
    "power": (-20_000, 0),
    "laser": (0, 40_000),
    "heat": (1000, 6000),
}


def panels(
    lines: Sequence[Line],
    limits: Sequence[Limit],
    *,
    wanted: frozenset[PanelId],
    fahrenheit: bool,
) -> tuple[Panel, ...]:
    """The wanted panels from top to bottom; ports and switches are always there."""
    return tuple(
        _panel(panel, lines, limits, fahrenheit=fahrenheit)
        for panel in PANEL_IDS
        if panel in wanted or panel == "state"
    )


def _panel(
    panel: PanelId, lines: Sequence[Line], limits: Sequence[Limit], *, fahrenheit: bool
) -> Panel:
    unit, per_unit = _UNITS[panel]
    if panel == "heat" and fahrenheit:
        unit = "°F"
    low, high = _reach(panel, lines, limits)
    return Panel(
        id=panel, title=PANEL_TITLES[panel], unit=unit, per_unit=per_unit, low=low, high=high
    )


def _reach(panel: PanelId, lines: Sequence[Line], limits: Sequence[Limit]) -> tuple[int, int]:
    if panel == "state":
        return 0, 2
    known = [*_edges(panel, lines), *(li.value for li in limits if li.panel == panel)]
    if panel == "errors":
        return 0, max([*known, 10]) * 11 // 10
    least, room = _REACH[panel]
    shown = [*known, *least] or list(_NOTHING[panel])
    return min(shown) - room, max(shown) + room


def _edges(panel: PanelId, lines: Sequence[Line]) -> Iterator[int]:
    """Least and greatest of every line of the panel."""
    for line in lines:
        if line.panel == panel:
            for column in (line.low or line.values, line.high or line.values):
                known = [value for value in column if value is not None]
                if known:
                    yield min(known)
                    yield max(known)
