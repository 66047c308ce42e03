"""Charts are drawn from the tier that fits, and every tier tells the same story."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, RecordReader, RecordWriter
from strandkeeper.store.series import Series, Tier, tier_for

MakeRow = Callable[..., EndRow]
HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS


@pytest.mark.parametrize(
    ("length_ms", "kept", "tier"),
    [
        (1, True, Tier.RAW),
        (2 * HOUR_MS, True, Tier.RAW),
        (2 * HOUR_MS + 1, True, Tier.FIVE_MINUTES),
        (15 * DAY_MS, True, Tier.FIVE_MINUTES),
        (15 * DAY_MS + 1, True, Tier.HOURS),
        (3 * HOUR_MS, False, Tier.HOURS),
        (365 * DAY_MS, True, Tier.HOURS),
    ],
)
def test_over_two_hours_only_summaries_are_read(length_ms: int, kept: bool, tier: Tier) -> None:
    assert tier_for(0, length_ms, five_minutes_from_ms=0 if kept else None) is tier


@pytest.fixture
def days(writer: RecordWriter, make_row: MakeRow, link: LinkName, t0: int) -> int:
    """Twenty days of end A, a row each 5 min: -8 dBm, -9 dBm in the fourth hour of each day."""
    rows = []
    for number in range(20 * 288):
        at = t0 + number * 300_000
        power = -9.0 if (at - t0) // HOUR_MS % 24 == 3 else -8.0
        rows.append((link, make_row(at, rx=Measured(Dbm(power)))))
        rows.append((LinkName("another"), make_row(at, rx=NO_LIGHT)))
    writer.append(Batch(rows=rows))
    writer.append(Batch(rows=[(link, make_row(t0 + 20 * DAY_MS))]))
    return t0


def columns_are_equally_long(series: Series) -> bool:
    lists = [
        value for value in (getattr(series, f) for f in series.__slots__) if type(value) is list
    ]
    return {len(value) for value in lists} == {len(series)}


def test_raw_rows_are_points_without_length(
    days: int, reader: RecordReader, link: LinkName
) -> None:
    series = reader.series(link, End.A, days + 3 * HOUR_MS, days + 5 * HOUR_MS)
    assert (series.tier, series.span_ms, len(series)) == (Tier.RAW, 0, 24)
    assert series.start_ms[0] == days + 3 * HOUR_MS
    assert series.rx_mean_mdbm == [-9000] * 12 + [-8000] * 12
    assert columns_are_equally_long(series)


def test_a_day_is_read_from_five_minutes_and_joined_to_the_points_asked_for(
    days: int, reader: RecordReader, link: LinkName
) -> None:
    series = reader.series(link, End.A, days, days + DAY_MS, max_points=24)
    assert (series.tier, series.span_ms, len(series)) == (Tier.FIVE_MINUTES, HOUR_MS, 24)
    assert series.rx_mean_mdbm == [-8000] * 3 + [-9000] + [-8000] * 20
    assert series.n == [12] * 24
    assert series.errors == [0] * 24
    assert columns_are_equally_long(series)


def test_twenty_days_are_read_from_hours_and_keep_least_and_greatest(
    days: int, reader: RecordReader, link: LinkName
) -> None:
    series = reader.series(link, End.A, days, days + 20 * DAY_MS, max_points=20)
    assert (series.tier, series.span_ms, len(series)) == (Tier.HOURS, DAY_MS, 20)
    assert series.rx_min_mdbm == [-9000] * 20
    assert series.rx_max_mdbm == [-8000] * 20
    # 23 hours at -8 dBm and one at -9 dBm: a mean in dB of -8.0417 dBm
    assert series.rx_mean_mdbm == [round(-(23 * 8000 + 9000) / 24)] * 20
    assert series.errors == [0] * 20


def test_another_link_in_the_same_periods_is_not_mixed_in(
    days: int, reader: RecordReader, link: LinkName
) -> None:
    for length in (HOUR_MS, DAY_MS, 20 * DAY_MS):
        mine = reader.series(link, End.A, days, days + length)
        other = reader.series(LinkName("another"), End.A, days, days + length)
        assert sum(mine.rx_no_light) == 0
        assert other.rx_mean_mdbm == [None] * len(other)
        assert sum(other.rx_no_light) == sum(other.n)
        assert len(reader.series(link, End.B, days, days + length)) == 0


def test_a_dark_point_is_a_gap_and_a_count_never_a_figure(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    writer.append(
        Batch(rows=[(link, make_row(t0, rx=NO_LIGHT, oper=OperStatus.DOWN, fcs_errors=None))])
    )
    series = reader.series(link, End.A, t0, t0 + HOUR_MS)
    assert (series.rx_min_mdbm, series.rx_mean_mdbm, series.rx_no_light) == ([None], [None], [1])
    assert series.errors == [None]


@pytest.mark.parametrize("length_ms", [HOUR_MS, DAY_MS, 400 * DAY_MS])
def test_a_link_that_the_record_never_heard_of_has_an_empty_series(
    reader: RecordReader, length_ms: int
) -> None:
    series = reader.series(LinkName("nowhere"), End.A, 0, length_ms)
    assert len(series) == 0
    assert columns_are_equally_long(series)


@pytest.mark.parametrize("points", [1, 7, 100, 5000])
def test_no_more_points_than_asked_for(
    days: int, reader: RecordReader, link: LinkName, points: int
) -> None:
    for length in (DAY_MS, 20 * DAY_MS):
        series = reader.series(link, End.A, days + 1, days + length, max_points=points)
        assert len(series) <= points + 1
        assert math.gcd(series.span_ms, 300_000) == 300_000
        assert all(start % series.span_ms == 0 for start in series.start_ms)


@pytest.mark.parametrize("length_ms", [HOUR_MS, DAY_MS, 20 * DAY_MS])
@pytest.mark.parametrize("last", [0, 1, 9, 10, 119, 120, 130, 365])
def test_every_range_ends_with_the_newest_row_and_counts_none_twice(
    writer: RecordWriter,
    reader: RecordReader,
    make_row: MakeRow,
    link: LinkName,
    t0: int,
    length_ms: int,
    last: int,
) -> None:
    """Rows each 30 s, the newest anywhere in its hour and its five minutes."""
    start = t0 + 10 * DAY_MS + 7_000
    for number in range(last + 1):
        at = start + number * 30_000
        batch = [(link, make_row(at, end, oper=OperStatus.DOWN)) for end in End]
        writer.append(Batch(rows=batch))
    newest = start + last * 30_000
    series = reader.series(link, End.B, newest + 1 - length_ms, newest + 1)
    expected = min(last + 1, length_ms // 30_000)
    if length_ms == HOUR_MS:
        assert series.start_ms[-1] == newest
    else:
        assert 0 <= newest - series.start_ms[-1] < series.span_ms
    assert sum(series.n) == expected
    assert sum(series.down_ms) == min(last, expected) * 30_000


def test_what_an_import_brought_in_is_counted_once_before_and_after_it_is_summed_up(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    bringing = writer.begin_import(link)
    bringing.add([make_row(t0 + n * 30_000) for n in range(400)])  # three hours and a third
    bringing.finish(Batch())
    for length in (DAY_MS, 20 * DAY_MS):
        assert sum(reader.series(link, End.A, t0, t0 + length).n) == 400
    writer.append(Batch(rows=[(link, make_row(t0 + 9 * HOUR_MS))]))
    for length in (DAY_MS, 20 * DAY_MS):
        assert sum(reader.series(link, End.A, t0, t0 + length).n) == 401
