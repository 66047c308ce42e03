"""Counters that only ever rise, to differences and back. A difference is right or unknown."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.model.reading import COUNTER_NAMES

__all__ = ["CountReader", "CountWriter", "Counts"]

Counts = list[int | None]

NOTHING: Final = (None,) * len(COUNTER_NAMES)
MOST_COUNT: Final = 1 << 62  # no interval brings more; what follows counts in 64 bits, signed
SLACK_CS: Final = 500
SLACK_SHARE: Final = 0.01


class CountReader:
    """Running totals of one end in, differences out.

    A difference is unknown at the first total, after an empty cell, where the total fell, and where
    the switch may have restarted in between: its uptime fell or advanced by less than the time that
    passed, or, across rows without an answer, is not known. Its attributes are those of the newest
    row that was answered; `silenced`: a row without an answer came after it.
    """

    def __init__(self) -> None:
        self.totals: Sequence[int | None] = NOTHING
        self.time_ms = 0
        self.uptime_cs: int | None = None
        self.silenced = False

    def silent(self) -> None:
        """A row without an answer: totals may go on after it if the uptime says so."""
        self.silenced = True

    def goes_on(self, time_ms: int, uptime_cs: int | None) -> bool:
        """Whether a row at that time counts on from the one before."""
        if uptime_cs is None or self.uptime_cs is None:
            return not self.silenced
        passed_cs = (time_ms - self.time_ms) // 10
        return uptime_cs - self.uptime_cs >= passed_cs * (1 - SLACK_SHARE) - SLACK_CS

    def differs_by(self, which: int, total: int | None, *, goes_on: bool) -> int | None:
        """What one total would be read as."""
        before = self.totals[which]
        if not goes_on or total is None or before is None:
            return None
        return total - before if 0 <= total - before < MOST_COUNT else None

    def take(self, time_ms: int, uptime_cs: int | None, totals: Sequence[int | None]) -> Counts:
        """The differences of a row that was answered."""
        goes_on = self.goes_on(time_ms, uptime_cs)
        counts = [
            self.differs_by(which, total, goes_on=goes_on) for which, total in enumerate(totals)
        ]
        self.totals = totals
        self.time_ms, self.uptime_cs, self.silenced = time_ms, uptime_cs, False
        return counts


class CountWriter:
    """Differences of one end in, running totals out, beginning at 0.

    Where a difference is unknown the cell is left empty and the total starts again at 0 in the row
    after it; at once if the cell before is empty already and 0 could not be read as a difference.
    """

    def __init__(self) -> None:
        self._reader = CountReader()
        self._totals: Counts = list(NOTHING)
        self._last_cells: Counts = list(NOTHING)

    def silent(self) -> None:
        """A row without an answer; its cells are empty."""
        self._reader.silent()
        self._last_cells = list(NOTHING)

    def take(self, time_ms: int, uptime_cs: int | None, counts: Sequence[int | None]) -> Counts:
        """The totals to write in a row that was answered."""
        goes_on = self._reader.goes_on(time_ms, uptime_cs)
        cells = [self._cell(which, count, goes_on=goes_on) for which, count in enumerate(counts)]
        self._reader.take(time_ms, uptime_cs, cells)
        self._totals, self._last_cells = cells, cells
        return cells

    def _cell(self, which: int, count: int | None, *, goes_on: bool) -> int | None:
        total = self._totals[which]
        if count is not None:
            return 0 if total is None else total + count
        empty_before = self._last_cells[which] is None
        read_as = self._reader.differs_by(which, 0, goes_on=goes_on)
        return 0 if empty_before and read_as is None else None
