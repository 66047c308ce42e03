"""Ledger, measurements and work on links keep everything, and answer what they were told."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.ledger import Cable, Strand, StrandEnd, StrandUse, default_label
from strandkeeper.model.live import LiveGrant
from strandkeeper.model.meter_reading import Anchor, Bench, MeterKind, MeterReading
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.rework import (
    Check,
    CheckKind,
    Counted,
    DirectionReport,
    Outcome,
    Rework,
    ReworkVerdict,
    Side,
    Worth,
)
from strandkeeper.model.rework_json import rework_from_json, rework_to_json
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.meter import MeterVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import RecordReader, RecordWriter, ledger, open_reader, open_writer
from strandkeeper.store import rework as rework_store
from strandkeeper.store.changes import Changes

SHORE = LinkName("shore")
CABLE = Cable(
    name="shore cable", strands=12, length_m=900.0, a="Lab", b="Pump house", note="armour"
)
STRAND = Strand(
    cable="shore cable",
    number=3,
    label="green",
    use=StrandUse.SPARE,
    ends=(StrandEnd(slack_m=1.5, attempts=2), StrandEnd(slack_m=None, attempts=0)),
    tested_ms=5_000,
    tested_loss=Db(1.2),
    note="tried in spring",
)
READING = MeterReading(
    id=4,
    at_ms=9_000,
    who="me",
    kind=MeterKind.LOSS,
    reading=Dbm(-11.3),
    wavelength_nm=1310,
    source="laser",
    link=SHORE,
    direction=Direction.AB,
    end=End.B,
    cable="shore cable",
    strand=3,
    cords=1,
    reference=Dbm(-10.0),
    loss=Db(1.3),
    limit=Db(1.82),
    verdict=MeterVerdict.ACCEPT,
    uncertainty=Db(0.2),
    note="cold",
)
SIDE = Side(
    from_ms=1,
    to_ms=2_000,
    n=10,
    dark=1,
    level=Interval(value=3.0, low=2.9, high=3.1),
    rx_dbm=-9.0,
    spread=Db(0.05),
    peak=Db(0.2),
    coldest_c=-4.5,
)
WORK = Rework(
    id=7,
    link=SHORE,
    what="new plug",
    who="me",
    started_ms=2_000,
    direction=Direction.AB,
    end=End.B,
    cable="shore cable",
    strand=3,
    why="flickers",
    matings=2,
    old_baseline={Direction.AB: Interval(value=2.0, low=1.9, high=2.1)},
    coldest_before_c={Direction.AB: -6.0},
    reports={
        Direction.AB: DirectionReport(
            before=SIDE,
            after=replace(SIDE, level=None, spread=None, peak=None, rx_dbm=None),
            verdict=ReworkVerdict(worth=Worth.NOT_YET_KNOWN, allowed=Db(0.6)),
            counted=Counted(bits=123, errors=1, unknown=2, counted_ms=30, through_ms=4_000),
            checks=(
                Check(
                    kind=CheckKind.BITS,
                    outcome=Outcome.PENDING,
                    got=123.0,
                    limit=3e12,
                    ratio=1e-12,
                    errors=1,
                    left_s=86400.0,
                ),
            ),
        )
    },
)


@pytest.fixture
def writer(path: Path) -> Iterator[RecordWriter]:
    opened = open_writer(path, reserve=False)
    yield opened
    opened.close()


@pytest.fixture
def reader(writer: RecordWriter, path: Path) -> Iterator[RecordReader]:
    opened = open_reader(path)
    yield opened
    opened.close()


def test_colours_are_those_of_tia_598_in_their_order() -> None:
    # facts on optics, 3.4: TIA-598 fibres 1-12 and tubes 1-12 in the same order
    colours = [default_label(n, 12) for n in range(1, 13)]
    assert colours == (
        "blue orange green brown slate white red black yellow violet rose aqua".split()
    )
    assert default_label(1, 2) == "blue"
    assert default_label(27, 48) == "green/green"


def test_what_is_entered_is_what_is_told(writer: RecordWriter, reader: RecordReader) -> None:
    anchor = Anchor(link=SHORE, direction=Direction.AB, at_ms=9, correction=Db(-0.7), module_id="X")
    bench = Bench(
        link=SHORE,
        direction=Direction.BA,
        at_ms=9,
        difference=Db(0.35),
        module_ids=("X", None),
    )
    live = LiveGrant(
        link=SHORE, since_ms=1, until_ms=31_000, interval_s=2.5, refresh_s=5.0, why="refresh"
    )
    writer.change(
        Changes(
            cables=[CABLE],
            strands=[STRAND],
            readings=[READING],
            anchors=[anchor],
            benches=[bench],
            reworks=[WORK],
            lives=[live],
        )
    )
    assert reader.ask(ledger.cables) == [CABLE]
    assert reader.ask(ledger.strands) == [STRAND]
    assert reader.ask(partial(ledger.meter_readings, link=SHORE)) == [READING]
    assert reader.ask(ledger.anchors) == [anchor]
    assert reader.ask(ledger.benches) == [bench]
    assert reader.ask(partial(rework_store.reworks, link=SHORE)) == [WORK]
    assert reader.ask(partial(rework_store.rework, number=7)) == WORK
    assert reader.ask(rework_store.live_grants) == [live]
    writer.change(
        Changes(void_anchors=[(SHORE, Direction.AB)], void_benches=[SHORE], void_lives=[SHORE])
    )
    assert reader.ask(ledger.anchors) == []
    assert reader.ask(ledger.benches) == []
    assert reader.ask(rework_store.live_grants) == []


def test_a_change_and_the_fate_of_its_entry_are_one_transaction(
    writer: RecordWriter, reader: RecordReader
) -> None:
    number = reader.append_entry(Entry(kind=EntryKind.LEDGER, who="me"))
    nowhere = replace(STRAND, cable="no such cable")
    with pytest.raises(sqlite3.IntegrityError):
        writer.change(Changes(cables=[CABLE], strands=[nowhere]), entry=number, at_ms=5)
    assert reader.ask(ledger.cables) == []
    assert [e.id for e in reader.waiting_entries()] == [number]
    writer.change(Changes(cables=[CABLE]), entry=number, at_ms=5)
    assert reader.entries()[0].applied_ms == 5


def test_a_link_can_be_worked_on_once_at_a_time(writer: RecordWriter) -> None:
    writer.change(Changes(reworks=[WORK]))
    with pytest.raises(sqlite3.IntegrityError):
        writer.change(Changes(reworks=[replace(WORK, id=8)]))
    writer.change(Changes(reworks=[replace(WORK, finished_ms=3_000)]))
    writer.change(Changes(reworks=[replace(WORK, id=8)]))


def test_work_as_json_comes_back_as_it_was() -> None:
    finished = replace(
        WORK, finished_ms=5_000, baseline_ms=6_000, accepted_ms=7_000, closed_ms=8_000, note="ok"
    )
    for work in (WORK, finished, replace(WORK, direction=None, end=None, reports={})):
        assert rework_from_json(rework_to_json(work)) == work


def test_readings_are_comparable_only_by_method_and_wavelength() -> None:
    same = replace(READING, id=9, reading=Dbm(-12.0))
    assert same.method == READING.method
    for other in (replace(READING, cords=2), replace(READING, wavelength_nm=1550)):
        assert other.method != READING.method
