"""The writing side of the record: one process, the daemon, holds it."""

from __future__ import annotations

import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from strandkeeper import __version__
from strandkeeper.errors import StoreError
from strandkeeper.model.entry import StoredEntry
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Retention
from strandkeeper.store import meta
from strandkeeper.store.backup import copy_record
from strandkeeper.store.batch import Batch, Outcome
from strandkeeper.store.changes import Changes, write_changes
from strandkeeper.store.database import connect_writer, damaged, transaction
from strandkeeper.store.entries import apply_entry, refuse_entry, waiting_entries
from strandkeeper.store.epochs import date_rows, put_epoch
from strandkeeper.store.events import put_events
from strandkeeper.store.holding import MOST_HELD_ROWS, Holding
from strandkeeper.store.importing import Import
from strandkeeper.store.in_place import Found, Place, another_file, bring_in_log, put_back
from strandkeeper.store.keys import LinkNumbers, ModuleNumbers, end_number
from strandkeeper.store.meta import FIVE_MINUTES_UNTIL, HOURS_UNTIL
from strandkeeper.store.migrate import migrate
from strandkeeper.store.period_stats import put_stats
from strandkeeper.store.readings import insert_rows, newest_ms
from strandkeeper.store.record_time import Epoch
from strandkeeper.store.reserve import Reserve
from strandkeeper.store.retention import delete_some, retention_cuts
from strandkeeper.store.states import put_state
from strandkeeper.store.summing import forget_from, sum_up
from strandkeeper.store.switches import put_switch
from strandkeeper.store.telling import Telling, TellingState, load
from strandkeeper.store.trouble import is_damage, told, wants_new_connection, wants_room
from strandkeeper.store.verdicts import put_verdict

__all__ = ["RecordWriter", "open_writer"]

DATED: Final = "dated_rows"
RENEW_EVERY_S: Final = 30.0
FOR_EVER_MS: Final = 1 << 46  # beyond any record time; its row key still fits


def open_writer(
    path: str | Path, *, most_held_rows: int = MOST_HELD_ROWS, reserve: bool = True
) -> RecordWriter:
    """Open the record for writing, making or upgrading the file where needed.

    Raises StoreError with what to do: no such directory, no right to write, a file of another
    program; StoreTooNewError; StoreDamagedError. `reserve` False: no room is set aside (an import).
    """
    place = Path(path)
    return RecordWriter(place, _connect(place), Holding(most_held_rows), with_reserve=reserve)


def _connect(place: Path) -> sqlite3.Connection:
    """Open, upgrade, and begin the record if it is new."""
    connection = connect_writer(place)
    try:
        with told(place):
            before, _after = migrate(connection, place)
            if not before:
                with transaction(connection):
                    meta.put(connection, "begun_ms", time.time_ns() // 1_000_000)
                    meta.put(connection, "begun_by", __version__)
    except BaseException:
        connection.close()
        raise
    return connection


class RecordWriter:
    """Appends batches; safe to call from any one thread at a time (it locks itself).

    A batch that cannot be written is held in memory and written first by the next append. A record
    that was deleted under it is put back; `before_reopen` is called first, and must let go of every
    other connection that this process has to the record.
    """

    def __init__(
        self, path: Path, connection: sqlite3.Connection, holding: Holding, *, with_reserve: bool
    ) -> None:
        self.path = path
        self.before_reopen: Callable[[], None] = lambda: None
        self._holding = holding
        self._renew_from_s = 0.0
        self._use(connection)
        self._lock = threading.RLock()
        self._reserve = Reserve(path) if with_reserve else None
        self._reserve_held = self._reserve is not None and self._reserve.take()

    def _use(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._links = LinkNumbers(connection)
        self._modules = ModuleNumbers(connection)
        self._place: Place | None = Place(self.path)  # None: closed, to be opened again
        self._ailing = False

    @contextmanager
    def _turn(self) -> Iterator[None]:
        """The one turn of a thread with the file, which is the one of that name again."""
        with self._lock, told(self.path):
            try:
                self._settle()
                yield
            except sqlite3.OperationalError as error:
                self._ailing = self._ailing or wants_new_connection(error)
                raise

    def _settle(self) -> None:
        found = Found.THE_SAME if self._place is None else self._place.look()
        if found is Found.ANOTHER:
            raise another_file(self.path)
        if found is Found.THE_SAME and self._place is not None and self._ailing:
            found = self._renewal()
        if found is not Found.THE_SAME:
            self._let_go(found)
        if self._place is None:
            self._use(_connect(self.path))

    def _renewal(self) -> Found:
        """Whether to open anew now; not with every attempt, since an opened file is checked."""
        now_s = time.monotonic()
        if now_s < self._renew_from_s:
            return Found.THE_SAME
        self._renew_from_s = now_s + RENEW_EVERY_S
        return Found.AILING

    def _let_go(self, found: Found) -> None:
        """Bring all that the open connection has to where it belongs, and close it."""
        self.before_reopen()
        if found is Found.AILING:
            self._connection.close()
        elif found is Found.LOG_GONE:
            bring_in_log(self._connection, self.path)
        else:
            try:
                put_back(self._connection, self.path)
            except StoreError:
                self._place = None
                raise
        self._place = None

    def close(self) -> None:
        """Write what is held, if it can be written, and close."""
        with self._lock:
            if self._holding:
                self.append(Batch())
            self._connection.close()

    def newest_ms(self) -> int | None:
        """The record time of the newest row, None in an empty file."""
        with self._turn():
            return newest_ms(self._connection)

    def append(self, batch: Batch) -> Outcome:
        """Write one batch, and all that is held, in one transaction with one sync.

        Summaries of periods that it closes are made in the same transaction. Trouble of the disk or
        with the file comes back in the Outcome.
        """
        with self._lock:
            self._holding.add(batch)
            if not self._holding:
                return self._outcome(written=True)
            try:
                with self._turn():
                    already = self._write_or_make_room()
            except StoreError as error:
                return self._outcome(written=False, trouble=error.message, hint=error.hint)
            self._holding.clear()
            if self._reserve is not None and not self._reserve_held:
                self._reserve_held = self._reserve.take()
            return self._outcome(written=True, already_there=already)

    def _outcome(
        self, *, written: bool, trouble: str = "", hint: str = "", already_there: int = 0
    ) -> Outcome:
        return Outcome(
            written=written,
            trouble=trouble,
            hint=hint,
            held_rows=len(self._holding),
            lost_rows=self._holding.lost_rows,
            already_there=already_there,
        )

    def _write_or_make_room(self) -> int:
        held = self._holding.batch()
        return self._with_room(lambda: self._write(held))

    def _with_room(self, work: Callable[[], int]) -> int:
        """Do it, and once more with the reserve given back if there is no room."""
        try:
            return work()
        except sqlite3.OperationalError as error:
            if not wants_room(error) or self._reserve is None or not self._reserve.free():
                raise
            self._reserve_held = False
            return work()

    def _do(self, work: Callable[[], int]) -> int:
        """Run work in a transaction; numbers given in one that failed are forgotten."""
        try:
            with transaction(self._connection):
                return work()
        except BaseException as error:
            self._links.forget()
            self._modules.forget()
            if isinstance(error, sqlite3.DatabaseError) and is_damage(error):
                raise damaged(self.path, str(error)) from error
            raise

    def _write(self, batch: Batch) -> int:
        return self._do(lambda: self._put(batch))

    def _put(self, batch: Batch) -> int:
        already = self._put_rows(batch)
        for verdict in batch.verdicts:
            put_verdict(self._connection, self._links, verdict)
        newest = {link: row.time_ms for link, row in batch.rows}
        for link, state in batch.states.items():
            put_state(self._connection, self._links.get(link), state, newest.get(link))
        put_events(self._connection, self._links, batch.events)
        put_stats(self._connection, self._links, batch.stats)
        for poll in batch.switches:
            put_switch(self._connection, poll)
        return already

    def _put_rows(self, batch: Batch) -> int:
        if not batch.rows:
            return 0
        numbered = [(end_number(self._links.get(link), row.end), row) for link, row in batch.rows]
        written = insert_rows(self._connection, self._modules, numbered)
        times = [row.time_ms for _link, row in batch.rows]
        sum_up(self._connection, min(times), max(times))
        return len(numbered) - written

    def expire(self, now_ms: int, retention: Retention, *, trusted: bool) -> int:
        """Delete some of what is past its time; call again while it returns more than 0.

        `now_ms` is record time. Nothing goes while the time of day is not trusted, and no row that
        was not summed up first.
        """
        with self._turn():
            cuts = retention_cuts(
                now_ms,
                retention,
                trusted=trusted,
                five_minutes_until_ms=meta.get_number(self._connection, FIVE_MINUTES_UNTIL),
                hours_until_ms=meta.get_number(self._connection, HOURS_UNTIL),
            )
            return self._do(lambda: delete_some(self._connection, cuts))

    def telling(self) -> tuple[Telling, TellingState]:
        """The side of the record that alerts write to, and what the run before left there."""
        with self._turn():
            return Telling(self._write_now), load(self._connection)

    def _write_now(self, work: Callable[[sqlite3.Connection], None]) -> Outcome:
        """One transaction of its own, at once; a disk without room comes back in the Outcome."""

        def numbered() -> int:
            work(self._connection)
            return 0

        with self._lock:
            try:
                with self._turn():
                    self._with_room(lambda: self._do(numbered))
            except StoreError as error:
                return self._outcome(written=False, trouble=error.message, hint=error.hint)
            return self._outcome(written=True)

    def waiting_entries(self) -> list[StoredEntry]:
        """What people asked for that is neither applied nor refused, oldest first."""
        with self._turn():
            return waiting_entries(self._connection)

    def apply_entry(self, number: int, at_ms: int) -> None:
        """Say that entry `number` was done at record time `at_ms`."""
        with self._turn(), transaction(self._connection):
            apply_entry(self._connection, number, at_ms)

    def change(self, changes: Changes, *, entry: int | None = None, at_ms: int = 0) -> None:
        """Write what an entry changes and, in the same transaction, that it was applied."""

        def work() -> int:
            write_changes(self._connection, changes)
            if entry is not None:
                apply_entry(self._connection, entry, at_ms)
            return 0

        with self._turn():
            self._do(work)

    def refuse_entry(self, number: int, why: str) -> None:
        """Say why entry `number` will not be done, in a sentence for the person."""
        with self._turn(), transaction(self._connection):
            refuse_entry(self._connection, number, why)

    def begin_epoch(self, epoch: Epoch) -> None:
        """Record a jump of the clock (record_time.Change.epoch)."""
        with self._turn(), transaction(self._connection):
            put_epoch(self._connection, epoch)

    def date_rows(self, from_ms: int, by_ms: int, until_ms: int = FOR_EVER_MS) -> None:
        """Move the rows held from `from_ms` to `until_ms` to their true time.

        The arguments are record_time.Change's date_from_ms, date_by_ms and date_until_ms; rows
        already written by the new clock are later than until_ms and stay. Events move along.
        Afterwards each link's state is the one of before the epoch: judge its rows again, from
        RecordReader.state_through on, for the verdict and the statistics of the held time.
        """
        with self._turn():
            self._do(lambda: self._date_rows(from_ms, until_ms, by_ms))
            self._holding.move(from_ms, until_ms, by_ms)

    def _date_rows(self, from_ms: int, until_ms: int, by_ms: int) -> int:
        """Once: asked for again because the commit was in doubt, nothing is moved twice."""
        move = f"{from_ms} {until_ms} {by_ms}"
        if meta.get_text(self._connection, DATED) == move:
            return 0
        meta.put(self._connection, DATED, move)
        date_rows(self._connection, from_ms, until_ms, by_ms)
        forget_from(self._connection, from_ms)
        newest = newest_ms(self._connection)
        if newest is not None:
            sum_up(self._connection, min(from_ms, newest), newest)
        return 0

    def begin_import(self, link: LinkName) -> Import:
        """Bring in rows of one link from outside: add them in order of time, then finish."""
        return Import(self.path, self._connection, self._links, link, self._lock)

    def backup(self, target: str | Path) -> None:
        """Copy the record, whole and consistent, to a file that must not exist yet."""
        copy_record(self.path, Path(target))
