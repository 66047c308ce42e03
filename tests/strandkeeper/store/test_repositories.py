"""Verdicts, states, events, statistics, switch health, sizes: in and out unchanged."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from strandkeeper.errors import StoreError
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, PortIdentity, SwitchIdentity, SwitchPoll
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    EndState,
    Event,
    EventKind,
    Interval,
    LinkVerdict,
)
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, RecordReader, RecordWriter, open_reader

MakeRow = Callable[..., EndRow]


@pytest.fixture
def verdict(link: LinkName) -> LinkVerdict:
    return LinkVerdict(
        link=link,
        at_ms=1_795_000_000_123,
        a=EndState(end=End.A),
        b=EndState(end=End.B, answers=True, temp_c=-3.5),
        ab=DirectionVerdict(
            direction=Direction.AB,
            rx=Measured(Dbm(-8.4)),
            margin=Db(11.104),
            added_loss=Interval(value=0.2, low=-0.1, high=0.5),
            baseline=Baseline(loss=Db(2.5), spread=Db(0.1), since_ms=5, firm=True),
        ),
        ba=DirectionVerdict(direction=Direction.BA, rx=NO_LIGHT),
        up=False,
        findings=(
            Finding(
                link=link,
                kind=FindingKind.LIGHT_LOST,
                severity=Severity.URGENT,
                since_ms=7,
                direction=Direction.BA,
            ),
        ),
    )


def test_a_verdict_comes_back_whole_and_its_figures_stand_in_columns(
    writer: RecordWriter, reader: RecordReader, verdict: LinkVerdict, path: Path
) -> None:
    writer.append(Batch(verdicts=[replace(verdict, up=True)]))
    writer.append(Batch(verdicts=[verdict]))
    assert reader.verdict(verdict.link) == verdict
    assert reader.verdicts() == [verdict]
    assert reader.verdict(LinkName("nowhere")) is None
    database = sqlite3.connect(path)
    rows = database.execute(
        "SELECT rx_kind, rx_mdbm, margin_mdb, baseline_mdb, added_loss_low_mdb FROM verdict "
        "ORDER BY direction_id"
    ).fetchall()
    severity = database.execute("SELECT up, severity FROM link_verdict").fetchall()
    database.close()
    assert rows == [(0, -8400, 11104, 2500, -100), (1, None, None, None, None)]
    assert severity == [(0, int(Severity.URGENT))]


def test_a_state_stands_after_the_last_row_it_has_seen(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName
) -> None:
    assert (reader.state(link), reader.state_through(link)) == (None, None)
    writer.append(
        Batch(
            rows=[(link, make_row(at, end)) for at in (1, 2) for end in End], states={link: b"\0a"}
        )
    )
    assert (reader.state(link), reader.state_through(link)) == (b"\0a", 2)
    writer.append(Batch(states={link: b"b"}))
    assert (reader.state(link), reader.state_through(link)) == (b"b", 2)


def test_events_are_found_by_link_time_and_kind_newest_first(
    writer: RecordWriter, reader: RecordReader, link: LinkName
) -> None:
    other = LinkName("other")
    events = [
        Event(time_ms=1, link=link, kind=EventKind.LINK_DOWN, end=End.B, uncertainty_ms=10_000),
        Event(time_ms=2, link=other, kind=EventKind.RESTARTED, end=End.A, text="tüv", value=3.5),
        Event(time_ms=3, link=link, kind=EventKind.STEP, direction=Direction.BA, value=0.7),
        Event(time_ms=4, link=link, kind=EventKind.LINK_UP),
    ]
    writer.append(Batch(events=events))
    assert reader.events() == events[::-1]
    assert reader.events(link) == [events[3], events[2], events[0]]
    assert reader.events(link, from_ms=3, to_ms=4) == [events[2]]
    assert reader.events(kinds=[EventKind.STEP, EventKind.RESTARTED]) == [events[2], events[1]]
    assert reader.events(limit=1) == [events[3]]
    assert reader.events(LinkName("nowhere")) == []


def test_statistics_are_kept_by_direction_and_span(
    writer: RecordWriter, reader: RecordReader, link: LinkName
) -> None:
    hour = PeriodStat(
        link=link,
        direction=Direction.BA,
        start_ms=3_600_000,
        span_s=HOUR_S,
        n=120,
        rx_mdbm=-8123,
        tx_mdbm=-5500,
        loss_mdb=2623,
        added_loss_mdb=12,
        compensated_mdb=-3,
        spread_mdb=40,
        sender_temp_cc=-512,
        receiver_temp_cc=None,
    )
    later = replace(hour, start_ms=7_200_000)
    day = replace(hour, span_s=DAY_S, start_ms=0)
    writer.append(Batch(stats=[later, hour, day]))
    assert reader.stats(link, Direction.BA, HOUR_S) == [hour, later]
    assert reader.stats(link, Direction.BA, HOUR_S, 3_600_001) == [later]
    assert reader.stats(link, Direction.BA, DAY_S) == [day]
    assert reader.stats(link, Direction.AB, HOUR_S) == []
    with pytest.raises(ValueError, match="no statistics are kept over 60 s"):
        reader.stats(link, Direction.AB, 60)


@pytest.fixture
def poll(link: LinkName) -> SwitchPoll:
    return SwitchPoll(
        switch=SwitchName("lab"),
        time_ms=1_000,
        answered=True,
        round_trip_ms=1.5,
        uptime_cs=99,
        identity=SwitchIdentity(sys_name="lab", enterprise=9999),
        ports={
            LinkEnd(link, End.A): PortIdentity(
                port=PortName("Gi1"), if_index=3, remarks=("counts in 32 bits",)
            )
        },
        known_ports=(PortName("Gi1"), PortName("Gi2")),
    )


def test_a_silent_switch_is_still_the_switch_it_was(
    writer: RecordWriter, reader: RecordReader, poll: SwitchPoll
) -> None:
    silent = SwitchPoll(
        switch=poll.switch, time_ms=11_000, answered=False, error="no answer", hint="look"
    )
    for one in (poll, silent, replace(silent, time_ms=21_000)):
        writer.append(Batch(switches=[one]))
        writer.append(Batch(switches=[one]))
    (health,) = reader.switches()
    assert (health.answered, health.since_ms, health.heard_ms) == (False, 11_000, 1_000)
    assert (health.misses, health.error, health.hint) == (2, "no answer", "look")
    assert (health.identity, health.ports, health.known_ports) == (
        poll.identity,
        poll.ports,
        poll.known_ports,
    )
    writer.append(Batch(switches=[replace(poll, time_ms=31_000)]))
    (health,) = reader.switches()
    assert (health.answered, health.since_ms, health.misses) == (True, 31_000, 0)
    assert health.error == ""


def test_info_says_what_the_file_holds(
    writer: RecordWriter, reader: RecordReader, make_row: MakeRow, link: LinkName, path: Path
) -> None:
    assert (reader.info().newest_ms, reader.info().oldest_ms) == (None, None)
    writer.append(Batch(rows=[(link, make_row(at)) for at in (5_000, 9_000)]))
    info = reader.info()
    assert (info.links, info.oldest_raw_ms, info.newest_ms) == (1, 5_000, 9_000)
    assert info.size_bytes == path.stat().st_size
    assert info.begun_ms is not None


def test_a_backup_is_a_whole_record_and_never_writes_over_a_file(
    writer: RecordWriter, make_row: MakeRow, link: LinkName, tmp_path: Path
) -> None:
    writer.append(Batch(rows=[(link, make_row(5_000))]))
    target = tmp_path / "copy.db"
    writer.backup(target)
    assert sorted(p.name for p in tmp_path.glob("*copy*")) == ["copy.db"]
    reader = open_reader(target)
    assert list(reader.rows(link)) == [make_row(5_000)]
    reader.close()
    with pytest.raises(StoreError, match="exists already"):
        writer.backup(target)
    with pytest.raises(StoreError, match="cannot be written"):
        writer.backup(tmp_path / "no" / "where.db")
