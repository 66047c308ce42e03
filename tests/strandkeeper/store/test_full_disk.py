"""A disk that is full or a file that is locked loses nothing, says so, and is left behind."""

from __future__ import annotations

import contextlib
import ctypes
import os
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.verdict import Event, EventKind
from strandkeeper.store import Batch, RecordReader, RecordWriter, open_reader, open_writer
from strandkeeper.store.reserve import RESERVE_BYTES, Reserve

MakeRow = Callable[..., EndRow]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 40 MiB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.mount(b"tmpfs", str(folder).encode(), b"tmpfs", 0, b"size=40m"):
        pytest.skip("NOT RUN: a small disk of its own needs root (mount)")
    yield folder
    libc.umount2(str(folder).encode(), 2)


def fill(folder: Path, leave: int) -> Path:
    room = os.statvfs(folder)
    ballast = folder / "ballast"
    with ballast.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, room.f_bavail * room.f_frsize - leave)
    return ballast


def batch(make_row: MakeRow, link: LinkName, time_ms: int) -> Batch:
    """A batch that makes the file grow by 200 kB."""
    return Batch(
        rows=[(link, make_row(time_ms, end)) for end in End],
        events=[Event(time_ms=time_ms, link=link, kind=EventKind.LINK_UP, text="x" * 200_000)],
    )


def test_the_reserve_is_given_back_and_the_record_goes_on(
    small_disk: Path, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    writer = open_writer(small_disk / "record.db")
    reserve = small_disk / "record.db.reserve"
    assert reserve.stat().st_blocks * 512 >= RESERVE_BYTES
    fill(small_disk, leave=100_000)
    for number in range(10):
        assert writer.append(batch(make_row, link, t0 + number * 1000)).written
    assert not reserve.exists()
    writer.close()


def test_a_full_disk_holds_batches_in_memory_until_there_is_room(
    small_disk: Path, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    path = small_disk / "record.db"
    writer = open_writer(path)
    writer.append(batch(make_row, link, t0))
    ballast = fill(small_disk, leave=0)
    outcomes = [
        writer.append(batch(make_row, link, t0 + number * 1000)) for number in range(1, 120)
    ]
    refused = [outcome for outcome in outcomes if not outcome.written]
    assert refused, "the reserve alone cannot have held all of it"
    assert outcomes[0].written, "the reserve was to be given back first"
    assert refused[-1].held_rows == 2 * len(refused)
    assert refused[-1].trouble == f"the disk that holds {path} is full"
    assert refused[-1].hint == (
        f"Make room on it (df -h {small_disk}). Readings wait in memory meanwhile."
    )
    ballast.unlink()
    again = writer.append(batch(make_row, link, t0 + 120_000))
    assert (again.written, again.held_rows, again.lost_rows) == (True, 0, 0)
    writer.close()
    reader = open_reader(path)
    assert [row.time_ms for row in reader.rows(link)][::2] == [t0 + n * 1000 for n in range(121)]
    assert len(reader.events(link)) == 121
    reader.close()


def test_the_reserve_is_taken_again_when_there_is_room_again(
    small_disk: Path, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    writer = open_writer(small_disk / "record.db")
    ballast = fill(small_disk, leave=0)
    writer.append(batch(make_row, link, t0))
    assert not (small_disk / "record.db.reserve").exists()
    ballast.unlink()
    writer.append(batch(make_row, link, t0 + 1))
    assert (small_disk / "record.db.reserve").stat().st_size == RESERVE_BYTES
    writer.close()


def test_no_reserve_is_taken_where_it_would_fill_the_disk(small_disk: Path) -> None:
    fill(small_disk, leave=2 * RESERVE_BYTES)
    assert Reserve(small_disk / "record.db").take() is False
    assert not (small_disk / "record.db.reserve").exists()


@pytest.fixture
def locked(path: Path, writer: RecordWriter) -> Iterator[sqlite3.Connection]:
    writer._connection.execute("PRAGMA busy_timeout = 10")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    yield other
    other.close()


def test_a_locked_file_holds_the_batch_and_it_is_written_with_the_next(
    locked: sqlite3.Connection,
    writer: RecordWriter,
    reader: RecordReader,
    make_row: MakeRow,
    link: LinkName,
    path: Path,
    t0: int,
) -> None:
    held = writer.append(Batch(rows=[(link, make_row(t0))]))
    assert (held.written, held.held_rows) == (False, 1)
    assert held.trouble == f"the record {path} was locked by another process for longer than 5 s"
    locked.execute("ROLLBACK")
    assert writer.append(Batch()).written
    assert [row.time_ms for row in reader.rows(link)] == [t0]


class Ailing(sqlite3.Connection):
    """As one whose lock could not be released: nothing works through it any more.

    No real disk does so on demand; tests/bench/faults.py lets fcntl fail under a real daemon.
    """

    ill = False

    def execute(self, *arguments: object) -> sqlite3.Cursor:  # type: ignore[override]
        if self.ill:
            error = sqlite3.OperationalError("locking protocol")
            error.sqlite_errorname = "SQLITE_PROTOCOL"
            raise error
        return super().execute(*arguments)  # type: ignore[arg-type]


def test_a_connection_that_does_not_recover_is_made_anew(
    path: Path,
    monkeypatch: pytest.MonkeyPatch,
    make_row: MakeRow,
    link: LinkName,
) -> None:
    monkeypatch.setattr(sqlite3, "connect", partial(sqlite3.connect, factory=Ailing))
    writer = open_writer(path, reserve=False)
    first = writer._connection
    assert isinstance(first, Ailing)
    first.ill = True
    held = writer.append(Batch(rows=[(link, make_row(1_000))]))
    assert (held.written, held.held_rows) == (False, 1)
    assert "SQLITE_PROTOCOL" in held.trouble
    assert writer.append(Batch(rows=[(link, make_row(2_000))])).written
    assert writer._connection is not first
    writer.close()
    with contextlib.closing(open_reader(path)) as reader:
        assert [row.time_ms for row in reader.rows(link)] == [1_000, 2_000]


def test_what_is_held_is_written_when_the_daemon_ends(
    locked: sqlite3.Connection, writer: RecordWriter, make_row: MakeRow, link: LinkName, path: Path
) -> None:
    writer.append(Batch(rows=[(link, make_row(5_000))]))
    locked.execute("ROLLBACK")
    writer.close()
    reader = open_reader(path)
    assert len(list(reader.rows(link))) == 1
    reader.close()


def test_memory_is_bounded_and_what_had_to_go_is_counted(
    path: Path, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    writer = open_writer(path, reserve=False, most_held_rows=10)
    writer._connection.execute("PRAGMA busy_timeout = 1")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    for number in range(14):
        outcome = writer.append(Batch(rows=[(link, make_row(t0 + number))]))
    assert (outcome.held_rows, outcome.lost_rows) == (10, 4)
    other.close()
    assert writer.append(Batch()).lost_rows == 4
    writer.close()
    reader = open_reader(path)
    assert [row.time_ms - t0 for row in reader.rows(link)] == list(range(4, 14))
    reader.close()


def test_a_batch_that_failed_half_way_leaves_nothing_behind(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName
) -> None:
    """The state is refused by the file after the rows went in; a link named in it is new."""
    broken = Batch(rows=[(link, make_row(1_000))], states={link: None})  # type: ignore[dict-item]
    with pytest.raises(sqlite3.IntegrityError):
        writer.append(broken)
    assert list(reader.rows(link)) == []
    assert reader.links() == ()
    writer._holding.clear()
    assert writer.append(replace(broken, states={})).written
    assert len(list(reader.rows(link))) == 1
