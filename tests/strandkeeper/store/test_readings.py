"""Raw rows go in and come out as they were, to the resolution that the file keeps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import (
    AdminStatus,
    Deltas,
    EndRow,
    Media,
    OperStatus,
    OpticalReading,
)
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, RecordReader, RecordWriter
from strandkeeper.store.readings import decode_row, encode_row

MakeRow = Callable[..., EndRow]

powers = st.one_of(
    st.just(NO_LIGHT),
    st.just(NOT_REPORTED),
    st.integers(-40_000, 10_000).map(lambda mdbm: Measured(Dbm(mdbm / 1000))),
)
counts = st.none() | st.integers(0, 2**48 - 1)
optics = st.none() | st.builds(
    OpticalReading,
    rx=powers,
    tx=powers,
    bias_ma=st.none() | st.integers(0, 131_000).map(lambda ua: ua / 1000),
    temp_c=st.none() | st.integers(-12_800, 12_800).map(lambda cc: cc / 100),
    vcc_v=st.none() | st.integers(0, 65_535).map(lambda steps: steps / 10_000),
)
rows = st.builds(
    EndRow,
    time_ms=st.integers(0, 4_102_444_800_000),
    end=st.sampled_from(End),
    answered=st.booleans(),
    optics=optics,
    oper=st.none() | st.sampled_from(OperStatus),
    admin=st.none() | st.sampled_from(AdminStatus),
    uptime_cs=st.none() | st.integers(0, 2**32 - 1),
    last_change_cs=st.none() | st.integers(0, 2**32 - 1),
    media=st.none() | st.sampled_from(Media),
    module_id=st.none() | st.text(max_size=20),
    deltas=st.builds(
        Deltas,
        in_octets=counts,
        out_octets=counts,
        in_frames=counts,
        fcs_errors=counts,
        symbol_errors=counts,
    ),
)


@given(rows, st.integers(1, 32_767))
def test_any_row_survives_being_scaled_to_integers(row: EndRow, link_id: int) -> None:
    assert decode_row(encode_row(link_id * 2 + row.end, row, row.module_id)) == row


@settings(max_examples=40, deadline=None)
@given(st.lists(rows, min_size=1, max_size=12, unique_by=lambda row: (row.time_ms, row.end)))
def test_the_file_returns_rows_in_order_of_time(
    tmp_path_factory: pytest.TempPathFactory, given_rows: list[EndRow]
) -> None:
    from strandkeeper.store import open_reader, open_writer

    path = tmp_path_factory.mktemp("rows") / "record.db"
    writer, name = open_writer(path, reserve=False), LinkName("x")
    try:
        writer.append(Batch(rows=[(name, row) for row in given_rows]))
        reader = open_reader(path)
        found = list(reader.rows(name))
        reader.close()
    finally:
        writer.close()
    assert found == sorted(given_rows, key=lambda row: (row.time_ms, row.end))


@pytest.mark.parametrize(
    ("power", "kind", "mdbm"),
    [(Measured(Dbm(-40.0)), 0, -40_000), (NO_LIGHT, 1, None), (NOT_REPORTED, 2, None)],
)
def test_what_kind_of_power_it_is_stands_in_a_column_of_its_own(
    writer: RecordWriter,
    path: Path,
    make_row: MakeRow,
    link: LinkName,
    power: Power,
    kind: int,
    mdbm: int | None,
) -> None:
    import sqlite3

    writer.append(Batch(rows=[(link, make_row(1_000, rx=power))]))
    database = sqlite3.connect(path)
    assert database.execute("SELECT rx_kind, rx_mdbm FROM reading").fetchall() == [(kind, mdbm)]
    database.close()


def test_what_no_agent_can_have_measured_is_unknown_and_breaks_nothing(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName
) -> None:
    row = make_row(1_000, rx=Measured(Dbm(1e300)), temp_c=float("nan"))
    liar = replace(row, deltas=Deltas(in_octets=2**64 - 1, in_frames=5))
    assert writer.append(Batch(rows=[(link, liar)])).written
    (found,) = reader.rows(link)
    assert found.optics is not None
    assert (found.optics.rx, found.optics.temp_c) == (NOT_REPORTED, None)
    assert found.deltas == Deltas(in_frames=5)


def test_the_file_itself_refuses_a_measured_power_without_a_figure(
    writer: RecordWriter, path: Path
) -> None:
    import sqlite3

    database = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError):
        database.execute("INSERT INTO reading (id, answered, rx_kind, tx_kind) VALUES (1, 1, 0, 2)")
    database.close()


def test_the_same_rows_written_twice_are_there_once_and_counted(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName
) -> None:
    batch = Batch(rows=[(link, make_row(1_000, end)) for end in End])
    assert writer.append(batch).already_there == 0
    assert writer.append(batch).already_there == 2
    assert len(list(reader.rows(link))) == 2


def test_latest_finds_each_ends_newest_row_however_long_ago(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    old = make_row(t0 - 40 * 86_400_000, End.B)
    new = make_row(t0, End.A)
    writer.append(Batch(rows=[(link, old), (LinkName("other"), make_row(t0 - 5, End.B))]))
    writer.append(Batch(rows=[(link, new)]))
    assert reader.latest(link) == {End.A: new, End.B: old}
    assert reader.latest(LinkName("never heard of")) == {}


def test_latest_of_an_end_without_rows_does_not_search_those_of_others(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    """Counted in steps of SQLite's machine: ten days of other rows make it no longer."""
    others = [(link, make_row(t0 + n * 30_000)) for n in range(28_800)]

    def steps() -> int:
        counted = 0

        def count() -> int:
            nonlocal counted
            counted += 1
            return 0

        reader._connection.set_progress_handler(count, 100)
        assert set(reader.latest(link)) == {End.A}
        assert reader.latest(link, with_optics=True)
        reader._connection.set_progress_handler(None, 0)
        return counted

    writer.append(Batch(rows=others[:400]))
    few = steps()
    writer.append(Batch(rows=others[400:]))
    assert steps() <= few + 20


def test_latest_with_optics_passes_over_rows_that_say_nothing_of_them(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    with_optics = make_row(t0)
    without = replace(make_row(t0 + 10_000), optics=None)
    writer.append(Batch(rows=[(link, with_optics), (link, without)]))
    assert reader.latest(link) == {End.A: without}
    assert reader.latest(link, with_optics=True) == {End.A: with_optics}


def test_rows_come_in_chunks_and_none_is_missed_between_two(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName
) -> None:
    given_rows = [make_row(1_000 + number // 2, End(number % 2)) for number in range(12_001)]
    writer.append(Batch(rows=[(link, row) for row in given_rows]))
    assert list(reader.rows(link)) == given_rows
    assert list(reader.rows(link, 2_000, 2_010)) == given_rows[2_000:2_020]
