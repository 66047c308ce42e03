"""The page about this installation: backups, checks, and whether signs of life arrive."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest

from strandkeeper.config.users import UserBook, users_path, with_token, write_users
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.telling import Heartbeat
from strandkeeper.store import open_reader, open_writer
from strandkeeper.store.care import Beat
from strandkeeper.store.telling import TellingBatch
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

HOUR_MS = 3_600_000


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "strandkeeper.db"
    open_writer(place, reserve=False).close()
    return place


def beaten(path: Path, *beats: Beat) -> None:
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    for beat in beats:
        telling.write(TellingBatch(beat=beat))
    writer.close()


def said(path: Path) -> str:
    """The words of the page; a sign of life is due every hour."""
    chosen = station.settings(path)
    telling = replace(chosen.telling, heartbeat=Heartbeat(every_s=3600, target="phone"))
    app = create_app(replace(chosen, telling=telling), Door(path), clock=lambda: station.NOW_MS)
    page = app.test_client().get("/about").get_data(as_text=True)
    text = html.unescape(re.sub(r"<[^>]+>", " ", page.replace("<wbr>", "")))
    return re.sub(r" ([:,])", r"\1", " ".join(text.split()))


def test_before_the_first_sign_of_life_none_is_claimed(path: Path) -> None:
    page = said(path)
    assert "Sent every 1 hour to the target phone" in page
    assert "Arrived last none was sent yet" in page
    assert "Refused last never" in page


def test_a_sign_of_life_that_arrived_is_told_with_its_age(path: Path) -> None:
    beaten(path, Beat(at_ms=station.NOW_MS - HOUR_MS // 2))
    page = said(path)
    assert "Arrived last 30 minutes ago" in page
    assert "not lately" not in page


def test_a_refusal_after_the_last_arrival_stands_out_with_its_reason(path: Path) -> None:
    beaten(
        path,
        Beat(at_ms=station.NOW_MS - HOUR_MS),
        Beat(at_ms=station.NOW_MS - 60_000, why="HTTP Error 503: <busy>"),
    )
    page = said(path)
    assert "Arrived last not lately: 1 hour ago" in page
    assert "Refused last 1 minute ago: HTTP Error 503: <busy>" in page


def test_an_old_refusal_before_a_new_arrival_is_no_alarm(path: Path) -> None:
    beaten(
        path,
        Beat(at_ms=station.NOW_MS - 9 * HOUR_MS, why="no network"),
        Beat(at_ms=station.NOW_MS - 60_000),
    )
    page = said(path)
    assert "not lately" not in page
    assert "Refused last 9 hours ago: no network" in page


def test_silence_for_two_spans_stands_out_though_nothing_was_refused(path: Path) -> None:
    beaten(path, Beat(at_ms=station.NOW_MS - 2 * HOUR_MS - 1000))
    assert "Arrived last not lately: 2 hours ago" in said(path)


def test_only_refusals_so_far_say_never(path: Path) -> None:
    beaten(path, Beat(at_ms=station.NOW_MS - 60_000, why="no network"))
    assert "Arrived last never" in said(path)


def test_the_last_backup_is_named_and_before_it_how_to_make_one(path: Path) -> None:
    assert "Last backup none yet; make one with strandkeeper backup" in said(path)
    reader = open_reader(path)
    for name, ago_h in (("old.db", 50), ("tern-2026-11-24.db", 26)):
        entry = Entry(
            kind=EntryKind.BACKUP, who="backup", payload={"file": name, "bytes": 3_400_000}
        )
        reader.append_entry(entry, at_ms=station.NOW_MS - ago_h * HOUR_MS)
    reader.close()
    page = said(path)
    assert "Last backup 1 day 2 hours ago: tern-2026-11-24.db, 3.4 MB" in page
    assert "Checked whole with that backup; it was sound" in page
    assert "Checked at each start yes" in page


def test_scripts_with_a_token_are_named(path: Path) -> None:
    assert "Scripts with a token none" in said(path)
    book, token = with_token(UserBook(), "tide gauge")
    write_users(users_path(path), book)
    page = said(path)
    assert "Scripts with a token tide gauge" in page
    assert token not in page
