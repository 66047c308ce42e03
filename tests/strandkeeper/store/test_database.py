"""Every way in which a record cannot be opened is told in words, with what to do."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from strandkeeper.errors import StoreDamagedError, StoreError
from strandkeeper.model.names import LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.store import Batch, open_reader, open_writer

MakeRow = Callable[..., EndRow]


@pytest.fixture
def others() -> Iterator[Path]:
    """A directory that other users can see; the tests' own are root's."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder


@contextmanager
def as_user(uid: int) -> Iterator[None]:
    os.seteuid(uid)
    try:
        yield
    finally:
        os.seteuid(0)


def refusal(path: Path) -> str:
    with pytest.raises(StoreError) as refused:
        open_writer(path)
    return str(refused.value)


def test_a_missing_directory_of_a_missing_directory_is_not_made_up(tmp_path: Path) -> None:
    path = tmp_path / "no" / "such" / "record.db"
    assert refusal(path) == (
        f"the record cannot be kept at {path}: there is no directory {path.parent}\n"
        f"  Make it (mkdir -p {path.parent}), or set another [store] path in the configuration."
    )


def test_the_last_directory_is_made(tmp_path: Path) -> None:
    path = tmp_path / "record" / "record.db"
    open_writer(path).close()
    assert path.exists()


def test_a_directory_is_not_a_record(tmp_path: Path) -> None:
    assert refusal(tmp_path) == (
        f"the record cannot be kept at {tmp_path}: that is a directory\n"
        f"  Set [store] path to a file, for example {tmp_path}/strandkeeper.db."
    )


@pytest.mark.skipif(os.geteuid() != 0, reason="NOT RUN: needs root to become another user")
@pytest.mark.parametrize("exists", [True, False])
def test_a_path_that_may_not_be_written_says_who_tried(others: Path, exists: bool) -> None:
    path = others / "record.db"
    if exists:
        open_writer(path, reserve=False).close()
    with as_user(61_009):
        said = refusal(path)
    assert said == (
        f"the record {path} cannot be written: Permission denied\n"
        f"  Let the user that runs the daemon (uid 61009) write to {others}, or set another "
        "[store] path in the configuration."
    )


@pytest.mark.skipif(os.geteuid() != 0, reason="NOT RUN: needs root to become another user")
@pytest.mark.parametrize("folder_mode", [0o700, 0o755])
def test_a_reader_without_the_right_is_told_which_rights_it_needs(
    others: Path, folder_mode: int
) -> None:
    path = others / "record.db"
    open_writer(path, reserve=False).close()
    path.chmod(0o600)
    others.chmod(folder_mode)
    with as_user(61_009), pytest.raises(StoreError) as refused:
        open_reader(path)
    assert refused.value.message.startswith(f"the record {path} cannot be read: ")
    assert refused.value.hint == (
        f"The reader (uid 61009) needs the group of {others}, and that directory the mode 2770 "
        "(chmod 2770), the file 660."
    )


def test_a_file_that_is_no_database_is_damaged_and_left_alone(path: Path) -> None:
    path.write_bytes(b"this is not a database, it is a letter" * 100)
    before = path.read_bytes()
    for opening in (open_writer, open_reader):
        with pytest.raises(StoreDamagedError) as refused:
            opening(path)
        assert str(refused.value) == (
            f"the record {path} is damaged: file is not a database\n"
            "  Bring back the newest backup with `strandkeeper restore CONFIG FILE`, or move the "
            f"file away (mv {path} {path}.damaged): a new record is begun at the next start."
        )
    assert path.read_bytes() == before


def test_a_page_that_was_overwritten_is_found_at_the_start(
    path: Path, make_row: MakeRow, link: LinkName
) -> None:
    writer = open_writer(path, reserve=False)
    writer.append(Batch(rows=[(link, make_row(second * 1000)) for second in range(5000)]))
    writer.close()
    content = bytearray(path.read_bytes())
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 4096] = os.urandom(4096)
    path.write_bytes(content)
    with pytest.raises(StoreDamagedError, match="is damaged"):
        open_writer(path)


def test_a_database_of_another_program_is_not_touched(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE song (title)")
    other.close()
    before = path.read_bytes()
    assert refusal(path) == (
        f"{path} is a database of another program, not a record of Strandkeeper\n"
        "  Set [store] path in the configuration to a file of its own."
    )
    assert path.read_bytes() == before


def test_a_reader_never_makes_the_file(path: Path) -> None:
    with pytest.raises(StoreError) as refused:
        open_reader(path)
    assert str(refused.value) == (
        f"there is no record at {path} yet\n  Start the daemon first: `strandkeeper run CONFIG`."
    )
    assert not path.exists()


@pytest.mark.parametrize(("folder_mode", "file_mode"), [(0o2770, 0o660), (0o700, 0o600)])
def test_the_file_is_as_open_as_its_directory(
    tmp_path: Path, folder_mode: int, file_mode: int
) -> None:
    tmp_path.chmod(folder_mode)
    before = os.umask(0o022)
    try:
        open_writer(tmp_path / "record.db").close()
    finally:
        os.umask(before)
    assert (tmp_path / "record.db").stat().st_mode & 0o777 == file_mode


def test_a_reader_cannot_write(path: Path) -> None:
    open_writer(path, reserve=False).close()
    reader = open_reader(path)
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader._connection.execute("DELETE FROM link")
    reader.close()


def test_every_commit_is_synced(path: Path) -> None:
    writer = open_writer(path, reserve=False)
    pragmas = [
        writer._connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
    ]
    writer.close()
    assert pragmas == ["wal", 2, 1, 5000]
