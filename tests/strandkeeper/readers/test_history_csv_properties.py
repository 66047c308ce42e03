"""Whatever the rows, the text of them reads back as them; a difference never comes back wrong."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.errors import DecodeError
from strandkeeper.model.names import End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import (
    COUNTER_NAMES,
    AdminStatus,
    Deltas,
    EndRow,
    Media,
    OperStatus,
    OpticalReading,
)
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.history_csv import HistoryWriter, read_history

powers = st.one_of(
    st.just(NO_LIGHT),
    st.just(NOT_REPORTED),
    st.integers(-40_000, 10_000).map(lambda mdbm: Measured(Dbm(mdbm / 1000))),
)
optics = st.builds(
    OpticalReading,
    rx=powers.filter(lambda power: power != NOT_REPORTED),
    tx=powers,
    bias_ma=st.none() | st.integers(0, 131_000).map(lambda ua: ua / 1000),
    temp_c=st.none() | st.integers(-12_800, 12_800).map(lambda cc: cc / 100),
    vcc_v=st.none() | st.integers(0, 65_535).map(lambda steps: steps / 10_000),
)
counts = st.none() | st.integers(0, 5)
ticks = st.none() | st.integers(0, 2**32 - 1)
told = st.sampled_from([OperStatus.UP, OperStatus.DOWN, OperStatus.UNKNOWN])
rows = st.builds(
    EndRow,
    time_ms=st.just(0),
    end=st.sampled_from(End),
    optics=optics,
    oper=told,
    admin=st.none() | st.sampled_from(AdminStatus),
    uptime_cs=ticks,
    last_change_cs=ticks,
    media=st.none() | st.sampled_from(Media),
    module_id=st.none()
    | st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), min_size=1),
    deltas=st.builds(Deltas, **{name: counts for name in COUNTER_NAMES}),
) | st.sampled_from(End).map(lambda end: EndRow(time_ms=0, end=end, answered=False))


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(1, 200_000), rows), max_size=20))
def test_rows_written_and_read_are_the_same_and_no_count_is_made_up(
    steps: list[tuple[int, EndRow]],
) -> None:
    given_rows, now = [], 1_772_366_400_000
    for step, row in steps:
        now += step
        given_rows.append(replace(row, time_ms=now))
    writer = HistoryWriter()
    found = list(read_history([writer.header, *map(writer.line, given_rows)]))
    assert [replace(row, deltas=Deltas()) for row in found] == [
        replace(row, deltas=Deltas()) for row in given_rows
    ]
    for row, original in zip(found, given_rows, strict=True):
        for name in COUNTER_NAMES:
            assert getattr(row.deltas, name) in (None, getattr(original.deltas, name))


@settings(deadline=None)
@given(st.lists(st.integers(0, 50), min_size=1, max_size=30))
def test_a_history_without_gaps_comes_back_whole(counts_given: list[int]) -> None:
    given_rows = [
        EndRow(
            time_ms=n * 30_000,
            end=End.A,
            oper=OperStatus.UP,
            uptime_cs=n * 3000,
            deltas=Deltas(**dict.fromkeys(COUNTER_NAMES, count if n else None)),
        )
        for n, count in enumerate(counts_given)
    ]
    writer = HistoryWriter()
    found = list(read_history([writer.header, *map(writer.line, given_rows)]))
    assert [row.deltas for row in found] == [row.deltas for row in given_rows]


@settings(deadline=None)
@given(st.lists(st.text(), max_size=5))
def test_any_text_is_rows_or_the_one_documented_error(lines: list[str]) -> None:
    try:
        list(read_history([HistoryWriter().header, *lines]))
    except DecodeError:
        return
