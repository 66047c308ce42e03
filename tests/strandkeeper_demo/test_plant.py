"""The invented plant does what the story says, and knows no seam between history and live."""

from __future__ import annotations

import math
import statistics

import pytest

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.optics.units import Db
from strandkeeper_demo.faults import DAY_S, Knock, Overheat, PowerCut
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import JETTY, PUMP_HOUSE, Scenario, story


def received_dbm(plant: Plant, link: Link, end: End, time_s: float) -> float:
    """From the module's own counts of 0.1 µW."""
    counts = plant.counts(*plant.port(link, end), time_s)
    assert counts is not None
    return _dbm(counts.rx)


def _dbm(tenth_microwatts: int) -> float:
    """1 mW is 10000 counts (SFF-8472 9.2)."""
    return 10 * math.log10(tenth_microwatts / 10_000)


def daily_median_loss(plant: Plant, link: Link, direction: Direction, days_ago: int) -> float:
    """Transmit minus receive reading, in dB, over one day's hours."""
    start = plant.scenario.now_s - days_ago * DAY_S
    losses = []
    for hour in range(24):
        time_s = start + hour * 3600
        sender = plant.counts(*plant.port(link, direction.sender), time_s)
        receiver = plant.counts(*plant.port(link, direction.receiver), time_s)
        assert sender is not None
        assert receiver is not None
        if sender.tx and receiver.rx:
            losses.append(_dbm(sender.tx) - _dbm(receiver.rx))
    return statistics.median(losses)


def test_two_tellings_of_one_story_are_the_same_to_the_last_count(scenario: Scenario) -> None:
    one, other = Plant(scenario), Plant(scenario)
    link = scenario.link(JETTY)
    for hours in range(0, 60 * 24, 7):
        time_s = scenario.start_s + hours * 3600
        # Asked in another order before: no memory may show.
        other.counts(*other.port(link, End.B), time_s + 99)
        assert one.counts(*one.port(link, End.A), time_s) == other.counts(
            *other.port(link, End.A), time_s
        )


@pytest.mark.parametrize("name", [PUMP_HOUSE, JETTY])
@pytest.mark.parametrize("end", list(End))
def test_nothing_jumps_where_history_becomes_live(plant: Plant, name: str, end: End) -> None:
    link = plant.scenario.link(name)  # type: ignore[arg-type]
    now = plant.scenario.now_s
    before, after = (received_dbm(plant, link, end, now + s) for s in (-1, 1))
    # Noise of ±3·0.02 dB on either side is all that may differ within two seconds.
    assert abs(after - before) < 0.13


def test_live_figures_move_a_little(plant: Plant) -> None:
    link = plant.scenario.link(PUMP_HOUSE)
    readings = [received_dbm(plant, link, End.A, plant.scenario.now_s + 10 * n) for n in range(60)]
    assert 0.005 < statistics.pstdev(readings) < 0.1


def test_the_steady_direction_keeps_its_loss_for_sixty_days(plant: Plant) -> None:
    link = plant.scenario.link(PUMP_HOUSE)
    medians = [daily_median_loss(plant, link, Direction.BA, day) for day in range(60, 0, -3)]
    assert max(medians) - min(medians) < 0.06


def test_the_creeping_direction_loses_what_the_story_says(plant: Plant) -> None:
    link = plant.scenario.link(PUMP_HOUSE)
    first = daily_median_loss(plant, link, Direction.AB, 58)
    last = daily_median_loss(plant, link, Direction.AB, 1)
    # It starts 48 days before the midnight before now and adds 0.018 dB a day.
    assert last - first == pytest.approx(47.0 * 0.018, abs=0.06)


def test_the_knock_costs_both_wavelengths_alike_and_the_rework_gives_it_back(
    plant: Plant,
) -> None:
    link = plant.scenario.link(JETTY)
    (knock,) = plant.scenario.of_kind(Knock)
    for direction in Direction:
        before, during, after = (
            plant.loss(link, direction, t)
            for t in (knock.start_s - 60, knock.start_s + DAY_S, knock.end_s + 7200)
        )
        assert (during - before).value == pytest.approx(2.6, abs=0.36)
        assert (after - before).value == pytest.approx(0.15, abs=1e-6)


def test_a_freezing_night_costs_the_longer_wavelength_more(plant: Plant) -> None:
    link = plant.scenario.link(JETTY)
    midnight = plant.scenario.now_s - 12 * 3600
    night, noon = midnight - DAY_S + 6 * 3600, midnight - DAY_S + 15 * 3600
    assert plant.weather.air_c(night) < 0 < plant.weather.air_c(noon)
    lost = {d: (plant.loss(link, d, night) - plant.loss(link, d, noon)).value for d in Direction}
    # A to B goes at 1490 nm, B to A at 1310 nm.
    assert lost[Direction.BA] > 0.5
    assert lost[Direction.AB] == pytest.approx(1.9 * lost[Direction.BA], rel=0.2)


def test_a_night_without_power_is_dark_and_silent_and_ends_with_a_start(plant: Plant) -> None:
    link = plant.scenario.link(PUMP_HOUSE)
    (cut,) = plant.scenario.of_kind(PowerCut)
    switch, _ = plant.port(link, End.B)
    dark = cut.start_s + 3600
    assert not plant.answers(switch.name, dark)
    assert plant.arriving(link, End.A, dark) is None
    assert not plant.link_is_up(link, dark)
    earlier, later = plant.boot(switch.name, dark), plant.boot(switch.name, cut.answers_s + 1)
    assert later.number == earlier.number + 1
    assert cut.end_s < later.time_s < cut.link_s < cut.answers_s
    assert plant.link_is_up(link, cut.link_s + 3)


def test_the_hot_module_passes_seventy_degrees_and_cools_again(plant: Plant) -> None:
    link = plant.scenario.link(PUMP_HOUSE)
    (heat,) = plant.scenario.of_kind(Overheat)
    place = plant.port(link, End.B)
    assert plant.module_c(*place, heat.start_s) < 40
    assert 70 < plant.module_c(*place, heat.end_s) < 80
    assert plant.module_c(*place, heat.end_s + DAY_S) < 40


def test_no_module_reads_light_that_it_does_not_get(plant: Plant) -> None:
    link = plant.scenario.link(JETTY)
    plant.meddling.unplug(link.name, time_s=plant.scenario.now_s)
    for end in End:
        counts = plant.counts(*plant.port(link, end), plant.scenario.now_s + 5)
        assert counts is not None
        assert counts.rx == 0
        assert counts.tx > 0


def test_loss_added_by_hand_arrives_in_that_direction_alone(plant: Plant) -> None:
    link, now = plant.scenario.link(PUMP_HOUSE), plant.scenario.now_s
    before = [received_dbm(plant, link, end, now) for end in End]
    plant.meddling.add_loss(link.name, Direction.AB, Db(3.0))
    after = [received_dbm(plant, link, end, now) for end in End]
    assert before[End.A] == after[End.A]
    assert before[End.B] - after[End.B] == pytest.approx(3.0, abs=0.01)
    assert plant.link_is_up(link, now)
    plant.meddling.add_loss(link.name, Direction.AB, Db(20.0))
    assert not plant.link_is_up(link, now)


def test_a_pulled_module_darkens_the_far_end(plant: Plant) -> None:
    link, now = plant.scenario.link(PUMP_HOUSE), plant.scenario.now_s
    switch, port = plant.port(link, End.B)
    plant.meddling.pull_module(switch.name, port.name, time_s=now)
    assert plant.counts(switch, port, now + 1) is None
    assert plant.arriving(link, End.A, now + 1) is None
    assert plant.last_change(link, now + 1) == now
    plant.meddling.put_module_back(switch.name, port.name, time_s=now + 10)
    assert plant.arriving(link, End.A, now + 11) is not None
    assert plant.last_change(link, now + 11) == now + 10


def test_nights_fall_by_the_local_clock() -> None:
    offset = 9 * 3600
    plant = Plant(story(now_s=1_767_268_800, utc_offset_s=offset))
    (cut,) = plant.scenario.of_kind(PowerCut)
    assert ((cut.start_s + offset) % DAY_S) / 3600 == pytest.approx(1.68)
