"""The memory of a link at a start, where its bytes are lost or older: a real store file."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.strandkeeper.jobs.shore import LINK, NAMES, SHORE, START_MS, settings_in

from strandkeeper.analysis import engine
from strandkeeper.jobs import states
from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.record import Recorder
from strandkeeper.jobs.states import Remembered, rebuilt_state, stored_state, stored_states
from strandkeeper.model.block import Block
from strandkeeper.model.names import Direction, End
from strandkeeper.model.poll import LinkEnd, SwitchPoll
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.rework import Rework
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, RecordReader, RecordWriter, open_reader, open_writer
from strandkeeper.store.changes import Changes

HOUR_MS = 3_600_000
MADE_WORSE_MS = START_MS + 3 * HOUR_MS  # from here on the light is 2 dB weaker
UNTIL_MS = START_MS + 6 * HOUR_MS


def _polls() -> Iterator[SwitchPoll]:
    """Six hours, both ends every 30 s: good for three hours, then 2 dB less at both ends."""
    for time_ms in range(START_MS, UNTIL_MS, 30_000):
        for end in End:
            rx = Dbm(-9.0 if time_ms < MADE_WORSE_MS else -11.0)
            row = EndRow(
                time_ms=time_ms + int(end),
                end=end,
                optics=OpticalReading(rx=Measured(rx), tx=Measured(Dbm(-5.5)), temp_c=30.0),
                oper=OperStatus.UP,
                admin=AdminStatus.UP,
                uptime_cs=(time_ms - START_MS) // 10 + 90_000,
                last_change_cs=10_000,
                deltas=Deltas(in_octets=100, in_frames=1, fcs_errors=0),
            )
            yield SwitchPoll(
                switch=NAMES[end],
                time_ms=time_ms,
                answered=True,
                rows=((LinkEnd(SHORE, end), row),),
            )


@pytest.fixture
def writer(tmp_path: Path) -> Iterator[RecordWriter]:
    """The record of those six hours, written as the daemon writes it."""
    writer = open_writer(settings_in(tmp_path).store.path)
    recorder = Recorder(settings_in(tmp_path), {})
    for poll in _polls():
        recorder.take(poll, optics_due=True)
    assert writer.append(recorder.take_batch(last=True)).written
    yield writer
    writer.close()


@pytest.fixture
def record(writer: RecordWriter, tmp_path: Path) -> Iterator[RecordReader]:
    reader = open_reader(settings_in(tmp_path).store.path)
    yield reader
    reader.close()


def _judge(found: Remembered, folder: Path) -> LinkVerdict:
    facts = link_facts(LINK, settings_in(folder))
    row = EndRow(time_ms=UNTIL_MS + 30_000, end=End.A)
    return engine.advance(facts, found.state, Block.from_rows((row,)))[1].verdict


def test_a_state_that_is_lost_leaves_the_baseline_that_the_rows_no_longer_hold(
    writer: RecordWriter, record: RecordReader, tmp_path: Path
) -> None:
    facts = link_facts(LINK, settings_in(tmp_path))
    before = record.verdict(SHORE)
    assert before is not None
    data = record.state(SHORE)
    assert data is not None
    writer.append(Batch(states={SHORE: bytes([250]) + data[1:]}))

    after = _judge(stored_state(record, facts, since_ms=MADE_WORSE_MS + HOUR_MS), tmp_path)
    for way in Direction:
        good, kept = before.direction(way), after.direction(way)
        assert good.baseline is not None
        assert good.baseline.since_ms < MADE_WORSE_MS
        assert kept.baseline == good.baseline
        assert kept.added_loss is not None
        assert kept.added_loss.value == pytest.approx(2.0, abs=0.05)  # -9 dBm then, -11 dBm now


def test_rows_that_hold_the_good_time_give_the_baseline_again(
    record: RecordReader, tmp_path: Path
) -> None:
    facts = link_facts(LINK, settings_in(tmp_path))
    assert engine.encode(rebuilt_state(record, facts).state) == record.state(SHORE)


def test_good_work_begins_the_baseline_anew_when_its_rows_are_judged_again(
    writer: RecordWriter, record: RecordReader, tmp_path: Path
) -> None:
    facts = link_facts(LINK, settings_in(tmp_path))
    work = Rework(
        id=1,
        link=SHORE,
        direction=None,
        end=End.B,
        what="new plugs",
        who="me",
        started_ms=MADE_WORSE_MS - HOUR_MS,
        finished_ms=MADE_WORSE_MS,
        baseline_ms=MADE_WORSE_MS + HOUR_MS,
    )
    writer.change(Changes(reworks=[work]))
    after = _judge(rebuilt_state(record, facts), tmp_path)
    for way in Direction:
        verdict = after.direction(way)
        assert verdict.baseline is not None
        assert verdict.baseline.since_ms > MADE_WORSE_MS + HOUR_MS
        assert verdict.added_loss is not None
        assert verdict.added_loss.value == pytest.approx(0.0, abs=0.05)


def test_no_more_is_judged_again_than_a_start_may_take(
    writer: RecordWriter,
    record: RecordReader,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    facts = link_facts(LINK, settings_in(tmp_path))
    writer.append(Batch(states={SHORE: b"\xfa"}))
    whole = stored_states(record, [facts], 30)[SHORE]
    assert min(stat.start_ms for stat in whole.stats) == START_MS
    monkeypatch.setattr(states, "_MOST_ROWS", 360)  # of one link, both ends: an hour and a half
    part = stored_states(record, [facts], 30)[SHORE]
    assert min(stat.start_ms for stat in part.stats) == UNTIL_MS - 2 * HOUR_MS
    assert part.state.live.last_ms == whole.state.live.last_ms


def test_fields_that_older_bytes_do_not_have_get_their_defaults(record: RecordReader) -> None:
    data = record.state(SHORE)
    assert data is not None
    edge = 5 + int.from_bytes(data[1:5], "big")
    directions, ends = json.loads(zlib.decompress(data[edge:]))
    newest = [direction.pop() for direction in directions]  # what was added last
    older = data[:edge] + zlib.compress(json.dumps([directions, ends]).encode())
    assert newest == [[], []]
    assert engine.encode(engine.decode(older)) == data
