"""RFC 3433's scale, precision and units, against worked examples and exact arithmetic."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from mpmath import mp

from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.readers.sensor_value import power_from_dbm, power_from_watts, scaled

# Worked by hand from the formula of RFC 3433, raw * 10^(3*(scale-9)) / 10^precision, in W; the dBm
# by mpmath with 30 digits below.
LINEAR = [
    pytest.param(2999, 8, 4, Fraction(2999, 10**7), id="milli, 4 places: 0.2999 mW"),
    pytest.param(2999, 7, 1, Fraction(2999, 10**7), id="micro, 1 place: 299.9 uW"),
    pytest.param(299916, 9, 9, Fraction(299916, 10**9), id="units, 9 places"),
    pytest.param(1, 7, 1, Fraction(1, 10**7), id="one count of SFF-8472: 0.1 uW"),
    pytest.param(65535, 7, 1, Fraction(65535, 10**7), id="the largest count of SFF-8472"),
]


@pytest.mark.parametrize(("raw", "scale", "precision", "watts"), LINEAR)
def test_watts_of_any_scale_become_the_dbm_of_exact_arithmetic(
    raw: int, scale: int, precision: int, watts: Fraction
) -> None:
    with mp.workdps(30):
        exact = 10 * mp.log10(mp.mpf(watts.numerator) / watts.denominator * 1000)
    power = power_from_watts(raw, scale, precision)
    assert isinstance(power, Measured)
    assert abs(power.power.value - float(exact)) < 1e-12


def test_the_three_ways_to_write_a_third_of_a_milliwatt_read_minus_5_23() -> None:
    for raw, scale, precision in ((2999, 8, 4), (2999, 7, 1), (299916, 9, 9)):
        power = power_from_watts(raw, scale, precision)
        assert isinstance(power, Measured)
        assert f"{power.power.value:.2f}" == "-5.23"


@pytest.mark.parametrize(("raw", "scale", "precision"), [(-523, 9, 2), (-5230, 8, 0)])
def test_dbm_is_not_taken_the_logarithm_of_again(raw: int, scale: int, precision: int) -> None:
    power = power_from_dbm(raw, scale, precision)
    assert isinstance(power, Measured)
    assert power.power.value == -5.23


@pytest.mark.parametrize(
    ("raw", "scale", "precision", "value"),
    [
        pytest.param(352, 9, 1, 35.2, id="35.2 degrees"),
        pytest.param(3310, 8, 0, 3.31, id="3.310 V"),
        pytest.param(3610, 8, 2, 0.0361, id="36.1 mA in A"),
        pytest.param(35, 9, -2, 35.0, id="a negative precision counts digits and shifts nothing"),
        pytest.param(3, 10, 0, 3000.0, id="kilo"),
    ],
)
def test_scale_is_an_enumeration_and_precision_the_places(
    raw: int, scale: int, precision: int, value: float
) -> None:
    assert scaled(raw, scale, precision) == value


@given(st.integers(-(10**9), 10**9), st.integers(1, 17), st.integers(-8, 9))
def test_scaling_is_the_nearest_number_to_the_exact_one(
    raw: int, scale: int, precision: int
) -> None:
    exact = Fraction(raw) * Fraction(1000) ** (scale - 9) / Fraction(10) ** max(0, precision)
    assert scaled(raw, scale, precision) == float(exact)


def test_no_watts_at_all_is_no_light() -> None:
    assert power_from_watts(0, 8, 4) is NO_LIGHT


@pytest.mark.parametrize("raw", [-4000, -4100, -6000, -9900, -32768, -1_000_000_000])
def test_the_agents_words_for_darkness_are_no_light(raw: int) -> None:
    assert power_from_dbm(raw, 9, 2) is NO_LIGHT


def test_the_ends_of_the_range_are_no_readings() -> None:
    assert power_from_watts(1_000_000_000, 7, 1) is NOT_REPORTED
    assert power_from_watts(-1_000_000_000, 7, 1) is NOT_REPORTED
    assert power_from_dbm(1_000_000_000, 9, 2) is NOT_REPORTED


def test_a_negative_number_of_watts_is_not_a_power() -> None:
    assert power_from_watts(-523, 9, 2) is NOT_REPORTED


def test_fifteen_watts_to_a_powered_device_are_not_taken_for_light() -> None:
    assert power_from_watts(15, 9, 0) is NOT_REPORTED


@given(st.integers(1, 65535))
def test_more_microwatts_are_more_dbm(tenths_of_uw: int) -> None:
    less, more = (power_from_watts(n, 7, 1) for n in (tenths_of_uw, tenths_of_uw + 1))
    assert isinstance(less, Measured)
    assert isinstance(more, Measured)
    assert less.power < more.power


@given(st.integers(-(10**9), 10**9), st.integers(1, 17), st.integers(-8, 9))
def test_no_cell_that_the_standard_allows_breaks_the_reading(
    raw: int, scale: int, precision: int
) -> None:
    for of in (power_from_watts, power_from_dbm):
        power = of(raw, scale, precision)
        assert not isinstance(power, Measured) or power.power.value <= 20
