"""Which polls become rows: quiet status polls are folded into the next optics row.

A status poll is kept as a row of its own only when something in it changed: whether the switch
answers, port state, media, module, time of last change, a restart, or a damaged frame. The counts
of a folded poll are carried into the row that follows, so that nothing is lost but the instant.
"""

from __future__ import annotations

from dataclasses import replace

from strandkeeper.model.reading import COUNTER_NAMES, Deltas, EndRow

__all__ = ["RowFolder", "add_deltas", "is_news"]


def add_deltas(earlier: Deltas, later: Deltas) -> Deltas:
    """Counts over both spans; unknown where either is."""
    sums: dict[str, int | None] = {}
    for name in COUNTER_NAMES:
        a, b = getattr(earlier, name), getattr(later, name)
        sums[name] = None if a is None or b is None else a + b
    return Deltas(**sums)


def is_news(before: EndRow | None, row: EndRow) -> bool:
    """Whether a row says something that the row before it did not."""
    if before is None:
        return True
    same = (
        before.answered == row.answered
        and before.oper == row.oper
        and before.admin == row.admin
        and before.media == row.media
        and before.module_id == row.module_id
        and before.last_change_cs == row.last_change_cs
        and before.by_trap == row.by_trap
    )
    restarted = (
        before.uptime_cs is not None
        and row.uptime_cs is not None
        and row.uptime_cs < before.uptime_cs
    )
    damaged = (row.deltas.fcs_errors or 0) > 0 or (row.deltas.symbol_errors or 0) > 0
    return not same or restarted or damaged


class RowFolder:
    """Folds the polls of one end; give it every poll, it returns the row to keep or None."""

    def __init__(self) -> None:
        self._before: EndRow | None = None
        self._carried: Deltas | None = None

    def fold(self, row: EndRow, *, optics_due: bool) -> EndRow | None:
        """Return `row` with the counts carried since the last kept row, or None if folded."""
        news = is_news(self._before, row)
        self._before = row
        if not row.answered:  # it counted nothing: what is carried waits for the next answer
            return row if optics_due or news else None
        whole = row
        if self._carried is not None:
            whole = replace(row, deltas=add_deltas(self._carried, row.deltas))
        if optics_due or news:
            self._carried = None
            return whole
        self._carried = whole.deltas
        return None
