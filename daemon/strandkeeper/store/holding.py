"""Batches that could not be written, joined into one and bounded, until the disk takes them."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from strandkeeper.model.names import LinkName, SwitchName
from strandkeeper.model.poll import SwitchPoll
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, LinkVerdict
from strandkeeper.store.batch import Batch

__all__ = ["MOST_HELD_ROWS", "Holding"]

MOST_HELD_ROWS: Final = 20_000  # about 15 MiB; 41 hours of two links, 5 minutes of a thousand
MOST_HELD_EVENTS: Final = 5_000


class Holding:
    """One batch in the making: later verdicts, states and polls replace earlier ones."""

    def __init__(self, most_rows: int = MOST_HELD_ROWS) -> None:
        self._most_rows = most_rows
        self._rows: list[tuple[LinkName, EndRow]] = []
        self._verdicts: dict[LinkName, LinkVerdict] = {}
        self._states: dict[LinkName, bytes] = {}
        self._events: list[Event] = []
        self._stats: list[PeriodStat] = []
        self._switches: dict[SwitchName, SwitchPoll] = {}
        self.lost_rows = 0

    def __len__(self) -> int:
        return len(self._rows)

    def __bool__(self) -> bool:
        return any(
            (self._rows, self._verdicts, self._states, self._events, self._stats, self._switches)
        )

    def add(self, batch: Batch) -> None:
        """Join a batch; beyond the bound the oldest rows are given up and counted."""
        self._rows.extend(batch.rows)
        self._verdicts.update({verdict.link: verdict for verdict in batch.verdicts})
        self._states.update(batch.states)
        self._events.extend(batch.events)
        self._stats.extend(batch.stats)
        self._switches.update({poll.switch: poll for poll in batch.switches})
        surplus = len(self._rows) - self._most_rows
        if surplus > 0:
            del self._rows[:surplus]
            self.lost_rows += surplus
        del self._events[: max(0, len(self._events) - MOST_HELD_EVENTS)]
        del self._stats[: max(0, len(self._stats) - MOST_HELD_EVENTS)]

    def move(self, from_ms: int, until_ms: int, by_ms: int) -> None:
        """Rows and events held in that time move ahead: their clock was not set when they came."""
        self._rows = [
            (link, replace(row, time_ms=row.time_ms + by_ms))
            if from_ms <= row.time_ms <= until_ms
            else (link, row)
            for link, row in self._rows
        ]
        self._events = [
            replace(event, time_ms=event.time_ms + by_ms)
            if from_ms <= event.time_ms <= until_ms
            else event
            for event in self._events
        ]

    def batch(self) -> Batch:
        """Everything held, as one batch."""
        return Batch(
            rows=tuple(self._rows),
            verdicts=tuple(self._verdicts.values()),
            states=dict(self._states),
            events=tuple(self._events),
            stats=tuple(self._stats),
            switches=tuple(self._switches.values()),
        )

    def clear(self) -> None:
        """It was written."""
        for held in (self._rows, self._events, self._stats):
            held.clear()
        for named in (self._verdicts, self._states, self._switches):
            named.clear()
