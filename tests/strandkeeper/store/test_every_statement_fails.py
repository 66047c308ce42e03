"""Every statement that the writing side gives to the database fails in turn, and nothing is lost.

The failing is done by a connection of ours, since no disk fails at a statement of one's choice;
tests/bench/faults.py lets the system calls of a whole daemon fail instead.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from tests.bench.store_child import BEGIN_MS, batch
from tests.strandkeeper.store.test_telling import FIRST

from strandkeeper.errors import StoreError
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.settings import Retention
from strandkeeper.store import RecordWriter, open_reader, open_writer
from strandkeeper.store.checking import check_whole
from strandkeeper.store.record_time import Epoch, Mode
from strandkeeper.store.telling import TellingBatch

HOUR_MS = 3_600_000
ERRORS = (
    ("SQLITE_FULL", "database or disk is full"),
    ("SQLITE_IOERR_WRITE", "disk I/O error"),
    ("SQLITE_IOERR_FSYNC", "disk I/O error"),
    ("SQLITE_BUSY", "database is locked"),
)


class Faulty(sqlite3.Connection):
    """Fails at the statement number `fails_at`, counted over all connections, from 1."""

    given = 0
    fails_at = 0
    afterwards = False  # the statement is done, and fails all the same: a commit in doubt

    def _count(self) -> None:
        Faulty.given += 1
        if not Faulty.afterwards:
            self._fail()

    def _fail(self) -> None:
        if Faulty.given == Faulty.fails_at:
            name, text = ERRORS[Faulty.fails_at % len(ERRORS)]
            error = sqlite3.OperationalError(text)
            error.sqlite_errorname = name
            raise error

    def execute(self, *arguments: Any) -> sqlite3.Cursor:  # type: ignore[override]
        self._count()
        number = Faulty.given
        done = super().execute(*arguments)
        if Faulty.afterwards and number == Faulty.given == Faulty.fails_at:
            done.close()
            self._fail()
        return done

    def executemany(self, *arguments: Any) -> sqlite3.Cursor:  # type: ignore[override]
        self._count()
        done = super().executemany(*arguments)
        if Faulty.afterwards:
            self._fail()
        return done


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    """A record in which two people have asked for something."""
    path = tmp_path / "begun.db"
    open_writer(path, reserve=False).close()
    reader = open_reader(path)
    for _ in range(2):
        reader.append_entry(Entry(kind=EntryKind.NOTE, who="x", payload={"text": "y"}), at_ms=1)
    reader.close()
    return path


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> Iterator[type[Faulty]]:
    monkeypatch.setattr(sqlite3, "connect", partial(sqlite3.connect, factory=Faulty))
    Faulty.given, Faulty.fails_at, Faulty.afterwards = 0, 0, False
    yield Faulty
    Faulty.given, Faulty.fails_at, Faulty.afterwards = 0, 0, False


def again_until_done(act: Callable[[], bool]) -> None:
    """As the daemon does: what fails is tried again, and only a StoreError is a failure."""
    said = []
    for _ in range(4):
        try:
            if act():
                return
        except StoreError as error:
            said.append(error.message)
    raise AssertionError(f"it never came to an end: {said}")


def a_few_hours(writer: RecordWriter) -> None:
    """Everything a daemon writes, each act until it is done."""
    telling = again_value(lambda: writer.telling()[0])
    for number in range(6):
        rows = batch(number, BEGIN_MS + number * HOUR_MS // 3)
        first = [True]

        def append(rows=rows, first=first):  # type: ignore[no-untyped-def]
            given, first[0] = (rows if first[0] else batch_of_nothing), False
            return writer.append(given).written

        again_until_done(append)
    given = [FIRST, TellingBatch(), TellingBatch(), TellingBatch()]
    again_until_done(lambda: telling.write(given.pop(0)).written)
    epoch = Epoch(start_ms=BEGIN_MS + 1, shift_ms=5, mode=Mode.HELD, reason="clock-back")
    again_until_done(lambda: writer.begin_epoch(epoch) is None)
    waiting = again_value(writer.waiting_entries)
    again_until_done(lambda: writer.apply_entry(waiting[0].id, 7) is None)
    again_until_done(lambda: writer.refuse_entry(waiting[1].id, "no") is None)
    moved = (BEGIN_MS + HOUR_MS, 60_000, BEGIN_MS + 3 * HOUR_MS)
    again_until_done(lambda: writer.date_rows(*moved) is None)
    later_ms = BEGIN_MS + 31 * 86_400_000 + HOUR_MS
    gone = partial(writer.expire, later_ms, Retention(), trusted=True)
    again_until_done(lambda: gone() == 0)


batch_of_nothing = batch(0, 0).__class__()


def again_value(ask: Callable[[], Any]) -> Any:
    """The answer of the first question that does not fail."""
    for _ in range(3):
        try:
            return ask()
        except StoreError:
            continue
    raise AssertionError("it was never answered")


def content(path: Path) -> list[str]:
    """Every table as SQL, but for the order in which links were given their numbers."""
    check_whole(path)
    database = sqlite3.connect(path)
    lines = sorted(database.iterdump())
    database.close()
    return lines


def run(path: Path) -> None:
    writer = again_value(lambda: open_writer(path, reserve=False))
    a_few_hours(writer)
    again_until_done(lambda: writer.close() is None)


@pytest.mark.parametrize("afterwards", [False, True], ids=["undone", "done-all-the-same"])
def test_whatever_statement_fails_the_record_is_as_if_none_had(
    begun: Path, tmp_path: Path, failing: type[Faulty], *, afterwards: bool
) -> None:
    """A commit that fails may stand all the same, once another connection reads the log anew."""
    whole = shutil.copy(begun, tmp_path / "whole.db")
    run(whole)
    statements, expected = failing.given, content(whole)
    assert statements > 150, "the acts above are to use most statements"
    for number in range(1, statements + 1):
        path = Path(shutil.copy(begun, tmp_path / f"record-{number}.db"))
        failing.given, failing.fails_at, failing.afterwards = 0, number, afterwards
        run(path)
        assert failing.given >= number
        failing.fails_at = 0
        assert content(path) == expected, f"statement {number} of {statements} failed"
