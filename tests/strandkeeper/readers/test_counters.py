"""Counters to counts: the traps of facts that were measured on agents, each with its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.model.reading import COUNTER_NAMES, Deltas
from strandkeeper.readers.counters import Count, Counters, CounterState, advance_counters

TURN = 2**32
UNKNOWN = Deltas()


def counters(
    at_s: float,
    values: Mapping[str, int],
    *,
    bits: int = 64,
    speed: int | None = 1000,
    discontinuity: int | None = 0,
    whole: bool = True,
    uptime: int | None = None,
) -> Counters:
    return Counters(
        at_s=at_s,
        counts={name: Count(value, bits) for name, value in values.items()},
        discontinuity_cs=discontinuity,
        speed_mbps=speed,
        whole_frames=whole,
        uptime_cs=uptime,
    )


def differences(*readings: Counters, restarted_at: int | None = None) -> list[Deltas]:
    state, found = CounterState(), []
    for n, reading in enumerate(readings):
        state, deltas = advance_counters(state, reading, restarted=n == restarted_at)
        found.append(deltas)
    return found


def test_the_first_reading_has_nothing_to_compare_with() -> None:
    assert differences(counters(0, {"in_octets": 5000})) == [UNKNOWN]


def test_a_difference_is_counted() -> None:
    first = {"in_octets": 1_000_000, "in_frames": 1000, "fcs_errors": 3}
    second = {"in_octets": 1_064_000, "in_frames": 1100, "fcs_errors": 5}
    found = differences(counters(0, first), counters(10, second))
    assert found[1] == Deltas(in_octets=64_000, in_frames=100, fcs_errors=2)


def test_a_restart_makes_no_difference_and_no_errors() -> None:
    readings = [counters(0, {"fcs_errors": 700}), counters(10, {"fcs_errors": 900})]
    assert differences(*readings, restarted_at=1)[1] == UNKNOWN
    after = differences(*readings, counters(20, {"fcs_errors": 901}), restarted_at=1)
    assert after[2].fcs_errors == 1


def test_an_interruption_that_the_switch_owns_up_to_is_not_counted() -> None:
    found = differences(
        counters(0, {"fcs_errors": 7}), counters(10, {"fcs_errors": 9}, discontinuity=44_000)
    )
    assert found[1] == UNKNOWN


def test_a_64_bit_counter_that_went_back_was_reset() -> None:
    before = {"in_octets": 9_000_000, "fcs_errors": 3}
    after = {"in_octets": 100, "fcs_errors": 3}
    assert differences(counters(0, before), counters(10, after))[1] == UNKNOWN


def test_a_32_bit_counter_that_turned_over_is_counted_on() -> None:
    """100 Mbit/s turns octets in 343 s: 100 MB in 10 s is possible (at most 125 MB)."""
    found = differences(
        counters(0, {"in_octets": TURN - 40_000_000}, bits=32, speed=100),
        counters(10, {"in_octets": 60_000_000}, bits=32, speed=100),
    )
    assert found[1].in_octets == 100_000_000


def test_a_turn_that_the_line_could_not_carry_is_a_reset() -> None:
    found = differences(
        counters(0, {"in_octets": 1_000_000_000}, bits=32, speed=100),
        counters(10, {"in_octets": 5}, bits=32, speed=100),
    )
    assert found[1].in_octets is None


def test_octets_in_32_bits_at_10_gbit_are_not_known() -> None:
    """They turn every 3.4 s: a positive difference may hide turns as well."""
    found = differences(
        counters(0, {"in_octets": 100, "fcs_errors": 1}, bits=32, speed=10_000),
        counters(10, {"in_octets": 900, "fcs_errors": 2}, bits=32, speed=10_000),
    )
    assert found[1].in_octets is None
    assert found[1].fcs_errors == 1


def test_a_cleared_error_counter_is_no_burst_of_four_thousand_million() -> None:
    found = differences(
        counters(0, {"fcs_errors": 1000}, bits=32),
        counters(86_400, {"fcs_errors": 1000}, bits=32),
        counters(86_410, {"fcs_errors": 5}, bits=32),
    )
    assert found[2].fcs_errors is None


def test_a_cleared_error_counter_at_100_gbit_is_none_either() -> None:
    found = differences(
        counters(0, {"fcs_errors": 1000}, bits=32, speed=100_000),
        counters(10, {"fcs_errors": 5}, bits=32, speed=100_000),
    )
    assert found[1].fcs_errors is None


def test_the_jump_of_two_to_the_32_that_hides_below_10_gbit_is_seen() -> None:
    """Net-SNMP's agent adds 2^32 to octets and packets when a device is made anew: 100000 became
    4294967296 within 3.5 s, 9.8 Gbit/s, with no sign in sysUpTime or the discontinuity time."""
    before = {"in_octets": 100_000, "in_frames": 1000, "fcs_errors": 0}
    after = {"in_octets": TURN, "in_frames": TURN, "fcs_errors": 0}
    found = differences(counters(0, before, speed=10_000), counters(3.5, after, speed=10_000))
    assert found[1] == UNKNOWN


def test_the_same_jump_without_a_frame_counter_is_caught_by_the_speed() -> None:
    found = differences(
        counters(0, {"in_octets": 100_000}, speed=1000),
        counters(3.5, {"in_octets": TURN}, speed=1000),
    )
    assert found[1] == UNKNOWN


def test_octets_that_fit_no_frame_put_the_interval_in_doubt() -> None:
    before, after = {"in_octets": 0, "in_frames": 0}, {"in_octets": 90_000_000, "in_frames": 3000}
    assert differences(counters(0, before), counters(10, after))[1] == UNKNOWN  # 30 kB a frame


def test_unicast_frames_alone_are_not_held_against_all_octets() -> None:
    before, after = {"in_octets": 0, "in_frames": 0}, {"in_octets": 90_000_000, "in_frames": 3000}
    found = differences(counters(0, before, whole=False), counters(10, after, whole=False))
    assert found[1] == Deltas(in_octets=90_000_000, in_frames=3000)


def test_counters_that_an_agent_renews_every_30_seconds_are_no_spike() -> None:
    """A gigabit at full rate, 125 MB a second: 0, 0, then 3.75 GB at once is true."""
    full = 125_000_000
    seen = [0, 0, 0, 30 * full, 30 * full, 30 * full, 60 * full]
    frames = [value // 1250 for value in seen]
    readings = [
        counters(10 * n, {"in_octets": value, "in_frames": f})
        for n, (value, f) in enumerate(zip(seen, frames, strict=True))
    ]
    assert [d.in_octets for d in differences(*readings)[1:]] == [
        0,
        0,
        30 * full,
        0,
        0,
        30 * full,
    ]


def test_an_unknown_speed_lets_no_turn_be_believed() -> None:
    found = differences(
        counters(0, {"fcs_errors": TURN - 5}, bits=32, speed=None),
        counters(10, {"fcs_errors": 5}, bits=32, speed=None),
    )
    assert found[1].fcs_errors is None


def test_a_counter_that_changed_its_width_begins_anew() -> None:
    found = differences(
        counters(0, {"in_octets": 500}, bits=32), counters(10, {"in_octets": 900}, bits=64)
    )
    assert found[1].in_octets is None


def test_a_counter_that_was_missing_once_begins_anew() -> None:
    found = differences(
        counters(0, {"fcs_errors": 5}), counters(10, {}), counters(20, {"fcs_errors": 9})
    )
    assert [d.fcs_errors for d in found] == [None, None, None]


@given(
    st.lists(
        st.fixed_dictionaries({name: st.integers(0, 2**64 - 1) for name in COUNTER_NAMES}),
        min_size=2,
        max_size=8,
    ),
    st.sampled_from([32, 64]),
    st.sampled_from([None, 100, 1000, 10_000, 100_000]),
)
def test_whatever_an_agent_says_no_count_is_negative_or_beyond_the_line(
    readings: list[dict[str, int]], bits: int, speed: int | None
) -> None:
    asked = [
        counters(10 * n, {k: v % 2**bits for k, v in values.items()}, bits=bits, speed=speed)
        for n, values in enumerate(readings)
    ]
    for deltas in differences(*asked):
        for name in COUNTER_NAMES:
            count = getattr(deltas, name)
            assert count is None or count >= 0
            if count is not None and speed is not None and name.endswith("octets"):
                # at most what the line carries in the interval and the longest refresh, twice over
                assert count <= speed * 125_000 * (10 + 120 + 11) * 1.06 + 10_000


@given(
    st.lists(st.integers(0, 800_000), min_size=2, max_size=20),
    st.integers(0, 2**32 - 1),
    st.sampled_from([32, 64]),
)
def test_true_traffic_is_counted_to_the_frame(per_poll: list[int], start: int, bits: int) -> None:
    """Frames of 100 octets at up to 64 Mbit/s on a 100 Mbit/s line, polled every 10 s, the
    counters anywhere."""
    octets = [*accumulate([start, *[100 * n for n in per_poll]])]
    frames = [*accumulate([start, *per_poll])]
    readings = [
        counters(
            10 * n,
            {"in_octets": o % 2**bits, "in_frames": f % 2**bits},
            bits=bits,
            speed=100,
        )
        for n, (o, f) in enumerate(zip(octets, frames, strict=True))
    ]
    found = differences(*readings)[1:]
    assert [d.in_frames for d in found] == per_poll
    assert [d.in_octets for d in found] == [100 * n for n in per_poll]


def test_one_frame_more_or_less_between_two_columns_is_no_doubt() -> None:
    before = {"in_octets": 0, "in_frames": 0}
    after = {"in_octets": 0, "in_frames": 1}
    found = differences(counters(0, before), counters(10, after))
    assert found[1] == Deltas(in_octets=0, in_frames=1)


def test_every_counter_that_is_stored_can_be_counted() -> None:
    values = dict.fromkeys(COUNTER_NAMES, 10)
    found = differences(counters(0, values), counters(10, values))
    assert found[1] == Deltas(**dict.fromkeys(COUNTER_NAMES, 0))


@pytest.mark.parametrize("gap_s", [60, 600])
def test_polls_that_were_missed_leave_one_longer_difference(gap_s: int) -> None:
    found = differences(
        counters(0, {"in_frames": 0, "in_octets": 0}),
        counters(gap_s, {"in_frames": 100 * gap_s, "in_octets": 10_000 * gap_s}),
    )
    assert found[1].in_frames == 100 * gap_s


def _beginning(*, whole: bool = True, up_s: float = 0.7) -> list[Deltas]:
    """Measured on snmpd 5.9.3 after its start: octets at once, frames as 0 for three seconds."""
    moments = [
        (0.7, {"in_octets": 885_794, "in_frames": 0, "fcs_errors": 0}),
        (2.8, {"in_octets": 885_794, "in_frames": 0, "fcs_errors": 0}),
        (3.8, {"in_octets": 885_976, "in_frames": 2, "fcs_errors": 7}),
        (4.8, {"in_octets": 886_976, "in_frames": 12, "fcs_errors": 7}),
    ]
    return differences(
        *(
            counters(at, values, whole=whole, uptime=round((up_s + at) * 100))
            for at, values in moments
        )
    )


def test_frames_that_an_agent_has_not_read_yet_are_no_beginning() -> None:
    found = _beginning()
    assert [d.in_frames for d in found] == [None, None, None, 10]
    assert [d.fcs_errors for d in found] == [None, None, None, 0]
    assert found[2].in_octets == 182


def test_no_unicast_frame_yet_and_an_old_agent_without_frames_are_beginnings() -> None:
    for found in (_beginning(whole=False), _beginning(up_s=60)):
        assert [d.in_frames for d in found] == [None, 0, 2, 10]
