"""Backups while it is written, and back again: every way it can go wrong, with real files."""

from __future__ import annotations

import contextlib
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from stat import S_IMODE

import pytest

from strandkeeper.errors import StoreDamagedError, StoreError, StoreTooNewError
from strandkeeper.model.names import LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.store import Batch, RecordWriter, open_reader, open_writer
from strandkeeper.store.backup import copy_record
from strandkeeper.store.restore import restore_record

MakeRow = Callable[..., EndRow]
STEP_MS = 30_000
HOLD = (
    "import sys,strandkeeper.store as s; r=s.open_{side}(sys.argv[1]); {more}; "
    "print(1, flush=True); sys.stdin.read()"
)


@pytest.fixture
def fill(link: LinkName, t0: int, make_row: MakeRow) -> Callable[[Path, int], None]:
    """Write `count` rows to a record and close it."""

    def write(path: Path, count: int) -> None:
        with contextlib.closing(open_writer(path, reserve=False)) as writer:
            rows = [(link, make_row(t0 + n * STEP_MS)) for n in range(count)]
            writer.append(Batch(rows=rows))

    return write


def newest(path: Path) -> int | None:
    with contextlib.closing(open_reader(path)) as reader:
        return reader.info().newest_ms


def spoil(path: Path) -> None:
    """Overwrite a page in the middle, as a failing card does."""
    raw = bytearray(path.read_bytes())
    middle = len(raw) // 2 // 4096 * 4096
    raw[middle : middle + 4096] = b"\xa5" * 4096
    path.write_bytes(raw)


def test_what_was_backed_up_comes_back(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], t0: int
) -> None:
    fill(path, 10)
    copy_record(path, tmp_path / "copy.db")
    fill(path, 20)
    restored = restore_record(path, tmp_path / "copy.db")
    assert newest(path) == t0 + 9 * STEP_MS
    assert restored.kept is not None
    assert newest(restored.kept) == t0 + 19 * STEP_MS, "what was there before is kept whole"


def test_batches_still_in_the_log_are_kept_with_the_old_record(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], t0: int
) -> None:
    """A killed daemon leaves its newest batches in the log beside the file."""
    fill(path, 10)
    copy_record(path, tmp_path / "copy.db")
    script = (
        "import os,sqlite3,sys; c=sqlite3.connect(sys.argv[1]); "
        "c.execute(\"INSERT INTO meta VALUES('left','in the log')\"); c.commit(); os._exit(9)"
    )
    subprocess.run([sys.executable, "-c", script, str(path)], check=False)
    assert path.with_name(path.name + "-wal").stat().st_size > 0
    kept = restore_record(path, tmp_path / "copy.db").kept
    assert kept is not None
    with contextlib.closing(sqlite3.connect(kept)) as old:
        assert old.execute("SELECT count(*) FROM meta WHERE key='left'").fetchone()[0] == 1
    with contextlib.closing(sqlite3.connect(path)) as new:
        assert new.execute("SELECT count(*) FROM meta WHERE key='left'").fetchone()[0] == 0


def test_a_backup_taken_amid_writing_is_sound_and_writing_is_not_held_up(
    path: Path, tmp_path: Path, writer: RecordWriter, link: LinkName, t0: int, make_row: MakeRow
) -> None:
    writer.append(Batch(rows=[(link, make_row(t0 + n * STEP_MS)) for n in range(20_000)]))
    stop, written = threading.Event(), []

    def write() -> None:
        number = 20_000
        while not stop.is_set():
            outcome = writer.append(Batch(rows=[(link, make_row(t0 + number * STEP_MS))]))
            written.append(outcome.written)
            number += 1

    thread = threading.Thread(target=write)
    thread.start()
    steps: list[tuple[int, int]] = []
    try:
        copy_record(path, tmp_path / "copy.db", lambda done, total: steps.append((done, total)))
    finally:
        stop.set()
        thread.join()
    assert written
    assert all(written)
    assert newest(tmp_path / "copy.db") is not None
    assert [done for done, _ in steps] == sorted({done for done, _ in steps}), "begun once only"


def test_a_backup_is_for_its_owner_alone_and_leaves_nothing_half_done(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None]
) -> None:
    fill(path, 1)
    place = tmp_path / "kept"
    place.mkdir()
    copy_record(path, place / "copy.db")
    assert S_IMODE((place / "copy.db").stat().st_mode) == 0o600
    assert [p.name for p in place.iterdir()] == ["copy.db"]


def test_a_damaged_record_gives_no_backup(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None]
) -> None:
    fill(path, 3000)
    spoil(path)
    with pytest.raises(StoreDamagedError, match="damaged"):
        copy_record(path, tmp_path / "copy.db")
    assert [p.name for p in tmp_path.glob("*copy*")] == [] == [*tmp_path.glob(".*copy*")]


@pytest.mark.parametrize("cut", [0, 100, 4096, 5000])
def test_a_backup_cut_short_is_refused(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], cut: int, t0: int
) -> None:
    fill(path, 500)
    copy_record(path, tmp_path / "copy.db")
    short = tmp_path / "short.db"
    short.write_bytes((tmp_path / "copy.db").read_bytes()[:cut])
    with pytest.raises(StoreDamagedError, match=r"short\.db is damaged") as caught:
        restore_record(path, short)
    assert "take an older one" in caught.value.hint
    assert newest(path) == t0 + 499 * STEP_MS, "the record is as it was"


def test_a_damaged_backup_is_refused(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], t0: int
) -> None:
    fill(path, 3000)
    copy_record(path, tmp_path / "copy.db")
    spoil(tmp_path / "copy.db")
    with pytest.raises(StoreDamagedError, match=r"copy\.db is damaged"):
        restore_record(path, tmp_path / "copy.db")
    assert newest(path) == t0 + 2999 * STEP_MS


def test_a_damaged_record_is_replaced_and_kept(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], t0: int
) -> None:
    fill(path, 10)
    copy_record(path, tmp_path / "copy.db")
    path.write_bytes(b"no database at all")
    kept = restore_record(path, tmp_path / "copy.db").kept
    assert kept is not None
    assert kept.read_bytes() == b"no database at all"
    assert newest(path) == t0 + 9 * STEP_MS


def test_a_lost_record_is_brought_back_and_a_log_left_behind_is_not_mixed_in(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], t0: int
) -> None:
    fill(path, 10)
    copy_record(path, tmp_path / "copy.db")
    path.unlink()
    path.with_name(path.name + "-wal").write_bytes(b"\x37\x7f\x06\x82" + bytes(5000))
    assert restore_record(path, tmp_path / "copy.db").kept is None
    assert newest(path) == t0 + 9 * STEP_MS


def test_a_newer_backup_is_refused(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None]
) -> None:
    fill(path, 1)
    copy_record(path, tmp_path / "copy.db")
    with contextlib.closing(sqlite3.connect(tmp_path / "copy.db")) as later:
        later.execute("PRAGMA user_version = 9000")
    with pytest.raises(StoreTooNewError, match="format is 9000") as caught:
        restore_record(path, tmp_path / "copy.db")
    assert "Install the release that wrote it" in caught.value.hint


def test_a_backup_of_the_first_release_is_brought_back_and_upgraded(
    path: Path, tmp_path: Path
) -> None:
    old = Path(__file__).parents[2] / "data" / "databases" / "release_1.db"
    copy = tmp_path / "old.db"
    copy.write_bytes(old.read_bytes())
    assert restore_record(path, copy).info is None
    open_writer(path, reserve=False).close()
    assert newest(path) is not None


def test_another_programs_database_is_refused(path: Path, tmp_path: Path) -> None:
    with contextlib.closing(sqlite3.connect(tmp_path / "other.db")) as other:
        other.execute("CREATE TABLE t (x)")
    with pytest.raises(StoreError, match="another program"):
        restore_record(path, tmp_path / "other.db")
    assert not path.exists()


@pytest.mark.parametrize(
    ("side", "more"), [("writer", "0"), ("reader", "r.info()")], ids=["daemon", "dashboard"]
)
def test_it_refuses_while_anyone_has_the_record_open(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None], side: str, more: str
) -> None:
    fill(path, 2)
    copy_record(path, tmp_path / "copy.db")
    script = HOLD.format(side=side, more=more)
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as holder:
        assert holder.stdout is not None
        holder.stdout.readline()
        with pytest.raises(StoreError, match="is in use") as caught:
            restore_record(path, tmp_path / "copy.db")
        assert "systemctl stop" in caught.value.hint
        holder.communicate(b"")
    restore_record(path, tmp_path / "copy.db")


def test_the_owner_and_mode_of_the_old_record_are_kept(
    path: Path, tmp_path: Path, fill: Callable[[Path, int], None]
) -> None:
    fill(path, 1)
    copy_record(path, tmp_path / "copy.db")
    path.chmod(0o660)
    restore_record(path, tmp_path / "copy.db")
    assert S_IMODE(path.stat().st_mode) == 0o660


def test_the_record_itself_is_no_backup_of_it(
    path: Path, fill: Callable[[Path, int], None]
) -> None:
    fill(path, 1)
    with pytest.raises(StoreError, match="is the record itself"):
        restore_record(path, path)
