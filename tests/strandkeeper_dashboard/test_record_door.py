"""The door to the record: a file put in the place of another, while requests run."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from pathlib import Path
from urllib.request import urlopen

import invented_station as station
import pytest

from conftest import Served
from strandkeeper.errors import StoreError
from strandkeeper.store import open_writer
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door, RecordMissingError


def a_record(path: Path) -> None:
    open_writer(path, reserve=False).close()


def held_by_this_process(inode: int) -> bool:
    """Whether this process has that file open, as the kernel tells it."""
    found = set()
    for handle in Path("/proc/self/fd").iterdir():
        try:
            found.add(handle.stat().st_ino)
        except OSError:  # the handle of the directory itself, gone by now
            continue
    return inode in found


def test_the_replaced_file_is_closed_before_the_new_one_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, other = tmp_path / "record.db", tmp_path / "other.db"
    a_record(path)
    a_record(other)
    door = Door(path)
    door.lend()
    door.take_back()
    old = path.stat().st_ino
    assert held_by_this_process(old)
    held_when_opening = []
    opener = door.lend.__globals__["open_reader"]
    monkeypatch.setitem(
        door.lend.__globals__,
        "open_reader",
        lambda place: held_when_opening.append(held_by_this_process(old)) or opener(place),
    )
    os.replace(other, path)
    assert door.lend().path == path
    assert held_when_opening == [False]


def test_a_request_that_has_the_old_file_ends_with_it_and_the_next_one_waits(
    tmp_path: Path,
) -> None:
    path, other = tmp_path / "record.db", tmp_path / "other.db"
    a_record(path)
    a_record(other)
    door = Door(path, patience_s=30)
    before = door.lend()
    os.replace(other, path)
    after = []
    waiting = threading.Thread(target=lambda: after.append(door.lend()))
    waiting.start()
    assert before.links() == ()  # still whole
    assert not after
    door.take_back()
    waiting.join(30)
    assert after[0] is not before
    assert after[0].links() == ()


def test_a_request_that_never_ends_holds_the_others_up_only_so_long(tmp_path: Path) -> None:
    path, other = tmp_path / "record.db", tmp_path / "other.db"
    a_record(path)
    a_record(other)
    door = Door(path, patience_s=0.01)
    door.lend()
    os.replace(other, path)
    with pytest.raises(StoreError, match="replaced while it was being read") as told:
        door.lend()
    assert told.value.hint == "load the page again in some seconds"
    door.take_back()
    assert door.lend().links() == ()


def test_a_file_that_went_and_came_back_is_opened_anew(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    a_record(path)
    door = Door(path)
    first = door.lend()
    door.take_back()
    path.rename(tmp_path / "away.db")
    with pytest.raises(RecordMissingError):
        door.lend()
    a_record(path)
    assert door.lend() is not first


def test_pages_asked_for_at_once_while_the_record_is_replaced_all_answer(
    tmp_path: Path, serve: Callable[[object], Served]
) -> None:
    path = tmp_path / "record.db"
    station.write(path, hours=1, days=1)
    copies = [tmp_path / f"copy-{number}.db" for number in range(5)]
    for copy in copies:
        station.write(copy, hours=1, days=1)
    app = create_app(station.settings(path), Door(path), clock=lambda: station.NOW_MS)
    address = serve(app).address
    done = threading.Event()
    answers: list[int] = []

    def ask() -> None:
        while not done.is_set():
            with urlopen(f"{address}/about", timeout=30) as answer:
                answers.append(answer.status)

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for copy in copies:
        seen = len(answers) + 8
        os.replace(copy, path)
        while len(answers) < seen and any(thread.is_alive() for thread in threads):
            threading.Event().wait(0.01)
    done.set()
    for thread in threads:
        thread.join(30)
    assert len(answers) >= 40
    assert set(answers) == {200}
