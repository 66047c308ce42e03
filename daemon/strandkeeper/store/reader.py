"""The reading side of the record, and the one thing a reader may write: an entry."""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from strandkeeper.model.alert import Alert, Transition
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.message import Outgoing
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.silence import Silence
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, EventKind, LinkVerdict
from strandkeeper.store.alerts import (
    all_silences,
    newest_alerts,
    open_alerts,
    transitions_of,
)
from strandkeeper.store.backup import copy_record
from strandkeeper.store.database import connect_reader, transaction
from strandkeeper.store.entries import add_entry, entries, waiting_entries
from strandkeeper.store.epochs import StoredEpoch, all_epochs
from strandkeeper.store.events import events_between
from strandkeeper.store.info import RecordInfo, read_info
from strandkeeper.store.keys import LinkNumbers, end_number
from strandkeeper.store.migrate import refuse_other_version
from strandkeeper.store.outbox import newest, waiting
from strandkeeper.store.period_stats import stats_between
from strandkeeper.store.readings import latest_row, newest_ms, rows_between
from strandkeeper.store.series import Series, empty_series, read_series
from strandkeeper.store.states import get_state, state_through
from strandkeeper.store.summary_rows import recorded_rows
from strandkeeper.store.switches import all_switches
from strandkeeper.store.trouble import told
from strandkeeper.store.verdicts import all_verdicts, get_verdict

__all__ = ["RecordReader", "open_reader"]

FOR_EVER_MS = 1 << 46  # beyond any record time; its row key still fits

Answer = TypeVar("Answer")


def open_reader(path: str | Path) -> RecordReader:
    """Open the record for reading, also while it is written and under another user.

    Raises StoreError (no file yet, no right, a file not yet upgraded), StoreTooNewError or
    StoreDamagedError.
    """
    place = Path(path)
    connection = connect_reader(place)
    try:
        refuse_other_version(connection, place)
    except BaseException:
        connection.close()
        raise
    return RecordReader(place, connection)


class RecordReader:
    """Questions to the record; safe to call from several threads (it locks itself)."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self._links = LinkNumbers(connection)
        self._lock = threading.RLock()

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            self._connection.close()

    def data_version(self) -> int:
        """A number that changes whenever another connection has committed."""
        with self._lock:
            return int(self._connection.execute("PRAGMA data_version").fetchone()[0])

    def info(self) -> RecordInfo:
        """Format, sizes, times: what `check` and the page 'about' show."""
        with self._lock:
            return read_info(self._connection, self.path)

    def links(self) -> tuple[LinkName, ...]:
        """Every link that the record knows, also those no longer configured."""
        with self._lock:
            return self._links.all()

    def newest_ms(self) -> int | None:
        """The record time of the newest row of all."""
        with self._lock:
            return newest_ms(self._connection)

    def latest(self, link: LinkName, *, with_optics: bool = False) -> dict[End, EndRow]:
        """The newest row of each end, as far as there is one.

        `with_optics`: the newest that says something of the optics, instead of the newest of all.
        """
        with self._lock:
            link_id = self._links.find(link)
            if link_id is None:
                return {}
            found = {
                end: latest_row(self._connection, end_number(link_id, end), with_optics=with_optics)
                for end in End
            }
            return {end: row for end, row in found.items() if row is not None}

    def verdict(self, link: LinkName) -> LinkVerdict | None:
        """What the analysis says of a link now; None before the first evaluation."""
        with self._lock:
            link_id = self._links.find(link)
            return None if link_id is None else get_verdict(self._connection, link_id)

    def verdicts(self) -> list[LinkVerdict]:
        """What the analysis says of every link now."""
        with self._lock:
            return all_verdicts(self._connection)

    def series(
        self, link: LinkName, end: End, from_ms: int, to_ms: int, max_points: int = 1000
    ) -> Series:
        """One end over [from_ms, to_ms) in columns of integers; see series.Series.

        Raw rows up to two hours, beyond only summaries, joined to at most `max_points`.
        """
        with self._lock:
            link_id = self._links.find(link)
            if link_id is None:
                return empty_series(link, end, (from_ms, to_ms))
            who = (link, end, end_number(link_id, end))
            return read_series(self._connection, who, (from_ms, to_ms), max_points)

    def stats(
        self,
        link: LinkName,
        direction: Direction,
        span_s: int,
        from_ms: int = 0,
        to_ms: int = FOR_EVER_MS,
    ) -> list[PeriodStat]:
        """Closed hours or days (stats.HOUR_S, DAY_S) of a direction, oldest first."""
        with self._lock:
            link_id = self._links.find(link)
            if link_id is None:
                return []
            question = (link, direction, span_s)
            return stats_between(self._connection, link_id, question, (from_ms, to_ms))

    def events(
        self,
        link: LinkName | None = None,
        *,
        from_ms: int = 0,
        to_ms: int = FOR_EVER_MS,
        kinds: Sequence[EventKind] = (),
        limit: int = 1000,
    ) -> list[Event]:
        """The newest events of a link, or of all; newest first."""
        with self._lock:
            link_id = None if link is None else self._links.find(link)
            if link is not None and link_id is None:
                return []
            return events_between(
                self._connection,
                self._links,
                (from_ms, to_ms),
                link_id=link_id,
                kinds=kinds,
                limit=limit,
            )

    def rows(self, link: LinkName, from_ms: int = 0, to_ms: int = FOR_EVER_MS) -> Iterator[EndRow]:
        """The raw rows of a link, both ends, in order of time: for replay."""
        with self._lock:
            link_id = self._links.find(link)
        if link_id is None:
            return
        numbers = (end_number(link_id, End.A), end_number(link_id, End.B))
        chunks = rows_between(self._connection, numbers, from_ms, to_ms)
        while True:
            with self._lock:
                chunk = next(chunks, None)
            if chunk is None:
                return
            yield from chunk

    def recorded_rows(
        self, link: LinkName, from_ms: int = 0, to_ms: int = FOR_EVER_MS
    ) -> Iterator[EndRow]:
        """Everything the record has of a link, in order of time: for export.

        Where the raw rows are gone, a row for each five minutes (the mean, at their beginning),
        and before that for each hour.
        """
        with self._lock:
            link_id = self._links.find(link)
            early = (
                []
                if link_id is None
                else recorded_rows(self._connection, link_id, (from_ms, to_ms))
            )
        yield from early
        if early:
            from_ms = max(from_ms, early[-1].time_ms + 1)
        yield from self.rows(link, from_ms, to_ms)

    def state(self, link: LinkName) -> bytes | None:
        """The analysis' memory of a link, as it was stored."""
        with self._lock:
            link_id = self._links.find(link)
            return None if link_id is None else get_state(self._connection, link_id)

    def state_through(self, link: LinkName) -> int | None:
        """The record time of the last row that `state` has seen: rows after it are to be judged."""
        with self._lock:
            link_id = self._links.find(link)
            return None if link_id is None else state_through(self._connection, link_id)

    def switches(self) -> list[SwitchHealth]:
        """How every switch answers, by name."""
        with self._lock:
            return all_switches(self._connection)

    def epochs(self) -> list[StoredEpoch]:
        """Every jump of the clock, oldest first."""
        with self._lock:
            return all_epochs(self._connection)

    def entries(self, *, kind: EntryKind | None = None, limit: int = 200) -> list[StoredEntry]:
        """What people did, newest first."""
        with self._lock:
            return entries(self._connection, kind=kind, limit=limit)

    def waiting_entries(self) -> list[StoredEntry]:
        """What people asked for that the daemon has not applied or refused yet, oldest first."""
        with self._lock:
            return waiting_entries(self._connection)

    def alerts(self, limit: int = 100) -> list[Alert]:
        """What the owner was or is to hear of, newest first."""
        with self._lock:
            return newest_alerts(self._connection, limit)

    def open_alerts(self) -> list[Alert]:
        """Every alert that is not over, oldest first."""
        with self._lock:
            return open_alerts(self._connection)

    def alert_steps(self, number: int) -> list[Transition]:
        """Every step of one alert, oldest first."""
        with self._lock:
            return transitions_of(self._connection, number)

    def silences(self) -> list[Silence]:
        """The links of which nothing is told for a time."""
        with self._lock:
            return all_silences(self._connection)

    def messages(self, limit: int = 100) -> list[Outgoing]:
        """The newest messages to every target, with what became of them, newest first."""
        with self._lock:
            return newest(self._connection, limit)

    def waiting_messages(self) -> list[Outgoing]:
        """The messages that still have to go out, oldest first."""
        with self._lock:
            return waiting(self._connection)

    def ask(self, question: Callable[[sqlite3.Connection], Answer]) -> Answer:
        """Put a question of store.ledger or store.rework: `reader.ask(ledger.cables)`."""
        with self._lock:
            return question(self._connection)

    def append_entry(self, entry: Entry, at_ms: int | None = None) -> int:
        """Ask for something; returns its number. `at_ms` None: the clock on the wall.

        The one write of a reader: query_only is lifted for this single row.
        """
        asked_ms = time.time_ns() // 1_000_000 if at_ms is None else at_ms
        with self._lock:
            self._connection.execute("PRAGMA query_only = OFF")
            try:
                with told(self.path), transaction(self._connection):
                    return add_entry(self._connection, entry, asked_ms)
            finally:
                self._connection.execute("PRAGMA query_only = ON")

    def backup(self, target: str | Path) -> None:
        """Copy the record, whole and consistent, to a file that must not exist yet."""
        copy_record(self.path, Path(target))
