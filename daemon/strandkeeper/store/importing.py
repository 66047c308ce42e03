"""Rows from outside, brought in whole or not at all.

Rows are staged in a temporary table first, so that the record is locked for the final copy only,
not while a file is being parsed.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from strandkeeper.errors import StoreError
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import COUNTER_NAMES, EndRow
from strandkeeper.model.times import iso_utc
from strandkeeper.store.batch import Batch
from strandkeeper.store.database import transaction
from strandkeeper.store.events import put_events
from strandkeeper.store.keys import END_SLOTS, LinkNumbers, end_number, row_id
from strandkeeper.store.period_stats import put_stats
from strandkeeper.store.readings import encode_row
from strandkeeper.store.rollups import FIVE_MINUTES_MS, GAP_MS, HOUR_KEY, HOUR_MS
from strandkeeper.store.states import put_state
from strandkeeper.store.summing import sum_range
from strandkeeper.store.trouble import told
from strandkeeper.store.verdicts import put_verdict

__all__ = ["Import", "Imported"]

# The columns of `reading` before and after the module, which is staged as text.
BEFORE: Final = (
    "answered, rx_kind, rx_mdbm, tx_kind, tx_mdbm, bias_ua, temp_cc, vcc_100uv, oper, admin, "
    "uptime_cs, last_change_cs, media"
)
AFTER: Final = ", ".join((*COUNTER_NAMES, "by_trap"))
STAGE: Final = (
    f"CREATE TEMP TABLE staged (time_ms, end, {BEFORE}, module_text, {AFTER})",
    f"INSERT INTO temp.staged VALUES ({', '.join('?' * 22)})",
)
BRING_IN: Final = f"""
  INSERT INTO reading (id, {BEFORE}, module, {AFTER})
  SELECT time_ms * {END_SLOTS} + ? + end, {BEFORE}, module.id, {AFTER}
  FROM temp.staged LEFT JOIN module ON module.text = module_text
  ORDER BY time_ms, end
"""
NAME_MODULES: Final = """
  INSERT INTO module (text)
  SELECT DISTINCT module_text FROM temp.staged WHERE module_text IS NOT NULL
  ON CONFLICT DO NOTHING
"""
# The first time in [:first_ms, :last_ms] that the record already speaks of: a raw row in between,
# or a summary whose rows are gone.
TAKEN: Final = f"""
  SELECT min(time_ms) FROM (
    SELECT id >> 16 AS time_ms FROM reading
    WHERE id >= :first_ms * {END_SLOTS} AND id < (:last_ms + 1) * {END_SLOTS}
      AND id & 65535 IN (:a, :b)
    UNION ALL
    SELECT id >> 16 FROM five_minutes
    WHERE id >= :first_ms / {FIVE_MINUTES_MS} * {FIVE_MINUTES_MS} * {END_SLOTS}
      AND id < (:last_ms + 1) * {END_SLOTS} AND id & 65535 IN (:a, :b)
      AND NOT EXISTS (
        SELECT 1 FROM reading
        WHERE reading.id >= five_minutes.id
          AND reading.id < five_minutes.id + {FIVE_MINUTES_MS * END_SLOTS}
          AND reading.id & 65535 = five_minutes.id & 65535)
    UNION ALL
    SELECT id % {HOUR_KEY} * {HOUR_MS} FROM hours
    WHERE (id BETWEEN :a * {HOUR_KEY} + :first_ms / {HOUR_MS}
                  AND :a * {HOUR_KEY} + :last_ms / {HOUR_MS}
        OR id BETWEEN :b * {HOUR_KEY} + :first_ms / {HOUR_MS}
                  AND :b * {HOUR_KEY} + :last_ms / {HOUR_MS})
      AND NOT EXISTS (
        SELECT 1 FROM five_minutes
        WHERE five_minutes.id >= hours.id % {HOUR_KEY} * {HOUR_MS * END_SLOTS}
          AND five_minutes.id < (hours.id % {HOUR_KEY} + 1) * {HOUR_MS * END_SLOTS}
          AND five_minutes.id & 65535 = hours.id / {HOUR_KEY})
  )
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What an import brought. `newest`: nothing of the link is newer, so its verdict was stored."""

    rows: int
    from_ms: int
    to_ms: int
    newest: bool


class Import:
    """One import of one link; `finish` makes it part of the record, `abandon` leaves no trace."""

    def __init__(
        self,
        path: Path,
        connection: sqlite3.Connection,
        links: LinkNumbers,
        link: LinkName,
        lock: AbstractContextManager[object],
    ) -> None:
        self._path = path
        self._connection = connection
        self._links = links
        self._link = link
        self._lock = lock
        self._rows = 0
        self._first_ms = 0
        self._last_ms = 0
        self.abandon()
        connection.execute(STAGE[0])

    def add(self, rows: Sequence[EndRow]) -> None:
        """Stage rows, in order of time over all calls. Raises ValueError if they are not."""
        if not rows:
            return
        if not self._rows:
            self._first_ms = self._last_ms = rows[0].time_ms
        for row in rows:
            if row.time_ms < self._last_ms:
                raise ValueError("rows to be brought in must be in order of time")
            self._last_ms = row.time_ms
        cells = [(row.time_ms, row.end, *encode_row(0, row, row.module_id)[1:]) for row in rows]
        with self._lock, told(self._path):
            self._connection.execute("BEGIN")
            self._connection.executemany(STAGE[1], cells)
            self._connection.execute("COMMIT")
        self._rows += len(rows)

    def abandon(self) -> None:
        """Forget what was staged."""
        with self._lock:
            self._connection.execute("DROP TABLE IF EXISTS temp.staged")

    def finish(self, made: Batch, *, gap_ms: int = GAP_MS) -> Imported:
        """Bring everything in, in one transaction: rows, summaries, and what analysis `made`.

        `gap_ms`: how long a row's state may stand for the time before it; wider for sparse rows.
        States and verdicts are stored only if nothing of the link is newer. Raises StoreError if
        the link has rows in that time already.
        """
        if not self._rows:
            raise StoreError("there is nothing to bring in: no rows were given")
        try:
            with self._lock, told(self._path), transaction(self._connection):
                done = self._finish(made, gap_ms)
        except BaseException:
            self._links.forget()
            raise
        self.abandon()
        return done

    def _finish(self, made: Batch, gap_ms: int) -> Imported:
        connection, link_id = self._connection, self._links.get(self._link)
        numbers = (end_number(link_id, End.A), end_number(link_id, End.B))
        self._refuse_taken(numbers)
        connection.execute(NAME_MODULES)
        connection.execute(BRING_IN, (numbers[0],))
        sum_range(connection, numbers, self._first_ms, self._last_ms, gap_ms=gap_ms)
        put_events(connection, self._links, made.events)
        put_stats(connection, self._links, made.stats)
        newest = self._nothing_after(numbers)
        if newest:
            for verdict in made.verdicts:
                put_verdict(connection, self._links, verdict)
            for link, state in made.states.items():
                put_state(connection, self._links.get(link), state, self._last_ms)
        return Imported(rows=self._rows, from_ms=self._first_ms, to_ms=self._last_ms, newest=newest)

    def _refuse_taken(self, numbers: tuple[int, int]) -> None:
        period = {"first_ms": self._first_ms, "last_ms": self._last_ms}
        taken = self._connection.execute(
            TAKEN, {**period, "a": numbers[0], "b": numbers[1]}
        ).fetchone()[0]
        if taken is not None:
            raise StoreError(
                f"the record already has rows of link {self._link!r} at {iso_utc(taken)}, within "
                f"the time of the file ({iso_utc(self._first_ms)} to {iso_utc(self._last_ms)})",
                hint="Nothing was brought in. Leave out of the file what the record has already.",
            )

    def _nothing_after(self, numbers: tuple[int, int]) -> bool:
        row = self._connection.execute(
            "SELECT 1 FROM reading WHERE id >= ? AND id & 65535 IN (?, ?) LIMIT 1",
            (row_id(self._last_ms + 1), *numbers),
        ).fetchone()
        return row is None
