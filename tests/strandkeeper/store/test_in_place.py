"""The record's file or its log is deleted, moved or replaced while the daemon has it open."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from strandkeeper.model.names import LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.store import Batch, RecordWriter, open_reader
from strandkeeper.store.checking import check_whole

MakeRow = Callable[..., EndRow]


def times(path: Path, link: LinkName) -> list[int]:
    with contextlib.closing(open_reader(path)) as reader:
        return [row.time_ms for row in reader.rows(link)]


@pytest.fixture
def one(make_row: MakeRow, link: LinkName) -> Callable[[int], Batch]:
    return lambda time_ms: Batch(rows=[(link, make_row(time_ms))])


def test_a_deleted_record_is_put_back_with_everything_in_it(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    writer.append(one(1_000))
    for tail in ("", "-wal", "-shm"):
        path.with_name(path.name + tail).unlink()
    assert writer.append(one(2_000)).written
    assert times(path, link) == [1_000, 2_000]
    writer.close()
    check_whole(path)
    assert times(path, link) == [1_000, 2_000]


def test_a_record_of_which_only_the_file_was_deleted_is_put_back(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    """Its log still lies there, under a name that must not be taken for the new file's."""
    writer.append(one(1_000))
    path.unlink()
    assert writer.append(one(2_000)).written
    assert times(path, link) == [1_000, 2_000]


@pytest.mark.parametrize(("folder_mode", "mode"), [(0o700, 0o600), (0o2770, 0o660)])
def test_what_is_put_back_is_as_open_as_it_was(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], folder_mode: int, mode: int
) -> None:
    path.parent.chmod(folder_mode)
    path.unlink()
    assert writer.append(one(1_000)).written
    assert path.stat().st_mode & 0o777 == mode


def test_other_connections_are_let_go_before_a_record_is_put_back(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    """The last one to close the old file would remove the new one's log by its name."""
    writer.append(one(1_000))
    other = open_reader(path)
    writer.before_reopen = other.close
    path.unlink()
    assert writer.append(one(2_000)).written
    with pytest.raises(sqlite3.ProgrammingError):
        other.newest_ms()
    assert path.with_name(f"{path.name}-wal").exists()


def test_a_log_that_another_program_removed_costs_no_row(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    """What was acknowledged stands only in the log; its name is gone, its content is not."""
    writer.append(one(1_000))
    path.with_name(f"{path.name}-wal").unlink()
    path.with_name(f"{path.name}-shm").unlink()
    assert writer.append(one(2_000)).written
    assert times(path, link) == [1_000, 2_000]
    shutil.copy(path, path.with_name("copy.db"))
    shutil.copy(f"{path}-wal", path.with_name("copy.db-wal"))
    assert times(path.with_name("copy.db"), link) == [1_000, 2_000]


def test_a_late_reader_of_a_record_that_was_put_back_does_no_harm(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    """Whoever closes the deleted file last might take the new one's log away by its name."""
    writer.append(one(1_000))
    late = open_reader(path)
    path.unlink()
    assert writer.append(one(2_000)).written
    assert late.newest_ms() is not None
    late.close()
    assert writer.append(one(3_000)).written
    assert times(path, link) == [1_000, 2_000, 3_000]
    writer.close()
    check_whole(path)


def test_a_file_in_the_place_of_the_record_is_never_touched(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    writer.append(one(1_000))
    moved = path.with_name("moved.db")
    path.rename(moved)
    path.write_bytes(b"somebody's")
    held = writer.append(one(2_000))
    assert (held.written, held.held_rows) == (False, 1)
    assert held.trouble == (
        f"another file has come to lie in the place of the record {path} while it was open"
    )
    assert "Move the old record back" in held.hint
    assert path.read_bytes() == b"somebody's"
    os.replace(moved, path)  # as the hint says
    assert writer.append(one(3_000)).written
    assert times(path, link) == [1_000, 2_000, 3_000]


def test_a_record_whose_directory_is_gone_waits_in_memory_until_it_is_back(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    writer.append(one(1_000))
    away = path.parent.with_name("away")
    path.parent.rename(away)
    held = writer.append(one(2_000))
    assert (held.written, held.held_rows) == (False, 1)
    assert str(path) in held.trouble
    away.rename(path.parent)
    assert writer.append(one(3_000)).written
    assert times(path, link) == [1_000, 2_000, 3_000]


def test_every_other_write_finds_the_record_put_back_too(
    writer: RecordWriter, path: Path, one: Callable[[int], Batch], link: LinkName
) -> None:
    writer.append(one(1_000))
    path.unlink()
    assert writer.waiting_entries() == []
    assert times(path, link) == [1_000]
