"""Work on a link from the first entry to the acceptance: real agents, the real daemon, real files.

The agents answer over UDP from tables that the test sets, so that every counted bit is known.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import time
from collections.abc import AsyncIterator, Callable
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

import pytest
from tests.strandkeeper.jobs.small_switch import DOWN, IF, IFX, UP, SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent

from strandkeeper.errors import StoreError
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import Measured
from strandkeeper.model.rework import CheckKind, DirectionReport, Outcome, Rework, Worth
from strandkeeper.store import RecordReader, ledger, open_reader, rework

pytestmark = [pytest.mark.slow, pytest.mark.timeout(240)]

T = TypeVar("T")
SHORE = LinkName("shore")
CONFIG = """
station = "Work on a link"
[store]
path = "record.db"
batch_s = 2
[metrics]
host = "127.0.0.1"
port = 0
[intervals]
status_s = {status_s}
optics_s = {optics_s}
[[switch]]
name = "lab"
host = "127.0.0.1"
port = {lab}
timeout_s = 0.5
snmp = {{ version = "2c", community_file = "community" }}
[[switch]]
name = "pump"
host = "127.0.0.1"
port = {pump}
timeout_s = 0.5
snmp = {{ version = "2c", community_file = "community" }}
[[link]]
name = "shore"
length_m = 900
matings = 8
a = {{ name = "Lab", switch = "lab", port = "Gi1", pmd = "1000BASE-LX10", strand = "blue" }}
b = {{ name = "Pump", switch = "pump", port = "Gi1", pmd = "1000BASE-LX10", strand = "orange" }}
"""
RX = 5  # the fifth sensor: receive power in 0.1 µW
GOOD, BAD, HALF = 1000, 250, 500  # -10.0, -16.0, -13.0 dBm


@dataclass
class Stage:
    """Both switches, the daemon, and its record."""

    config: Path
    lab: SmallSwitch
    pump: SmallSwitch

    def record(self) -> RecordReader:
        return open_reader(self.config.parent / "record.db")

    def octets(self, octets: int, damaged: int = 0) -> None:
        """What the pump house has received in all."""
        self.pump.count(1, octets=octets, frames=octets // 500 + 1, damaged=damaged)

    async def until(self, what: str, probe: Callable[[RecordReader], T | None], s: float = 30) -> T:
        until_s = time.monotonic() + s
        last: object = None
        while time.monotonic() < until_s:
            try:
                with closing(self.record()) as record:
                    last = probe(record)
            except StoreError as error:
                last = error
            if last is not None and last is not False and not isinstance(last, StoreError):
                return last  # type: ignore[return-value]
            await asyncio.sleep(0.1)
        log = self.config.with_suffix(".log").read_text(encoding="utf-8")[-3000:]
        with closing(self.record()) as record:
            found = record.ask(rework.reworks)
        raise AssertionError(f"never came: {what}; last {last}; {found}\n{log}")

    async def ask(self, kind: EntryKind, **payload: object) -> StoredEntry:
        """Enter something; the daemon must apply it."""
        with closing(self.record()) as record:
            number = record.append_entry(
                Entry(kind=kind, who="me", payload={"link": "shore", **payload})
            )

        def done(record: RecordReader) -> StoredEntry | None:
            stored = next(e for e in record.entries(kind=kind) if e.id == number)
            return stored if stored.applied_ms is not None or stored.refusal else None

        stored = await self.until(f"{kind} applied", done)
        assert stored.refusal == ""
        return stored

    async def work(self, what: str, holds: Callable[[Rework], bool]) -> Rework:
        def probe(record: RecordReader) -> Rework | None:
            found = record.ask(partial(rework.reworks, link=SHORE))
            return found[0] if found and holds(found[0]) else None

        return await self.until(what, probe, s=90)

    async def sees(self, raw: int) -> None:
        """Wait until the record has that light at the pump house, ten readings of it."""
        self.pump.sensor(1, RX, raw)
        wanted = None if not raw else raw

        def probe(record: RecordReader) -> bool:
            rows = [r for r in record.rows(SHORE) if r.end is End.B and r.optics is not None]
            last = rows[-6:]
            if len(last) < 6:
                return False
            lit = [r.optics is not None and isinstance(r.optics.rx, Measured) for r in last]
            values = [
                r.optics.rx.power.to_milliwatt().value
                for r in last
                if r.optics is not None and isinstance(r.optics.rx, Measured)
            ]
            if wanted is None:
                return not any(lit)
            return all(lit) and all(abs(v / (wanted * 1e-4) - 1) < 0.01 for v in values)

        await self.until(f"light {raw}", probe)


def _started(switch: SmallSwitch) -> Callable[[], None]:
    """sysUpTime goes on as the clock does, whatever the test sets it to."""
    before = time.monotonic()

    def tick() -> None:
        nonlocal before
        now = time.monotonic()
        switch.tick(round((now - before) * 100))
        before = now

    return tick


def _fast_port(switch: SmallSwitch) -> None:
    """The guard against impossible counts knows the port's speed; bits here come by the million."""
    switch.table[(*IFX, 15, 1 + switch.base)] = ber.gauge(100_000_000)


async def _stage(
    folder: Path, status_s: int, optics_s: int, prepare: Callable[[SmallSwitch], None]
) -> AsyncIterator[Stage]:
    lab, pump = SmallSwitch(), SmallSwitch()
    for switch in (lab, pump):
        prepare(switch)
    async with (
        Agent(lab.table, before_each=_started(lab)) as at_lab,
        Agent(pump.table, before_each=_started(pump)) as at_pump,
    ):
        (folder / "community").write_text("look", encoding="utf-8")
        (folder / "community").chmod(0o600)
        config = folder / "station.toml"
        config.write_text(
            CONFIG.format(
                lab=at_lab.address[1],
                pump=at_pump.address[1],
                status_s=status_s,
                optics_s=optics_s,
            ),
            encoding="utf-8",
        )
        with config.with_suffix(".log").open("wb") as log:
            daemon = await asyncio.create_subprocess_exec(
                *(sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"),
                stdout=log,
                stderr=log,
                env={**os.environ, "PYTHONUNBUFFERED": "1"},
            )
        try:
            yield Stage(config, lab, pump)
        finally:
            if daemon.returncode is None:
                daemon.send_signal(signal.SIGTERM)
            assert await asyncio.wait_for(daemon.wait(), 20) == 0


@pytest.fixture
async def stage(tmp_path: Path) -> AsyncIterator[Stage]:
    async for built in _stage(tmp_path, 1, 1, _fast_port):
        yield built


@pytest.fixture
async def narrow(tmp_path: Path) -> AsyncIterator[Stage]:
    """Both switches have 32-bit counters only, on a port that takes minutes to turn them: at
    1 Gbit/s one that stood still for 34 s may have turned, and its next count is not known."""

    def old(switch: SmallSwitch) -> None:
        switch.without(*((*IFX, column) for column in (6, 7, 8, 9, 10, 15)))
        switch.table[(*IF, 5, 1 + switch.base)] = ber.gauge(100_000_000)

    async for built in _stage(tmp_path, 1, 1, old):
        yield built


@pytest.fixture
async def usual(tmp_path: Path) -> AsyncIterator[Stage]:
    async for built in _stage(tmp_path, 10, 30, _fast_port):
        yield built


def ab(work: Rework) -> DirectionReport:
    return work.reports[Direction.AB]


def outcomes(work: Rework) -> dict[CheckKind, Outcome]:
    return {c.kind: c.outcome for c in ab(work).checks}


async def worked(stage: Stage, before: int, after: int) -> Rework:
    """The whole of the work: begun at `before`, dark, restored to `after`, ended."""
    await stage.sees(before)
    await stage.ask(EntryKind.REWORK_START, what="new plug", direction="ab", end="B")
    assert await stage.until("alerts held", lambda r: [s.link for s in r.silences()] == [SHORE])
    stage.pump.table[(*IF, 8, 1)] = ber.integer(DOWN)
    await stage.sees(0)
    stage.pump.table[(*IF, 8, 1)] = ber.integer(UP)
    await stage.sees(after)
    await stage.ask(EntryKind.REWORK_FINISH, new_plugs=1)
    assert await stage.until("alerts speak again", lambda r: not r.silences())
    return await stage.work("counting has begun", lambda w: ab(w).counted.through_ms > 0)


async def test_work_that_made_it_better_is_accepted_to_the_bit(stage: Stage) -> None:
    work = await worked(stage, BAD, GOOD)
    assert ab(work).counted.bits == 0
    with closing(stage.record()) as record:
        strand = next(s for s in record.ask(ledger.strands) if s.label == "blue")
    assert (strand.link, strand.ends[End.B].attempts) == (SHORE, 1)

    # 1e-10 at 95 %: 29957322735.5 line bits, ten an octet (8B/10B): 2995732273.6 octets
    stage.octets(2_995_732_273)
    short = await stage.work("bits counted", lambda w: ab(w).counted.bits > 0)
    assert ab(short).counted.bits == 29_957_322_730
    assert outcomes(short)[CheckKind.BITS_STAGE] is Outcome.PENDING
    stage.octets(2_995_732_274)
    staged = await stage.work("the first stage", lambda w: ab(w).counted.bits > 29_957_322_730)
    assert ab(staged).counted.bits == 29_957_322_740
    assert outcomes(staged)[CheckKind.BITS_STAGE] is Outcome.PASSED
    assert outcomes(staged)[CheckKind.BITS] is Outcome.PENDING
    assert staged.accepted_ms is None

    known = await stage.work("a verdict", lambda w: ab(w).verdict.worth is not Worth.NOT_YET_KNOWN)
    assert ab(known).verdict.worth is Worth.BETTER
    assert ab(known).verdict.provisional
    change = ab(known).verdict.change
    # 10·log10(1000/250) = 6.02 dB less
    assert change is not None
    assert change.value == pytest.approx(-6.02, abs=0.05)
    assert known.baseline_ms is not None

    # 1e-12 at 95 %: 2995732273554 bits: 299573227356 octets are enough, one less is not
    for octets in (299_573_227_355, 299_573_227_356):
        stage.octets(octets)
        last = await stage.work(
            f"{octets} octets",
            lambda w, o=octets: ab(w).counted.bits == o * 10,  # type: ignore[misc]
        )
        assert (last.accepted_ms is not None) is (octets == 299_573_227_356)
    assert last.closed_ms is None  # a cold night is still to come


async def test_work_that_made_it_worse_is_told_so_and_the_old_baseline_stays(stage: Stage) -> None:
    await worked(stage, GOOD, HALF)
    known = await stage.work("a verdict", lambda w: ab(w).verdict.worth is not Worth.NOT_YET_KNOWN)
    assert ab(known).verdict.worth is Worth.WORSE
    change = ab(known).verdict.change
    assert change is not None
    assert change.value == pytest.approx(3.01, abs=0.05)  # 10·log10(2)
    assert known.baseline_ms is None
    assert known.accepted_ms is None


async def test_a_restart_in_the_middle_costs_what_it_hides_and_no_more(stage: Stage) -> None:
    await worked(stage, BAD, GOOD)
    stage.octets(5_000_000)
    await stage.work("bits before", lambda w: ab(w).counted.bits == 50_000_000)
    stage.pump.restart()
    _fast_port(stage.pump)
    stage.octets(777)  # counted since the boot, in part before the poll that saw it: not known
    await stage.work("the restart seen", lambda w: ab(w).counted.unknown >= 1)
    before = await stage.work("counting on", lambda w: True)
    stage.octets(777 + 1_234)
    after = await stage.work("bits after", lambda w: ab(w).counted.bits > ab(before).counted.bits)
    assert ab(after).counted.bits == 50_000_000 + 12_340
    assert ab(after).counted.errors == 0


async def test_counters_that_wrap_count_right_across_the_wrap(narrow: Stage) -> None:
    narrow.pump.table[(*IF, 10, 1)] = ber.counter32(2**32 - 1_000)
    narrow.pump.table[(*IF, 11, 1)] = ber.counter32(2**32 - 1)
    await worked(narrow, BAD, GOOD)
    narrow.pump.table[(*IF, 11, 1)] = ber.counter32(2)
    narrow.pump.table[(*IF, 10, 1)] = ber.counter32(500)
    work = await narrow.work("bits across the wrap", lambda w: ab(w).counted.bits > 0)
    assert ab(work).counted.bits == 15_000  # 1500 octets


async def test_a_live_view_is_polled_each_second_and_written_at_once(usual: Stage) -> None:
    await usual.until("a first reading", lambda r: bool(r.latest(SHORE, with_optics=True)) or None)
    await usual.ask(EntryKind.LIVE)
    grant = await usual.until("granted", lambda r: next(iter(r.ask(rework.live_grants)), None))
    assert grant.interval_s == 1.0
    await asyncio.sleep(2)
    for raw in (HALF, GOOD, BAD, GOOD):  # else one reading in 30 s, written within 20 s
        usual.pump.sensor(1, RX, raw)
        await usual.until(f"{raw} shown", partial(_shown, raw=raw), s=12)
    await usual.ask(EntryKind.LIVE, end=True)
    assert await usual.until("ended", lambda r: not r.ask(rework.live_grants))


def _shown(record: RecordReader, *, raw: int) -> bool:
    row = record.latest(SHORE, with_optics=True).get(End.B)
    if row is None or row.optics is None or not isinstance(row.optics.rx, Measured):
        return False
    return abs(row.optics.rx.power.to_milliwatt().value / (raw * 1e-4) - 1) < 0.01
