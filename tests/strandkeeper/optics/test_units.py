"""Units that cannot be mixed, and conversions at the edges of every range."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.optics.resolution import FULL_SCALE, count_resolution
from strandkeeper.optics.units import Db, Dbm, Microwatt, Milliwatt


@pytest.mark.parametrize(
    ("dbm", "counts"),
    [
        pytest.param(0, 10000, id="SFF-8472 computed 0 dBm"),
        pytest.param(-3, 5011.87, id="SFF-8472 computed -3 dBm"),
        pytest.param(-10, 1000, id="SFF-8472 computed -10 dBm"),
        pytest.param(-14.4, 363.08, id="SFF-8472 computed -14.4 dBm"),
        pytest.param(-19, 125.89, id="SFF-8472 computed -19 dBm"),
        pytest.param(-20, 100, id="SFF-8472 computed -20 dBm"),
        pytest.param(-30, 10, id="SFF-8472 computed -30 dBm"),
        pytest.param(-40, 1, id="SFF-8472 computed -40 dBm"),
    ],
)
def test_counts_of_a_tenth_of_a_microwatt(dbm: float, counts: float) -> None:
    assert Dbm(dbm).to_milliwatt().to_microwatt().value * 10 == pytest.approx(counts, abs=0.006)


def test_full_scale_is_8_1647_dbm() -> None:
    """65535 counts are 6.5535 mW (SFF-8472 section 9.2)."""
    assert FULL_SCALE.value == pytest.approx(8.1647, abs=5e-5)


@given(st.floats(min_value=-80, max_value=30))
def test_dbm_to_mw_and_back_is_the_same(value: float) -> None:
    assert Dbm(value).to_milliwatt().to_dbm().value == pytest.approx(value, abs=1e-9)


@given(st.floats(min_value=-80, max_value=30), st.floats(min_value=1e-6, max_value=10))
def test_more_dbm_is_more_mw(value: float, more: float) -> None:
    assert Dbm(value).to_milliwatt() < Dbm(value + more).to_milliwatt()


def test_no_light_has_no_dbm() -> None:
    with pytest.raises(ValueError, match="0 mW has no value in dBm"):
        Milliwatt(0).to_dbm()


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_power_is_finite(value: float) -> None:
    for make in (Dbm, Milliwatt, Microwatt):
        with pytest.raises(ValueError, match="is not a power"):
            make(value)


def test_a_power_is_not_negative() -> None:
    for make in (Milliwatt, Microwatt):
        with pytest.raises(ValueError, match="is not a power"):
            make(-0.1)


@pytest.mark.parametrize(
    ("left", "right"),
    [(Dbm(1), Dbm(1)), (Db(1), Dbm(1)), (Dbm(1), 1.0), (Db(1), 1.0), (Milliwatt(1), Db(1))],
)
def test_sums_that_physics_does_not_have_are_type_errors(left: Any, right: Any) -> None:
    if isinstance(left, Db) and isinstance(right, Dbm):
        assert right + left == Dbm(2)  # a loss may stand on either side
        return
    with pytest.raises(TypeError):
        left + right


def test_the_arithmetic_that_physics_has() -> None:
    assert Dbm(-3) - Dbm(-10) == Db(7)
    assert Dbm(-3) - Db(7) == Dbm(-10)
    assert Db(1) + Db(2) == Db(3)
    assert Db(3) * 2 == Db(6)


@pytest.mark.parametrize(
    ("dbm", "up", "down"),
    [
        pytest.param(-20, 0.043, 0.043, id="computed, 100 counts"),
        pytest.param(-25, 0.135, 0.14, id="computed, 31.6 counts"),
        pytest.param(-30, 0.41, 0.46, id="computed, 10 counts"),
        pytest.param(-33, 0.8, 1.0, id="computed, 5 counts"),
        pytest.param(-35, 1.2, 1.7, id="computed, 3 counts"),
        pytest.param(-38, 2.1, 4.3, id="computed, 1.6 counts"),
    ],
)
def test_one_count_is_coarse_where_light_is_weak(dbm: float, up: float, down: float) -> None:
    found = count_resolution(Dbm(dbm))
    assert found.down is not None
    assert found.up.value == pytest.approx(up, abs=0.06)
    assert found.down.value == pytest.approx(down, abs=0.06)


def test_one_count_less_than_one_count_is_no_light() -> None:
    assert count_resolution(Dbm(-40)).down is None
    assert count_resolution(Dbm(-41)).down is None
