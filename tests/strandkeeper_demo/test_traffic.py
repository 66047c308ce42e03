"""The counters count up, agree at both ends, and start over with their switch."""

from __future__ import annotations

from strandkeeper.model.names import End
from strandkeeper_demo.faults import DAY_S, DamagedFrames, PowerCut
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import JETTY, PUMP_HOUSE
from strandkeeper_demo.traffic import PortCounters, Traffic


def counters(plant: Plant, name: str, end: End, time_s: float) -> PortCounters:
    switch, port = plant.port(plant.scenario.link(name), end)  # type: ignore[arg-type]
    boot = plant.boot(switch.name, time_s)
    return Traffic(plant).counters(switch.name, port.name, time_s, boot.time_s)


def test_no_counter_falls_while_its_switch_runs(plant: Plant) -> None:
    start = plant.scenario.start_s
    earlier = counters(plant, JETTY, End.B, start)
    for hours in range(1, 60 * 24):
        later = counters(plant, JETTY, End.B, start + hours * 3600)
        assert later.in_octets >= earlier.in_octets
        assert later.out_octets >= earlier.out_octets
        assert later.in_frames >= earlier.in_frames
        assert later.fcs_errors >= earlier.fcs_errors
        assert later.exits >= earlier.exits
        earlier = later


def test_what_one_end_sends_the_other_receives(plant: Plant) -> None:
    now = plant.scenario.now_s
    a, b = (counters(plant, JETTY, end, now) for end in End)
    assert a.out_octets == b.in_octets
    assert a.in_octets == b.out_octets
    assert a.out_frames == b.in_frames + b.fcs_errors


def test_counters_start_over_after_a_night_without_power(plant: Plant) -> None:
    (cut,) = plant.scenario.of_kind(PowerCut)
    before = counters(plant, PUMP_HOUSE, End.B, cut.start_s)
    after = counters(plant, PUMP_HOUSE, End.B, cut.answers_s)
    assert 0 < after.in_octets < before.in_octets / 1000


def test_traffic_is_busier_by_day_than_by_night(plant: Plant) -> None:
    midnight = plant.scenario.now_s - 12 * 3600 - 7 * DAY_S

    def carried(from_hour: int) -> int:
        first, last = (
            counters(plant, PUMP_HOUSE, End.A, midnight + h * 3600).in_octets
            for h in (from_hour, from_hour + 1)
        )
        return last - first

    assert carried(12) > 1.5 * carried(1)


def test_the_storm_damages_frames_towards_the_jetty_alone(plant: Plant) -> None:
    (damage,) = plant.scenario.of_kind(DamagedFrames)
    hurt, whole = (counters(plant, JETTY, end, plant.scenario.now_s) for end in (End.B, End.A))
    # 60 an hour for 1.4 hours (scenario), from its first second to its last.
    assert (damage.end_s - damage.start_s) / 3600 * damage.per_hour == hurt.fcs_errors == 84
    assert whole.fcs_errors == 0
