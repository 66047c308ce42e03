"""Who saw a time down, and how often the link went down in a day and in two weeks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.analysis import engine
from strandkeeper.analysis.times_down import counted
from strandkeeper.model.block import Block, Col
from strandkeeper.model.finding import EvidenceKind, FindingKind
from strandkeeper.model.link import DirectionFacts, LinkFacts
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.model.verdict import EventKind, LinkVerdict

Build = Callable[..., Any]
START_MS = 1_750_000_200_000
HOUR_MS = 3_600_000
FACTS = LinkFacts(name=LinkName("jetty"), ab=DirectionFacts(), ba=DirectionFacts(), near=End.A)


def row(
    at_ms: int, end: End, oper: OperStatus, change_s: float = -1000, *, by_trap: bool = False
) -> EndRow:
    """The switches have been up for a day; a trap's last change is its own time."""
    uptime_cs = 8_640_000 + at_ms // 10
    change_cs = uptime_cs if by_trap else 8_640_000 + round(change_s * 100)
    return EndRow(
        time_ms=START_MS + at_ms,
        end=end,
        oper=oper,
        uptime_cs=uptime_cs,
        last_change_cs=change_cs,
        by_trap=by_trap,
    )


def polls(at_s: int, a: OperStatus, b: OperStatus, change_s: float = -1000) -> list[EndRow]:
    return [
        row(at_s * 1000, End.A, a, change_s),
        row(at_s * 1000 + 1, End.B, b, change_s),
    ]


UP, DOWN = OperStatus.UP, OperStatus.DOWN


def judged(rows: Sequence[EndRow], *, one_by_one: bool = False) -> tuple[LinkVerdict, list[Any]]:
    state, events = engine.initial(FACTS), []
    blocks = [[r] for r in rows] if one_by_one else [list(rows)]
    for block in blocks:
        state, found = engine.advance(FACTS, state, Block.from_rows(block))
        events += found.events
    return found.verdict, events


SEEN_THREE_WAYS = [
    *polls(0, UP, UP),
    *polls(10, UP, UP),
    row(14_020, End.B, DOWN, by_trap=True),
    *polls(20, DOWN, DOWN, change_s=14),
    row(31_020, End.B, UP, by_trap=True),
    *polls(40, UP, UP, change_s=31),
    *polls(50, UP, UP, change_s=31),
]


@pytest.mark.parametrize("one_by_one", [True, False])
def test_one_flap_seen_by_trap_by_polls_and_by_last_change_is_one_and_names_all_three(
    one_by_one: bool,
) -> None:
    verdict, events = judged(SEEN_THREE_WAYS, one_by_one=one_by_one)
    (flap,) = verdict.flaps
    assert set(flap.seen_by) == {
        *("trap of B", "poll of A", "poll of B"),
        *("last change of A", "last change of B"),
    }
    # down from the trap on; up when the last end is, by that switch's own clock
    assert (flap.from_ms - START_MS, flap.to_ms - START_MS) == (14_020, 31_000)
    assert verdict.outages == ()
    assert [e.kind for e in events if e.kind is EventKind.FLAP_BETWEEN_POLLS] == []
    assert (verdict.downs_24h, verdict.downs_14d) == (1, 1)


def test_a_flap_that_only_traps_told_and_the_switch_remembers_names_no_poll() -> None:
    rows = [
        *polls(0, UP, UP),
        *polls(10, UP, UP),
        row(13_000, End.B, DOWN, by_trap=True),
        row(15_000, End.B, UP, by_trap=True),
        *polls(20, UP, UP, change_s=15),
    ]
    (flap,) = judged(rows)[0].flaps
    assert flap.seen_by == ("trap of B", "last change of A", "last change of B")


def test_a_flap_that_polls_alone_saw_names_no_trap() -> None:
    rows = [*polls(0, UP, UP), *polls(10, DOWN, UP), *polls(20, UP, UP)]
    (flap,) = judged(rows)[0].flaps
    assert flap.seen_by == ("poll of A",)
    assert flap.uncertainty_s == pytest.approx(10, abs=0.01)


def test_a_flap_between_two_polls_began_at_some_time_after_the_first_of_them() -> None:
    """Last poll at 10 s, up again at 17 s by the switch's own clock: down from 10 s at the most."""
    verdict, events = judged([*polls(0, UP, UP), *polls(10, UP, UP), *polls(20, UP, UP, 17)])
    (flap,) = verdict.flaps
    assert flap.to_ms - START_MS == 17_000
    assert flap.uncertainty_s == pytest.approx(7, abs=0.01)
    (event,) = [e for e in events if e.kind is EventKind.FLAP_BETWEEN_POLLS]
    assert event.uncertainty_ms == pytest.approx(7000, abs=10)


def test_a_lasting_outage_names_who_saw_it_too() -> None:
    rows = [*polls(0, UP, UP), row(4000, End.A, DOWN, by_trap=True), *polls(90, DOWN, DOWN, 4)]
    (outage,) = judged(rows)[0].outages
    assert "trap of A" in outage.seen_by
    assert "poll of B" in outage.seen_by
    assert outage.uncertainty_s == 0


def test_a_trap_is_not_dated_by_the_change_before_it() -> None:
    """The port came up 20 s ago, which the last poll told; the trap tells of now."""
    rows = [*polls(0, UP, UP), *polls(10, UP, UP, -10), row(14_000, End.B, DOWN, by_trap=True)]
    verdict, events = judged(rows)
    (down,) = [e for e in events if e.kind is EventKind.LINK_DOWN]
    assert down.time_ms - START_MS == 14_000
    assert verdict.outages[-1].from_ms - START_MS == 14_000


def test_a_poll_that_brings_no_new_time_of_change_is_dated_by_itself() -> None:
    rows = [*polls(0, UP, UP, -10), *polls(10, DOWN, UP, -10)]
    (outage,) = judged(rows)[0].outages
    assert outage.from_ms - START_MS == 10_000


@given(cuts=st.sets(st.integers(1, len(SEEN_THREE_WAYS) - 1)))
def test_any_split_of_the_rows_names_the_same(cuts: set[int]) -> None:
    state = engine.initial(FACTS)
    edges = [0, *sorted(cuts), len(SEEN_THREE_WAYS)]
    for start, stop in pairwise(edges):
        block = Block.from_rows(SEEN_THREE_WAYS[start:stop])
        state, found = engine.advance(FACTS, state, block)
    assert found.verdict.flaps == judged(SEEN_THREE_WAYS)[0].flaps


def flapping(times_s: Sequence[int], until_s: int) -> LinkVerdict:
    rows = polls(0, UP, UP)
    for at_s in times_s:
        rows += [*polls(at_s, DOWN, UP), *polls(at_s + 2, UP, UP)]
    return judged([*rows, *polls(until_s, UP, UP)])[0]


def test_two_weeks_are_counted_in_full_however_many_times_were_in_them() -> None:
    """A flap in each of 13 nights, then 300 in an hour: far more than the verdict lists."""
    nights = [86_400 * day for day in range(1, 14)]
    storm = [86_400 * 14 - 3600 + 10 * n for n in range(300)]
    verdict = flapping([*nights, *storm], 86_400 * 14)
    assert len(verdict.flaps) == 32
    assert verdict.downs_14d == 313
    assert verdict.downs_7d == 306  # nights 8 to 13 and the storm
    assert verdict.downs_24h == 300
    (found,) = [f for f in verdict.findings if f.kind is FindingKind.FLAPPING]
    assert {e.kind: e.value for e in found.evidence}[EvidenceKind.FLAPS] == 313


def test_what_is_older_than_a_day_or_two_weeks_is_not_counted() -> None:
    verdict = flapping([3600, 86_400 * 13], 86_400 * 15)
    assert (verdict.downs_24h, verdict.downs_14d) == (0, 1)


def test_once_in_each_of_three_nights_is_found_also_after_a_storm_of_flaps() -> None:
    """100 flaps in the third night push the notes of the first two out."""
    storm = [86_400 * 3 + 10 * n for n in range(100)]
    verdict = flapping([86_400, 86_400 * 2, *storm], 86_400 * 5)
    assert any(f.kind is FindingKind.FLAPPING for f in verdict.findings)


@given(st.lists(st.integers(0, 40 * 24 * HOUR_MS), max_size=200))
def test_counts_by_the_hour_are_bounded_and_lose_nothing_of_two_weeks(times: list[int]) -> None:
    hours: list[tuple[int, int]] = []
    for at_ms in sorted(times):
        hours = counted(hours, at_ms)
    assert len(hours) <= 14 * 24 + 1
    newest = max(times, default=0) // HOUR_MS
    for hour in range(newest - 14 * 24, newest + 1):
        assert dict(hours).get(hour, 0) == sum(t // HOUR_MS == hour for t in times)


def test_a_state_keeps_its_counts_through_bytes() -> None:
    state = engine.initial(FACTS)
    state, _ = engine.advance(FACTS, state, Block.from_rows(SEEN_THREE_WAYS))
    assert engine.decode(engine.encode(state)).live.down_hours == state.live.down_hours != []


def test_rows_of_traps_are_told_from_polls_in_a_block() -> None:
    block = Block.from_rows(SEEN_THREE_WAYS)
    assert block.data[Col.BY_TRAP].tolist() == [int(r.by_trap) for r in SEEN_THREE_WAYS]
