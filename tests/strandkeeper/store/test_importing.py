"""Rows from outside come in whole or not at all, and never over rows that are there."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from strandkeeper.errors import StoreError
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.settings import Retention
from strandkeeper.model.verdict import Event, EventKind
from strandkeeper.store import Batch, RecordReader, RecordWriter, open_reader, open_writer
from strandkeeper.store.rollups import COLUMNS

MakeRow = Callable[..., EndRow]
DAY_MS = 86_400_000


def bring_in(
    writer: RecordWriter, link: LinkName, rows: list[EndRow], made: Batch | None = None
) -> bool:
    bringing = writer.begin_import(link)
    for start in range(0, len(rows), 700):
        bringing.add(rows[start : start + 700])
    return bringing.finish(made or Batch()).newest


@pytest.fixture
def history(make_row: MakeRow, t0: int) -> list[EndRow]:
    """Three hours and ten minutes of both ends, a module changed on the way."""
    return [
        make_row(t0 + n * 30_000, end, module_id="SN 1" if n < 100 else "SN 2")
        for n in range(380)
        for end in End
    ]


def table(path: Path, name: str) -> list[tuple[object, ...]]:
    database = sqlite3.connect(path)
    rows = database.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall()
    database.close()
    return rows


def test_an_import_leaves_the_same_file_as_living_through_it(
    writer: RecordWriter, path: Path, history: list[EndRow], link: LinkName, tmp_path: Path
) -> None:
    bring_in(writer, link, history)
    lived_path = tmp_path / "lived.db"
    lived = open_writer(lived_path, reserve=False)
    for start in range(0, len(history), 4):
        lived.append(Batch(rows=[(link, row) for row in history[start : start + 4]]))
    lived.close()
    for name in ("reading", "module", "link"):
        assert table(path, name) == table(lived_path, name)
    for name in ("five_minutes", "hours"):  # an import sums up the open periods as well
        closed = table(lived_path, name)
        assert set(closed) <= set(table(path, name))
        assert len(closed) >= 6


def test_what_an_import_left_open_is_summed_up_by_what_follows(
    writer: RecordWriter, path: Path, history: list[EndRow], make_row: MakeRow, link: LinkName
) -> None:
    bring_in(writer, link, history)
    last = history[-1].time_ms
    writer.append(Batch(rows=[(link, make_row(last + n * 30_000)) for n in range(1, 400)]))
    # The file ends at 03:09:30, the rows after it at 06:29:00; the hours to 06:00 are closed. From
    # 03:10:00 to 05:59:30 there are 340 rows.
    total = COLUMNS.index("n") + 1
    assert sum(row[total] for row in table(path, "hours")) == len(history) + 340  # type: ignore[misc]


def test_over_rows_that_are_there_nothing_comes_in(
    writer: RecordWriter, reader: RecordReader, history: list[EndRow], link: LinkName, t0: int
) -> None:
    bring_in(writer, link, history[100:200])
    events = [Event(time_ms=1, link=link, kind=EventKind.LINK_UP)]
    with pytest.raises(StoreError) as refused:
        bring_in(writer, link, history, Batch(events=events))
    assert str(refused.value) == (
        "the record already has rows of link 'Lab to pump house' at 2026-11-18T00:25:00Z, within "
        "the time of the file (2026-11-18T00:00:00Z to 2026-11-18T03:09:30Z)\n"
        "  Nothing was brought in. Leave out of the file what the record has already."
    )
    assert list(reader.rows(link)) == history[100:200]
    assert reader.events() == []


def test_another_link_in_that_time_is_no_hindrance(
    writer: RecordWriter, reader: RecordReader, history: list[EndRow], link: LinkName
) -> None:
    bring_in(writer, link, history)
    bring_in(writer, LinkName("other"), history)
    assert list(reader.rows(LinkName("other"))) == list(reader.rows(link)) == history


def test_time_whose_raw_rows_are_gone_is_taken_as_well(
    writer: RecordWriter, history: list[EndRow], link: LinkName, make_row: MakeRow, t0: int
) -> None:
    bring_in(writer, link, history)
    writer.append(Batch(rows=[(LinkName("other"), make_row(t0 + 10 * DAY_MS))]))
    short = Retention(raw_days=1, five_minutes_days=5)
    while writer.expire(t0 + 10 * DAY_MS, short, trusted=True):
        pass
    with pytest.raises(StoreError, match="already has rows"):
        bring_in(writer, link, [make_row(t0 + 3_601_000)])
    bring_in(writer, link, [make_row(t0 - 3_601_000)])


def test_before_what_is_there_the_state_and_verdict_stay(
    writer: RecordWriter, reader: RecordReader, history: list[EndRow], link: LinkName
) -> None:
    writer.append(
        Batch(rows=[(link, row) for row in history[400:]], states={link: b"of the newer rows"})
    )
    events = [Event(time_ms=5, link=link, kind=EventKind.LINK_UP)]
    made = Batch(states={link: b"of the file"}, events=events)
    assert bring_in(writer, link, history[:400], made) is False
    assert reader.state(link) == b"of the newer rows"
    assert reader.events() == events


def test_after_what_is_there_the_state_goes_on(
    writer: RecordWriter, reader: RecordReader, history: list[EndRow], link: LinkName
) -> None:
    bring_in(writer, link, history[:400], Batch(states={link: b"a"}))
    assert bring_in(writer, link, history[400:], Batch(states={link: b"b"})) is True
    assert (reader.state(link), reader.state_through(link)) == (b"b", history[-1].time_ms)


def test_an_import_that_is_given_up_leaves_no_trace(
    writer: RecordWriter, reader: RecordReader, history: list[EndRow], link: LinkName
) -> None:
    bringing = writer.begin_import(link)
    bringing.add(history)
    bringing.abandon()
    assert reader.links() == ()
    bring_in(writer, link, history)


def test_rows_out_of_order_are_refused(
    writer: RecordWriter, history: list[EndRow], link: LinkName
) -> None:
    bringing = writer.begin_import(link)
    bringing.add(history[10:20])
    with pytest.raises(ValueError, match="in order of time"):
        bringing.add(history[:5])
    bringing.abandon()


def test_the_daemon_goes_on_writing_while_a_file_is_read(
    path: Path, writer: RecordWriter, history: list[EndRow], make_row: MakeRow, link: LinkName
) -> None:
    """Two writers on one file: rows are staged without a lock until the final copy."""
    importer = open_writer(path, reserve=False)
    bringing = importer.begin_import(link)
    bringing.add(history)
    writer._connection.execute("PRAGMA busy_timeout = 1")
    assert writer.append(Batch(rows=[(LinkName("live"), make_row(history[-1].time_ms))])).written
    assert bringing.finish(Batch()).rows == len(history)
    importer.close()
    assert writer.append(Batch(rows=[(link, make_row(history[-1].time_ms + 1))])).written
    reader = open_reader(path)
    assert reader.links() == ("live", link)
    reader.close()


def test_rows_of_another_link_in_the_same_time_are_summed_up_too(
    writer: RecordWriter, path: Path, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    """The daemon stopped at 00:03; the file brought in goes on to 03:10."""
    live = LinkName("live")
    writer.append(Batch(rows=[(live, make_row(t0 + n * 30_000)) for n in range(7)]))
    bring_in(writer, link, [make_row(t0 + n * 30_000) for n in range(380)])
    writer.append(Batch(rows=[(link, make_row(t0 + 5 * 3_600_000))]))
    total = COLUMNS.index("n") + 1
    per_link = [row[total] for row in table(path, "hours")]
    assert sorted(per_link) == [7, 20, 120, 120, 120]
