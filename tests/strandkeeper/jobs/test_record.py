"""Polls in, record out: a real store file; the polls are made by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from tests.strandkeeper.jobs.shore import LINK, NAMES, SHORE, START_MS, settings_in

from strandkeeper.analysis import engine
from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.handle_trap import TrapDesk
from strandkeeper.jobs.record import Recorder
from strandkeeper.jobs.states import Remembered, rebuilt_state, stored_state
from strandkeeper.model.finding import Cause, Confidence, EvidenceKind, FindingKind
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.ping import Pings, PingTally
from strandkeeper.model.poll import LinkEnd, PortIdentity, PowerSupply, SwitchPoll
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.trap import Trap, TrapKind
from strandkeeper.model.verdict import EventKind
from strandkeeper.optics.units import Dbm
from strandkeeper.store import open_reader, open_writer


def _poll(second: int, end: End, *, answered: bool = True, down: bool = False) -> SwitchPoll:
    optics = None
    if second % 30 == 0 and answered:
        rx = NO_LIGHT if down else Measured(Dbm(-9.0 - (second % 7) / 100))
        optics = OpticalReading(rx=rx, tx=Measured(Dbm(-5.5)), temp_c=30.0)
    row = EndRow(
        time_ms=START_MS + second * 1000 + int(end),
        end=end,
        answered=answered,
        optics=optics,
        oper=(OperStatus.DOWN if down else OperStatus.UP) if answered else None,
        admin=AdminStatus.UP if answered else None,
        uptime_cs=90_000 + second * 100 if answered else None,
        last_change_cs=(50_000 if down else 10_000) if answered else None,
        deltas=Deltas(in_octets=100, in_frames=1, fcs_errors=0) if answered else Deltas(),
    )
    return SwitchPoll(
        switch=NAMES[end],
        time_ms=row.time_ms,
        answered=answered,
        rows=((LinkEnd(SHORE, end), row),),
    )


def _story() -> Iterator[tuple[SwitchPoll, bool]]:
    """Two quiet hours; the link goes down and the far switch with it; both come back."""
    for second in range(0, 7200, 10):
        gone = 5000 <= second < 5400
        for end in End:
            silent = gone and end is End.B
            yield _poll(second, end, answered=not silent, down=gone), second % 30 == 0


def test_a_state_rebuilt_from_the_record_is_the_state_the_daemon_had(tmp_path: Path) -> None:
    settings = settings_in(tmp_path)
    facts = link_facts(LINK, settings)
    writer = open_writer(settings.store.path)
    recorder = Recorder(settings, {})
    for count, (poll, optics_due) in enumerate(_story()):
        recorder.take(poll, optics_due=optics_due)
        if count % 11 == 0:
            assert writer.append(recorder.take_batch()).written
    writer.append(recorder.take_batch(last=True))
    writer.close()
    record = open_reader(settings.store.path)
    try:
        kept = record.state(SHORE)
        assert kept is not None
        assert engine.encode(rebuilt_state(record, facts).state) == kept
        assert engine.encode(stored_state(record, facts).state) == kept
        kinds = [e.kind for e in record.events(SHORE)]
        assert kinds.count(EventKind.LINK_DOWN) == 1
        assert kinds.count(EventKind.LINK_UP) == 1
    finally:
        record.close()


ON_BATTERY = PowerSupply(ups_source="battery", ups_charge_percent=8, ups_on_battery_s=900)


def _until_the_far_end_falls_silent(recorder: Recorder, power: PowerSupply | None) -> None:
    for poll, optics_due in _story():
        if poll.time_ms < START_MS + 5_200_000:
            fed = power if poll.switch == NAMES[End.B] and poll.answered else None
            recorder.take(replace(poll, power=fed), optics_due=optics_due)


@pytest.mark.parametrize(
    ("power", "cause", "confidence"),
    [
        (ON_BATTERY, Cause.FAR_END_OFF_OR_RESTARTED, Confidence.LIKELY),
        (replace(ON_BATTERY, ups_on_battery_s=None, ups_source="normal"), None, None),
        (None, None, None),
    ],
)
def test_a_far_end_that_was_on_battery_when_it_fell_silent_has_likely_lost_its_power(
    tmp_path: Path,
    power: PowerSupply | None,
    cause: Cause | None,
    confidence: Confidence | None,
) -> None:
    recorder = Recorder(settings_in(tmp_path), {})
    _until_the_far_end_falls_silent(recorder, power)
    (verdict,) = recorder.verdicts()
    (down,) = (f for f in verdict.findings if f.kind is FindingKind.LINK_DOWN)
    said = [e.text for e in down.evidence if e.kind is EvidenceKind.SUPPLY_IN_NEED]
    assert down.cause is (cause or Cause.UNKNOWN)
    assert down.confidence is (confidence or Confidence.CANNOT_TELL)
    assert said == ([ON_BATTERY.fed] if cause else [])


def test_what_a_silent_switch_said_of_its_power_outlives_a_restart_of_the_daemon(
    tmp_path: Path,
) -> None:
    recorder = Recorder(settings_in(tmp_path), {})
    silent = SwitchHealth(
        switch=NAMES[End.B],
        at_ms=START_MS,
        answered=False,
        since_ms=START_MS,
        ports={LinkEnd(SHORE, End.B): PortIdentity(port=PortName("1"), if_index=1)},
        power=ON_BATTERY,
    )
    recorder.remember([silent])
    assert recorder.facts()[SHORE].supply == ("", ON_BATTERY.fed)
    recorder.remember([replace(silent, answered=True, power=None)])
    assert recorder.facts()[SHORE].supply == ("", ON_BATTERY.fed)
    recorder.take(_poll(0, End.B), optics_due=True)  # it answers, and says nothing of a battery
    assert recorder.facts()[SHORE].supply == ("", "")


def test_pings_of_which_only_the_large_are_lost_are_known_until_they_come_again(
    tmp_path: Path,
) -> None:
    recorder = Recorder(settings_in(tmp_path), {})
    good = PingTally(sent=20, came=20, ms=1.0)
    lossy = Pings(
        address="192.0.2.1", octets=1400, small=good, large=PingTally(sent=20, came=3, ms=None)
    )
    where = LinkEnd(SHORE, End.B)
    recorder.take(replace(_poll(0, End.B), pings={where: lossy}), optics_due=True)
    recorder.take(_poll(1, End.A), optics_due=False)  # of the other switch, which pings nobody
    assert "3 of 20 large" in recorder.facts()[SHORE].pings
    recorder.take(
        replace(_poll(10, End.B), pings={where: replace(lossy, large=good)}), optics_due=False
    )
    assert recorder.facts()[SHORE].pings == ""


def test_an_event_and_the_first_light_of_an_end_do_not_wait_for_the_batch(tmp_path: Path) -> None:
    recorder = Recorder(settings_in(tmp_path), {})
    recorder.take(_poll(0, End.A), optics_due=True)
    assert recorder.has_news
    recorder.take_batch()
    recorder.take(_poll(30, End.A), optics_due=True)
    assert not recorder.has_news
    recorder.take(_poll(30, End.B), optics_due=True)
    assert recorder.has_news


@pytest.mark.parametrize("optics_due", [True, False])
def test_a_poll_of_a_link_that_is_not_configured_is_left_alone(
    tmp_path: Path, *, optics_due: bool
) -> None:
    recorder = Recorder(settings_in(tmp_path), {})
    stray = SwitchPoll(
        switch=SwitchName("lab"),
        time_ms=START_MS,
        answered=True,
        rows=((LinkEnd(LinkName("other"), End.A), EndRow(time_ms=START_MS, end=End.A)),),
    )
    recorder.take(stray, optics_due=optics_due)
    assert recorder.take_batch().rows == ()


def test_states_made_again_judge_the_rows_that_still_wait(tmp_path: Path) -> None:
    settings = settings_in(tmp_path)
    recorder, fresh = Recorder(settings, {}), Recorder(settings, {})
    for poll, optics_due in list(_story())[:200]:
        recorder.take(poll, optics_due=optics_due)
        fresh.take(poll, optics_due=optics_due)
    recorder.adopt({SHORE: Remembered(state=engine.initial(link_facts(LINK, settings)))})
    assert recorder.take_batch(last=True) == fresh.take_batch(last=True)


def test_a_state_written_minutes_ago_is_brought_up_to_the_newest_row(tmp_path: Path) -> None:
    """As after kill -9: rows went on being written after the last state."""
    settings = settings_in(tmp_path)
    facts = link_facts(LINK, settings)
    writer = open_writer(settings.store.path)
    recorder = Recorder(settings, {})
    with_state = 0
    for poll, optics_due in list(_story())[:500]:
        recorder.take(poll, optics_due=optics_due)
        batch = recorder.take_batch()
        with_state += bool(batch.states)
        writer.append(batch)
    now = recorder.take_batch(last=True).states[SHORE]
    writer.close()
    record = open_reader(settings.store.path)
    try:
        assert 5 <= with_state <= 10  # 2,500 s, a state every 300 s
        assert record.state(SHORE) != now
        assert engine.encode(stored_state(record, facts).state) == now
    finally:
        record.close()


def test_what_a_trap_said_is_on_record_as_such_and_is_judged_alike_again(tmp_path: Path) -> None:
    """Down by trap at 1,004 s, which the far switch's cache does not know until 1,030 s."""
    settings = settings_in(tmp_path)
    facts = link_facts(LINK, settings)
    recorder, desk = Recorder(settings, {}), TrapDesk()
    ports = {LinkEnd(SHORE, End.B): PortIdentity(port=PortName("1"), if_index=7)}
    for second in range(0, 2000, 10):
        gone = 1000 <= second < 1040
        for end in End:
            poll = _poll(second, end, down=gone and second >= 1030)
            recorder.take(desk.outrank(poll), optics_due=second % 30 == 0)
        for at, kind in ((1000, TrapKind.LINK_DOWN), (1040, TrapKind.LINK_UP)):
            if second == at:
                uptime_cs = 90_000 + 100 * at + 400
                trap = Trap(switch=NAMES[End.B], kind=kind, uptime_cs=uptime_cs, if_index=7)
                taken = desk.row_of(trap, ports, START_MS + 1000 * at + 4000)
                assert taken is not None
                recorder.take_row(*taken)
    writer = open_writer(settings.store.path)
    assert writer.append(recorder.take_batch(last=True)).written
    writer.close()
    record = open_reader(settings.store.path)
    try:
        said = [(r.time_ms - START_MS, r.end) for r in record.rows(SHORE) if r.by_trap]
        verdict = record.verdict(SHORE)
        assert engine.encode(rebuilt_state(record, facts).state) == record.state(SHORE)
    finally:
        record.close()
    # both traps, and the two kept of the cached polls that the first overruled
    assert [at for at, _ in said] == [1_004_000, 1_010_001, 1_020_001, 1_044_000]
    assert {end for _, end in said} == {End.B}
    assert verdict is not None
    (flap,) = verdict.flaps
    assert {"trap of B", "poll of A", "poll of B"} <= set(flap.seen_by)
