"""What is past its time goes, once it is summed up, and never while the clock is not trusted."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.settings import Retention
from strandkeeper.store import Batch, RecordReader, RecordWriter
from strandkeeper.store.retention import Cuts, retention_cuts

MakeRow = Callable[..., EndRow]
DAY_MS = 86_400_000
HOUR_MS = 3_600_000
SHORT = Retention(raw_days=2, five_minutes_days=4)


@pytest.mark.parametrize(
    ("trusted", "five_until", "hours_until", "cuts"),
    [
        (True, 90 * DAY_MS, 90 * DAY_MS, (60 * DAY_MS, 50 * DAY_MS)),
        (False, 90 * DAY_MS, 90 * DAY_MS, (None, None)),
        (True, None, None, (None, None)),
        (True, 7 * DAY_MS, 3 * DAY_MS + 5, (7 * DAY_MS, 3 * DAY_MS)),
    ],
    ids=["due", "untrusted", "nothing summed up", "summing up lags"],
)
def test_only_what_is_old_and_summed_up_may_go(
    trusted: bool, five_until: int | None, hours_until: int | None, cuts: tuple[int, int]
) -> None:
    found = retention_cuts(
        90 * DAY_MS,
        Retention(raw_days=30, five_minutes_days=40),
        trusted=trusted,
        five_minutes_until_ms=five_until,
        hours_until_ms=hours_until,
    )
    assert found == Cuts(raw_ms=cuts[0], five_minutes_ms=cuts[1])


@pytest.fixture
def eight_days(writer: RecordWriter, make_row: MakeRow, link: LinkName, t0: int) -> int:
    """Eight days, a row each 10 min."""
    rows = [(link, make_row(t0 + n * 600_000)) for n in range(8 * 144)]
    writer.append(Batch(rows=rows))
    return t0


def expire_all(writer: RecordWriter, now_ms: int, *, trusted: bool = True) -> int:
    total = 0
    for _ in range(100):
        gone = writer.expire(now_ms, SHORT, trusted=trusted)
        if not gone:
            return total
        total += gone
    pytest.fail("it never ended")


def test_old_rows_go_and_their_sums_stay(
    eight_days: int, writer: RecordWriter, reader: RecordReader, link: LinkName
) -> None:
    t0, now = eight_days, eight_days + 8 * DAY_MS
    before = reader.series(link, End.A, t0, now, max_points=10_000)
    assert expire_all(writer, now) == 6 * 144 + 4 * 144
    assert next(reader.rows(link)).time_ms == now - 2 * DAY_MS
    after = reader.series(link, End.A, t0, now - HOUR_MS, max_points=10_000)
    assert sum(after.n) == 144 * 4 - 6  # five-minute rows of four days but for the last hour
    hours = reader.series(link, End.A, t0, t0 + 16 * DAY_MS, max_points=10_000)
    assert sum(hours.n) == 8 * 144
    assert before.rx_mean_mdbm[0] == hours.rx_mean_mdbm[0]


def test_nothing_goes_while_the_clock_is_not_trusted(
    eight_days: int, writer: RecordWriter, reader: RecordReader, link: LinkName
) -> None:
    assert expire_all(writer, eight_days + 4000 * DAY_MS, trusted=False) == 0
    assert len(list(reader.rows(link))) == 8 * 144


def test_export_goes_from_hours_to_five_minutes_to_raw_without_gap_or_overlap(
    eight_days: int, writer: RecordWriter, reader: RecordReader, link: LinkName
) -> None:
    t0, now = eight_days, eight_days + 8 * DAY_MS
    expire_all(writer, now)
    rows = list(reader.recorded_rows(link))
    times = [row.time_ms for row in rows]
    assert times == (
        [t0 + n * HOUR_MS for n in range(4 * 24)]
        + [t0 + 4 * DAY_MS + n * 600_000 for n in range(4 * 144)]
    )
    assert sum(row.deltas.in_frames or 0 for row in rows) == 8 * 144 * 10
