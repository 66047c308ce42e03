"""Quiet hours, retries and units: small pure decisions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.alerts.quiet_hours import QuietHours, is_quiet, quiet_until_ms
from strandkeeper.alerts.retry import next_delay_s
from strandkeeper.alerts.wording_units import Units, in_units

HOUR_MS = 3_600_000
NIGHT = QuietHours(from_min=22 * 60, to_min=7 * 60)
SIESTA = QuietHours(from_min=13 * 60, to_min=15 * 60)
NONE = QuietHours(from_min=0, to_min=0)


@pytest.mark.parametrize(
    ("hours", "hour", "offset_h", "quiet"),
    [
        (NIGHT, 21.99, 0, False),
        (NIGHT, 22, 0, True),
        (NIGHT, 6.99, 0, True),
        (NIGHT, 7, 0, False),
        (NIGHT, 20, 2, True),
        (NIGHT, 23, -2, False),
        (SIESTA, 14, 0, True),
        (SIESTA, 15, 0, False),
        (NONE, 3, 0, False),
    ],
)
def test_quiet_hours_are_those_of_the_place(
    hours: QuietHours, hour: float, offset_h: int, quiet: bool
) -> None:
    assert is_quiet(hours, round(hour * HOUR_MS), offset_h * 3600) is quiet


@given(
    st.integers(0, 2 * 10**12),
    st.integers(-14 * 3600, 14 * 3600),
    st.integers(0, 1439),
    st.integers(0, 1439),
)
def test_quiet_hours_end_within_a_day_and_are_then_over(
    now_ms: int, offset_s: int, begin: int, end: int
) -> None:
    hours = QuietHours(from_min=begin, to_min=end)
    until = quiet_until_ms(hours, now_ms, offset_s)
    assert now_ms <= until < now_ms + 24 * HOUR_MS
    assert not is_quiet(hours, until, offset_s)
    assert is_quiet(hours, now_ms, offset_s) is (until > now_ms) or until == now_ms


def test_tries_grow_apart_up_to_a_quarter_of_an_hour_and_end_after_days() -> None:
    delays = [next_delay_s(n, 0) for n in range(1, 40)]
    assert delays == sorted(delays, key=lambda d: d or 0)
    assert (delays[0], delays[-1]) == (5, 900)
    assert next_delay_s(1, 7 * 86_400 - 1) is not None
    assert next_delay_s(1, 7 * 86_400) is None
    with pytest.raises(ValueError, match="not tried"):
        next_delay_s(0, 0)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("The module at Lab is at 0 °C.", "The module at Lab is at 32 °F."),
        ("at −40 °C", "at −40 °F"),
        ("about 0.9 dB per °C", "about 0.5 dB per °F"),
        ("900 m of cable", "2953 ft of cable"),
        ("−19.5 dBm, 12.5 mA, 5 minutes", "−19.5 dBm, 12.5 mA, 5 minutes"),
        ("Gi1/0 m3 x", "Gi1/0 m3 x"),
    ],
)
def test_the_owner_reads_the_units_of_the_owner(said: str, expected: str) -> None:
    # 0 °C = 32 °F and -40 °C = -40 °F by definition; 900 m / 0.3048 = 2952.76 ft
    assert in_units(said, Units(feet=True, fahrenheit=True)) == expected
    assert in_units(said, Units()) == said
