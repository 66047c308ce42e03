"""The table of polls: spread, paired, never dropped, backed off, without a clock of its own."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.jobs.poll_slots import PollTable, back_off, slots
from strandkeeper.model.names import SwitchName


def names(count: int) -> list[SwitchName]:
    return [SwitchName(f"s{n}") for n in range(count)]


def run(
    table: PollTable,
    start_s: int,
    seconds: int,
    *,
    answers: bool = True,
    lasting_s: int = 0,
) -> list[tuple[int, SwitchName, bool]]:
    """Tick once a second; polls end `lasting_s` later."""
    polls: list[tuple[int, SwitchName, bool]] = []
    ending: list[tuple[int, SwitchName]] = []
    for now in range(start_s, start_s + seconds):
        for end, switch in [e for e in ending if e[0] <= now]:
            table.finished(switch, end, answered=answers)
            ending.remove((end, switch))
        for due in table.due(now):
            polls.append((now, due.switch, due.optics))
            if lasting_s:
                ending.append((now + lasting_s, due.switch))
            else:
                table.finished(due.switch, now, answered=answers)
    return polls


def test_each_switch_is_asked_every_ten_seconds_and_for_light_every_thirty() -> None:
    table = PollTable(names(2), status_s=10, optics_s=30, now_s=0)
    polls = run(table, 0, 300)
    assert Counter(s for _, s, _ in polls) == {"s0": 30, "s1": 30}
    light = {s: [t for t, of, optics in polls if optics and of == s] for s in names(2)}
    assert [min(times) for times in light.values()] == [0, 0], "at the first poll"
    for times in light.values():
        apart = [b - a for a, b in itertools.pairwise(times)]
        assert apart[0] <= 30  # to the round whose turn it is
        assert set(apart[1:]) == {30}
    times = [t for t, s, _ in polls if s == "s0"]
    assert {b - a for a, b in itertools.pairwise(times)} == {10}


def test_both_ends_of_a_link_share_a_slot() -> None:
    switches = names(40)
    pairs = [(switches[2 * n], switches[2 * n + 1]) for n in range(20)]
    placed = slots(switches, pairs, 10)
    assert all(placed[a] == placed[b] for a, b in pairs)
    assert set(Counter(placed.values()).values()) == {4}


def test_a_thousand_switches_are_spread_over_the_interval() -> None:
    table = PollTable(names(1000), status_s=10, optics_s=30, now_s=0)
    polls = run(table, 0, 10)
    assert set(Counter(t for t, _, _ in polls).values()) == {100}


def test_the_light_of_a_thousand_switches_is_spread_over_its_interval_and_pairs_keep_together() -> (
    None
):
    switches = names(1000)
    pairs = [(switches[2 * n], switches[2 * n + 1]) for n in range(500)]
    table = PollTable(switches, pairs, status_s=10, optics_s=30, now_s=0)
    polls = [(t, s) for t, s, optics in run(table, 0, 120) if optics and t >= 30]
    in_a_second = Counter(t for t, _ in polls)
    assert max(in_a_second.values()) <= 36, "a thousand in 30 s, without the spread 100 at once"
    when = {s: t for t, s in polls}
    assert all(when[a] == when[b] for a, b in pairs)


def test_switches_that_all_hang_together_are_spread_all_the_same() -> None:
    """A star: one switch in the middle with a link to each of the others."""
    switches = names(200)
    placed = slots(switches, [(switches[0], s) for s in switches[1:]], 10)
    assert max(Counter(placed.values()).values()) <= 20


@given(
    st.integers(1, 60),
    st.lists(st.tuples(st.integers(0, 59), st.integers(0, 59)), max_size=80),
    st.integers(1, 30),
)
def test_every_switch_has_one_slot(
    count: int, pairs: list[tuple[int, int]], slot_count: int
) -> None:
    switches = names(count)
    linked = [(switches[a % count], switches[b % count]) for a, b in pairs]
    placed = slots(switches, linked, slot_count)
    assert set(placed) == set(switches)
    assert all(0 <= slot < slot_count for slot in placed.values())


def test_a_late_tick_polls_once_and_keeps_the_rhythm() -> None:
    table = PollTable(names(1), status_s=10, optics_s=30, now_s=0)
    assert [d.switch for d in table.due(0)] == ["s0"]
    table.finished(SwitchName("s0"), 0, answered=True)
    assert [d.optics for d in table.due(47)] == [True]  # the tick slept 47 s: one poll, not four
    table.finished(SwitchName("s0"), 47, answered=True)
    assert table.due(49) == []
    assert [d.switch for d in table.due(50)] == ["s0"]


def test_a_switch_still_being_polled_is_skipped_and_counted() -> None:
    table = PollTable(names(1), status_s=10, optics_s=30, now_s=0)
    polls = run(table, 0, 100, lasting_s=25)
    assert [t for t, _, _ in polls] == [0, 30, 60, 90]
    assert table.skipped == {"s0": 6}
    assert table.being_polled == {"s0"}


def test_a_silent_switch_is_asked_ever_less_but_at_least_every_thirty_seconds() -> None:
    table = PollTable(names(1), status_s=10, optics_s=30, now_s=0)
    times = [t for t, _, _ in run(table, 0, 200, answers=False)]
    assert times == [0, 10, 20, 40, 70, 100, 130, 160, 190]


def test_a_switch_that_answers_again_is_back_in_its_rhythm_with_its_light() -> None:
    table = PollTable(names(1), status_s=10, optics_s=30, now_s=0)
    run(table, 0, 101, answers=False)
    polls = run(table, 101, 100)
    assert polls[0][0] == 130
    assert polls[0][2] is True
    assert [t for t, _, _ in polls] == [130, 140, 150, 160, 170, 180, 190, 200]


@pytest.mark.parametrize(
    ("misses", "wait_s"), [(0, 10), (1, 10), (2, 10), (3, 20), (4, 30), (5, 30), (1000, 30)]
)
def test_back_off_doubles_after_three_misses_up_to_its_end(misses: int, wait_s: float) -> None:
    assert back_off(10, misses) == wait_s


def test_an_interval_longer_than_the_longest_back_off_stays_as_it_is() -> None:
    assert back_off(60, 10) == 60


def test_a_faster_rate_begins_at_once_and_ends_when_taken_back() -> None:
    table = PollTable(names(2), status_s=10, optics_s=30, now_s=0)
    run(table, 0, 60)
    table.set_intervals(SwitchName("s0"), 60, status_s=1, optics_s=1)
    fast = [(s, optics) for _, s, optics in run(table, 61, 20) if s == "s0"]
    assert fast == [("s0", True)] * 20
    table.set_intervals(SwitchName("s0"), 81, status_s=10, optics_s=30)
    assert len([1 for _, s, _ in run(table, 81, 100) if s == "s0"]) in (10, 11)


@given(st.lists(st.tuples(st.integers(1, 40), st.booleans(), st.booleans()), max_size=60))
def test_no_switch_is_ever_forgotten_or_asked_twice_at_once(
    ticks: list[tuple[int, bool, bool]],
) -> None:
    """Any order of late ticks, ended and unended polls: whoever is free is asked within 30 s."""
    table = PollTable(names(3), status_s=10, optics_s=30, now_s=0)
    now, running = 0, set[SwitchName]()
    for step, ends, answered in ticks:
        now += step
        started = {d.switch for d in table.due(now)}
        assert not started & running
        running |= started
        if ends:
            for switch in running:
                table.finished(switch, now, answered=answered)
            running = set()
    for switch in running:
        table.finished(switch, now, answered=False)
    assert {d.switch for d in table.due(now + 31)} == set(names(3))
