"""Rows held under a clock that was not set move to their true time; what was made of them goes."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import HOUR_S, PeriodStat
from strandkeeper.model.verdict import Event, EventKind
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, RecordReader, RecordWriter
from strandkeeper.store.record_time import Epoch, Mode

MakeRow = Callable[..., EndRow]
HOUR_MS = 3_600_000


def stat(link: LinkName, start_ms: int) -> PeriodStat:
    return PeriodStat(
        link=link,
        direction=Direction.AB,
        start_ms=start_ms,
        span_s=HOUR_S,
        n=1,
        rx_mdbm=-8000,
        tx_mdbm=None,
        loss_mdb=None,
        added_loss_mdb=None,
        compensated_mdb=None,
        spread_mdb=None,
        sender_temp_cc=None,
        receiver_temp_cc=None,
    )


def test_held_rows_are_dated_once_the_clock_is_trusted(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, t0: int
) -> None:
    before = make_row(t0 - 1)
    writer.append(
        Batch(
            rows=[(link, before)],
            states={link: b"before"},
            events=[Event(time_ms=t0 - 1, link=link, kind=EventKind.LINK_UP)],
            stats=[stat(link, t0 - HOUR_MS)],
        )
    )
    writer.begin_epoch(
        Epoch(start_ms=t0, shift_ms=-(10**12), mode=Mode.HELD, reason="clock-behind-at-start")
    )
    held = [make_row(t0 + n * 30_000, End(n % 2), rx=Measured(Dbm(-9.0))) for n in range(240)]
    writer.append(
        Batch(
            rows=[(link, row) for row in held],
            states={link: b"held"},
            events=[Event(time_ms=t0 + 5, link=link, kind=EventKind.LINK_DOWN)],
            stats=[stat(link, t0)],
        )
    )
    by_ms = 77 * 86_400_000 + 123
    by_the_new_clock = make_row(held[-1].time_ms + by_ms + 7)
    writer.append(Batch(rows=[(link, by_the_new_clock)]))
    writer.date_rows(t0, by_ms, held[-1].time_ms)

    rows = list(reader.rows(link))
    assert [row.time_ms for row in rows] == [
        t0 - 1,
        *(row.time_ms + by_ms for row in held),
        by_the_new_clock.time_ms,
    ]
    assert rows[0] == before
    # to be judged again from here: the state of before, no statistics of the held time
    assert reader.state(link) == b"before"
    assert reader.state_through(link) == t0 - 1
    assert [(event.kind, event.time_ms) for event in reader.events(link)] == [
        (EventKind.LINK_DOWN, t0 + 5 + by_ms),
        (EventKind.LINK_UP, t0 - 1),
    ]
    assert [s.start_ms for s in reader.stats(link, Direction.AB, HOUR_S)] == [t0 - HOUR_MS]
    # and the summaries are those of the new time
    old = reader.series(link, End.A, t0 - HOUR_MS, t0 + 3 * HOUR_MS)
    new = reader.series(link, End.A, t0 + by_ms - HOUR_MS, t0 + by_ms + 3 * HOUR_MS)
    assert sum(old.n) == 1
    assert sum(new.n) >= 110  # of 120 rows, all but those of the five minutes still open
    (epoch,) = reader.epochs()
    assert (epoch.epoch.mode, epoch.dated_ms) == (Mode.HELD, t0 + by_ms)


def test_epochs_are_kept_in_order(writer: RecordWriter, reader: RecordReader) -> None:
    given = [
        Epoch(start_ms=5, shift_ms=0, mode=Mode.TRUSTED, reason="start"),
        Epoch(start_ms=9, shift_ms=-7, mode=Mode.CATCHING_UP, reason="clock-stays-back"),
    ]
    for epoch in given:
        writer.begin_epoch(epoch)
    assert [stored.epoch for stored in reader.epochs()] == given


def test_rows_that_wait_in_memory_are_dated_too(
    path: Path, writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName
) -> None:
    writer._connection.execute("PRAGMA busy_timeout = 1")
    locker = sqlite3.connect(path, isolation_level=None)
    locker.execute("BEGIN IMMEDIATE")
    rows = [make_row(at) for at in (999, 1_000, 2_000, 2_001)]
    event = Event(time_ms=1_500, link=link, kind=EventKind.LINK_DOWN)
    assert not writer.append(Batch(rows=[(link, row) for row in rows], events=[event])).written
    locker.close()
    writer.date_rows(1_000, 50_000, 2_000)
    writer.append(Batch())
    assert [row.time_ms for row in reader.rows(link)] == [999, 2_001, 51_000, 52_000]
    assert reader.events()[0].time_ms == 51_500
