"""Summaries: what they say is what plain arithmetic over the rows says, whichever way they came."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.keys import END_SLOTS
from strandkeeper.store.rollups import COLUMNS, HOUR_KEY, HOUR_MS, raw_summary_sql

LINK = LinkName("x")
T0 = 1_794_960_000_000  # on the hour
SPAN_MS = 3 * HOUR_MS

powers = st.one_of(
    st.just(NO_LIGHT),
    st.just(NOT_REPORTED),
    st.integers(-40_000, 5_000).map(lambda mdbm: Measured(Dbm(mdbm / 1000))),
)
rows = st.builds(
    EndRow,
    time_ms=st.integers(T0, T0 + SPAN_MS - 1),
    end=st.sampled_from(End),
    answered=st.just(True),
    optics=st.none()
    | st.builds(
        OpticalReading,
        rx=powers,
        tx=powers,
        bias_ma=st.none() | st.integers(0, 100_000).map(lambda ua: ua / 1000),
        temp_c=st.none() | st.integers(-4_000, 9_000).map(lambda cc: cc / 100),
        vcc_v=st.none() | st.integers(30_000, 36_000).map(lambda steps: steps / 10_000),
    ),
    oper=st.none() | st.sampled_from(OperStatus),
    uptime_cs=st.none() | st.integers(0, 2**32 - 1),
    deltas=st.builds(
        Deltas,
        in_octets=st.none() | st.integers(0, 10**12),
        fcs_errors=st.none() | st.integers(0, 100),
    ),
)
histories = st.lists(
    st.one_of(rows, rows.map(lambda r: EndRow(time_ms=r.time_ms, end=r.end, answered=False))),
    min_size=1,
    max_size=60,
    unique_by=lambda row: (row.time_ms, row.end),
).map(lambda found: sorted(found, key=lambda row: (row.time_ms, row.end)))


@contextmanager
def recorded(folder: Path, history: list[EndRow], batch: int) -> Iterator[sqlite3.Connection]:
    """The rows written in batches, then one row much later that closes every period."""
    writer = open_writer(folder / "record.db", reserve=False)
    last = EndRow(time_ms=T0 + SPAN_MS + HOUR_MS, end=End.A, answered=False)
    try:
        for start in range(0, len(history), batch):
            writer.append(Batch(rows=[(LINK, row) for row in history[start : start + batch]]))
        writer.append(Batch(rows=[(LINK, last)]))
    finally:
        writer.close()
    database = sqlite3.connect(folder / "record.db")
    yield database
    database.close()


def hours(database: sqlite3.Connection) -> dict[tuple[int, int], tuple[int | None, ...]]:
    found = database.execute(
        f"SELECT id / {HOUR_KEY} & 1, id % {HOUR_KEY} * {HOUR_MS}, {', '.join(COLUMNS)} FROM hours"
    )
    return {(end, start): tuple(cells) for end, start, *cells in found}


def five_minutes(database: sqlite3.Connection) -> dict[tuple[int, int], dict[str, int | None]]:
    found = database.execute(f"SELECT id, {', '.join(COLUMNS)} FROM five_minutes")
    return {
        (key & 1, key // END_SLOTS): dict(zip(COLUMNS, cells, strict=True)) for key, *cells in found
    }


@settings(max_examples=60, deadline=None)
@given(histories, st.integers(1, 7))
def test_a_summary_of_summaries_is_the_summary_of_the_rows(
    tmp_path_factory: pytest.TempPathFactory, history: list[EndRow], batch: int
) -> None:
    with recorded(tmp_path_factory.mktemp("r"), history, batch) as database:
        at_once = database.execute(
            raw_summary_sql(HOUR_MS),
            {"from_ms": T0, "to_ms": T0 + SPAN_MS, "gap_ms": 90_000},
        ).fetchall()
        expected = {(key & 1, key // END_SLOTS): tuple(cells) for key, *cells in at_once}
        assert hours(database) == expected


@settings(max_examples=60, deadline=None)
@given(histories, st.integers(1, 7))
def test_five_minutes_are_what_plain_arithmetic_makes_of_the_rows(
    tmp_path_factory: pytest.TempPathFactory, history: list[EndRow], batch: int
) -> None:
    with recorded(tmp_path_factory.mktemp("r"), history, batch) as database:
        found = five_minutes(database)
    assert found == by_hand(history)


def by_hand(history: list[EndRow]) -> dict[tuple[int, int], dict[str, int | None]]:
    """The same in plain Python, from the rows themselves and not from the file."""
    groups: dict[tuple[int, int], list[tuple[EndRow, int]]] = {}
    before: dict[End, int] = {}
    for row in history:
        since = row.time_ms - before.get(row.end, -(10**15))
        before[row.end] = row.time_ms
        start = row.time_ms - row.time_ms % 300_000
        groups.setdefault((int(row.end), start), []).append((row, since if since <= 90_000 else 0))
    return {key: summary(group) for key, group in groups.items()}


def summary(group: list[tuple[EndRow, int]]) -> dict[str, int | None]:
    rows = [row for row, _since in group]
    made: dict[str, int | None] = {"n": len(rows), "silent": sum(not r.answered for r in rows)}
    seen = [row.optics for row in rows if row.optics is not None]
    for name in ("rx", "tx"):
        given_powers = [getattr(optics, name) for optics in seen]
        figures = [round(p.power.value * 1000) for p in given_powers if isinstance(p, Measured)]
        made |= spread(name, "mdbm", figures)
        made[f"{name}_no_light"] = sum(power == NO_LIGHT for power in given_powers)
        made[f"{name}_not_reported"] = sum(power == NOT_REPORTED for power in given_powers)
    for name, field, unit, factor in (
        ("bias", "bias_ma", "ua", 1000),
        ("temp", "temp_c", "cc", 100),
        ("vcc", "vcc_v", "100uv", 10_000),
    ):
        values = [getattr(optics, field) for optics in seen]
        made |= spread(name, unit, [round(v * factor) for v in values if v is not None])
    for counter in ("in_octets", "out_octets", "in_frames", "fcs_errors", "symbol_errors"):
        counts = [getattr(row.deltas, counter) for row in rows]
        known = [count for count in counts if count is not None]
        made[counter] = sum(known) if known else None
        made[f"{counter}_unknown"] = sum(
            row.answered and count is None for row, count in zip(rows, counts, strict=True)
        )
    made["watched_ms"] = sum(s for r, s in group if r.oper not in (None, OperStatus.UNKNOWN))
    made["down_ms"] = sum(
        s for r, s in group if r.oper not in (None, OperStatus.UNKNOWN, OperStatus.UP)
    )
    made["uptime_max_cs"] = max(
        (r.uptime_cs for r in rows if r.uptime_cs is not None), default=None
    )
    return made


def spread(name: str, unit: str, figures: list[int]) -> dict[str, int | None]:
    return {
        f"{name}_n": len(figures),
        f"{name}_min_{unit}": min(figures, default=None),
        f"{name}_max_{unit}": max(figures, default=None),
        f"{name}_sum_{unit}": sum(figures) if figures else None,
    }


def test_a_mean_of_powers_is_taken_in_db(tmp_path: Path) -> None:
    """-3 and -7 dBm average to -5.00 in dB, to -4.55 through mW; the record keeps the former."""
    pair = [
        EndRow(time_ms=T0 + at, end=End.A, optics=OpticalReading(rx=Measured(Dbm(power))))
        for at, power in ((0, -3.0), (30_000, -7.0))
    ]
    with recorded(tmp_path, pair, 1) as database:
        made = five_minutes(database)[0, T0]
    assert made["rx_sum_mdbm"] == -10_000
    assert made["rx_n"] == 2


def test_a_row_that_comes_late_has_its_period_made_again(tmp_path: Path) -> None:
    early = EndRow(time_ms=T0 + 1_000, end=End.A, optics=OpticalReading(rx=Measured(Dbm(-8.0))))
    later = EndRow(time_ms=T0 + 3 * HOUR_MS, end=End.A, answered=False)
    late = replace(early, time_ms=T0 + 2_000, optics=OpticalReading(rx=NO_LIGHT))
    with recorded(tmp_path, [early, later, late], 1) as database:
        made = five_minutes(database)[0, T0]
        hour = dict(zip(COLUMNS, hours(database)[0, T0], strict=True))
    assert (made["n"], made["rx_n"], made["rx_no_light"]) == (2, 1, 1)
    assert (hour["n"], hour["rx_n"], hour["rx_no_light"]) == (2, 1, 1)


def test_seconds_down_count_between_polls_but_not_over_a_silence(tmp_path: Path) -> None:
    """Polls at 0, 30, 60 s; down in the last two: 60 s of it. Then nothing for 10 min: nobody's."""
    states = [
        (0, OperStatus.UP),
        (30_000, OperStatus.DOWN),
        (60_000, OperStatus.DOWN),
        (660_000, OperStatus.DOWN),
    ]
    history = [EndRow(time_ms=T0 + at, end=End.A, oper=oper) for at, oper in states]
    with recorded(tmp_path, history, 4) as database:
        hour = dict(zip(COLUMNS, hours(database)[0, T0], strict=True))
    assert (hour["down_ms"], hour["watched_ms"]) == (60_000, 60_000)
