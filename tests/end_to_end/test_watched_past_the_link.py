"""Both switches are asked by paths of their own: each trouble is found as what it was."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace

import pytest
from real_agents.configuration import LINK
from real_agents.scene import LAB, PUMP, Scene, scene
from real_agents.station import FAR_OUT_OF_BAND

from strandkeeper.model.finding import Cause, EvidenceKind, FindingKind
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NOT_REPORTED, Measured
from strandkeeper.model.reading import EndRow
from strandkeeper.model.verdict import EventKind

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(240)]

# What a quiet veth pair carries in one row of a few seconds, many times over; a counter that
# jumped at a restart or by 2^32 is far beyond.
SPIKE_FRAMES = 100_000


@pytest.fixture(scope="module")
def all_of_it(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    with scene(tmp_path_factory.mktemp("past"), far_host=FAR_OUT_OF_BAND) as built:
        yield built


@pytest.fixture
def watched(all_of_it: Scene) -> Iterator[Scene]:
    all_of_it.settle()
    yield all_of_it
    assert all_of_it.watch.runs, all_of_it.watch.log()


def since(watched: Scene) -> int:
    verdict = watched.watch.verdict()
    assert verdict is not None
    return verdict.at_ms + 1


def rows(watched: Scene, end: End, *, since_ms: int) -> list[EndRow]:
    with watched.watch.reader() as reader:
        return [r for r in reader.rows(LinkName(LINK), since_ms) if r.end is end]


def newest_ms(watched: Scene) -> int:
    with watched.watch.reader() as reader:
        return max((r.time_ms for r in reader.latest(LinkName(LINK)).values()), default=0)


def without_spikes(found: list[EndRow]) -> None:
    for row in found:
        for count in (row.deltas.in_frames, row.deltas.fcs_errors, row.deltas.symbol_errors):
            assert count is None or 0 <= count < SPIKE_FRAMES, row


def test_a_link_down_and_up_is_that_and_not_a_restart_or_silence(watched: Scene) -> None:
    begun = since(watched)
    watched.station.cut_fibre()
    down = watched.watch.until_event(EventKind.LINK_DOWN, since_ms=begun)
    watched.watch.until_verdict(
        "link down found", lambda v: FindingKind.LINK_DOWN in {f.kind for f in v.findings}
    )
    watched.station.mend_fibre()
    up = watched.watch.until_event(EventKind.LINK_UP, since_ms=begun)
    assert up.time_ms > down.time_ms
    watched.settle()
    kinds = watched.watch.kinds(since_ms=begun)
    assert not kinds & {
        EventKind.RESTARTED,
        EventKind.NO_ANSWER,
        EventKind.LIGHT_LOST,
        EventKind.PORT_OFF,
    }


def test_a_port_switched_off_by_a_person_is_told_as_that(watched: Scene) -> None:
    begun = since(watched)
    watched.station.switch_off_far_port()
    off = watched.watch.until_event(EventKind.PORT_OFF, since_ms=begun)
    assert off.end is End.B
    verdict = watched.watch.until_verdict(
        "link down found", lambda v: FindingKind.LINK_DOWN in {f.kind for f in v.findings}
    )
    down = next(f for f in verdict.findings if f.kind is FindingKind.LINK_DOWN)
    evidence = {(e.kind, e.end) for e in down.evidence}
    assert (EvidenceKind.PORT_OFF_BY_A_PERSON, End.B) in evidence
    watched.station.switch_on_far_port()
    watched.watch.until_event(EventKind.PORT_ON, since_ms=begun)
    watched.watch.until_event(EventKind.LINK_UP, since_ms=begun)


def test_a_frozen_agent_is_no_answer_and_its_late_answers_do_no_harm(watched: Scene) -> None:
    begun = since(watched)
    watched.pump.freeze()
    watched.watch.until_event(EventKind.NO_ANSWER, since_ms=begun)
    verdict = watched.watch.until_verdict(
        "no answer found",
        lambda v: FindingKind.NO_ANSWER in {f.kind for f in v.findings},
        timeout_s=45,
    )
    silence = next(f for f in verdict.findings if f.kind is FindingKind.NO_ANSWER)
    assert silence.end is End.B
    assert silence.cause is not Cause.BEHIND_A_LINK_THAT_IS_DOWN
    assert verdict.a.answers
    assert isinstance(verdict.ba.rx, Measured)
    watched.pump.thaw()
    watched.watch.until_event(EventKind.ANSWERS_AGAIN, since_ms=begun)
    watched.settle()
    kinds = watched.watch.kinds(since_ms=begun)
    assert not kinds & {EventKind.RESTARTED, EventKind.LINK_DOWN}
    without_spikes(rows(watched, End.B, since_ms=begun))


def test_a_restarted_agent_is_a_restart_without_a_spike_in_the_counts(watched: Scene) -> None:
    """snmpd counts 0 frames (but all octets) until it renews its figures, 3 s after its start."""
    watched.station.send(frames=2000)
    begun = since(watched)
    watched.pump.restart()
    restarted = watched.watch.until_event(EventKind.RESTARTED, since_ms=begun)
    assert restarted.end is End.B
    watched.station.send(frames=5000)
    watched.watch.until_verdict("figures renewed", lambda v: 8_00 < (v.b.uptime_cs or 0) < 60_00)
    assert EventKind.LINK_DOWN not in watched.watch.kinds(since_ms=begun)
    found = rows(watched, End.B, since_ms=begun)
    without_spikes(found)
    assert min(r.uptime_cs for r in found if r.uptime_cs is not None) < 60_00
    # the first 2000 came before the restart or in the interval that it makes unknown; the 5000
    # after it may be unknown too, as long as the agent's figures are not to be had
    assert sum(r.deltas.in_frames or 0 for r in found) < 5200


def test_frames_sent_over_the_fibre_are_counted_once(watched: Scene) -> None:
    begun = since(watched)
    watched.station.send(frames=5000)

    def counted() -> int:
        return sum(r.deltas.in_frames or 0 for r in rows(watched, End.B, since_ms=begun))

    watched.watch.until("5000 frames counted", lambda: counted() >= 5000)
    # an agent that counted twice would show 10000; ARP and the like come on top of 5000
    assert counted() < 5200
    without_spikes(rows(watched, End.B, since_ms=begun))


def test_a_renumbered_port_is_found_again_by_its_name(watched: Scene) -> None:
    begun = since(watched)
    before = watched.station.if_index(watched.station.far)
    watched.station.relay_fibre()
    assert watched.station.if_index(watched.station.far) != before
    # 50.1 µW: 10·log10(0.0501 mW) = -13.0016 dBm
    watched.lab.insert(replace(LAB, changed_cs=1))
    watched.pump.insert(replace(PUMP, rx=50.1e-6, changed_cs=1))
    verdict = watched.watch.until_verdict(
        "the reading under the new index",
        lambda v: (
            isinstance(v.ab.rx, Measured)
            and abs(v.ab.rx.power.value + 13.0016) < 0.01
            and v.up is True
            and v.at_ms > begun
        ),
        timeout_s=60,
    )
    assert verdict.b.answers
    watched.station.send(frames=1000)
    watched.watch.until(
        "frames counted under the new index",
        lambda: sum(r.deltas.in_frames or 0 for r in rows(watched, End.B, since_ms=begun)) >= 1000,
    )
    without_spikes(rows(watched, End.A, since_ms=begun) + rows(watched, End.B, since_ms=begun))
    assert EventKind.RESTARTED not in watched.watch.kinds(since_ms=begun)


def test_a_module_pulled_out_and_put_back_is_noticed(watched: Scene) -> None:
    """Its rows are gone (noSuchInstance), its link is down, and the switch answers as before."""
    begun = since(watched)
    watched.station.cut_fibre()
    watched.pump.insert(replace(PUMP, serial="", changed_cs=4711))
    gone = watched.watch.until_event(EventKind.MODULE_REMOVED, since_ms=begun)
    assert gone.end is End.B
    verdict = watched.watch.until_verdict(
        "an empty slot has no figures", lambda v: v.ab.rx == NOT_REPORTED and v.ab.margin is None
    )
    assert verdict.b.answers
    assert isinstance(verdict.ba.rx, Measured)
    assert (FindingKind.MODULE_MISSING, End.B) in {(f.kind, f.end) for f in verdict.findings}
    watched.station.mend_fibre()
    watched.pump.insert(replace(PUMP, changed_cs=4712))
    watched.watch.until_event(EventKind.MODULE_INSERTED, since_ms=begun)
    watched.watch.until_verdict("figures again", lambda v: isinstance(v.ab.rx, Measured))


def test_a_killed_daemon_loses_at_most_one_batch_and_goes_on(watched: Scene) -> None:
    killed_at = time.time()
    watched.watch.kill()
    stored = newest_ms(watched)
    kept = len(rows(watched, End.A, since_ms=0))
    # a batch is 2 s; the status interval, the poll and the machine's other work come on top
    assert killed_at - stored / 1000 < 10
    watched.watch.start()
    watched.watch.until(
        "a newer row of each end",
        lambda: all(rows(watched, end, since_ms=stored + 1) for end in End),
        timeout_s=60,
    )
    watched.settle()
    assert len([r for r in rows(watched, End.A, since_ms=0) if r.time_ms <= stored]) == kept
    again = rows(watched, End.A, since_ms=stored)
    assert again
    without_spikes(again + rows(watched, End.B, since_ms=stored))
    assert EventKind.RESTARTED not in watched.watch.kinds(since_ms=stored)


def test_a_daemon_told_to_end_ends_with_zero_and_has_written_everything(watched: Scene) -> None:
    told_at = time.time()
    try:
        assert watched.watch.stop() == 0, watched.watch.log()
        assert told_at - newest_ms(watched) / 1000 < 5
    finally:
        watched.watch.start()
