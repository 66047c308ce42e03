"""Q, error ratio and the band of a reading, against printed values and mpmath."""

from __future__ import annotations

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special

from strandkeeper.errors import InputError
from strandkeeper.optics.error_ratio import (
    error_ratio_at,
    error_ratio_band,
    q_from_ratio,
    ratio_from_q,
)
from strandkeeper.optics.units import Db

mpmath.mp.dps = 30


@pytest.mark.parametrize(
    ("ratio", "q"),
    [
        pytest.param(5e-5, 3.89059, id="IEEE 802.3cd reflector: 3.8906"),
        pytest.param(2.5e-10, 6.21910, id="computed, FDDI's objective"),
        pytest.param(1e-9, 5.99781, id="Keiser example 7.2: Q = 6"),
        pytest.param(1e-10, 6.36134, id="computed"),
        pytest.param(1e-11, 6.70602, id="computed"),
        pytest.param(1e-12, 7.03448, id="G.691 by a teaching page: 7.03"),
        pytest.param(1e-13, 7.34880, id="computed"),
        pytest.param(1e-15, 7.94135, id="teaching page: 18 dBQ"),
    ],
)
def test_q_of_an_error_ratio(ratio: float, q: float) -> None:
    assert q_from_ratio(ratio) == pytest.approx(q, abs=5e-6)


@pytest.mark.parametrize(("q", "ratio"), [(6, 9.86588e-10), (7, 1.27981e-12), (3, 1.34990e-3)])
def test_error_ratio_of_a_q(q: float, ratio: float) -> None:
    """Vectors of the computed table; the usual approximation is 2 % high at 7, 9 % at 3."""
    assert ratio_from_q(q) == pytest.approx(ratio, rel=5e-6)


@given(st.floats(0, 37))
def test_error_ratio_agrees_with_mpmath_and_scipy(q: float) -> None:
    exact = mpmath.erfc(mpmath.mpf(q) / mpmath.sqrt(2)) / 2
    assert ratio_from_q(q) == pytest.approx(float(exact), rel=1e-11)
    assert ratio_from_q(q) == pytest.approx(float(special.ndtr(-q)), rel=1e-11)


@given(st.floats(-299, -1))
def test_q_and_error_ratio_are_each_others_inverse(exponent: float) -> None:
    ratio = 10**exponent
    assert ratio_from_q(q_from_ratio(ratio)) == pytest.approx(ratio, rel=1e-9)


@pytest.mark.parametrize(
    ("below", "q", "ratio"),
    [
        pytest.param(below, q, ratio, id=f"computed: {below} dB below sensitivity")
        for below, q, ratio in (
            (-3, 14.036, 4.7e-45),
            (-1, 8.8559, 4.15e-19),
            (-0.5, 7.8928, 1.48e-15),
            (0, 7.0345, 1.00e-12),
            (0.5, 6.2695, 1.81e-10),
            (1, 5.5877, 1.15e-8),
            (1.5, 4.9800, 3.18e-7),
            (2, 4.4385, 4.53e-6),
            (3, 3.5256, 2.11e-4),
            (4, 2.8005, 2.55e-3),
            (6, 1.7670, 3.86e-2),
        )
    ],
)
def test_error_ratio_around_the_sensitivity(below: float, q: float, ratio: float) -> None:
    """Q proportional to optical power: a decibel of light is ten·log, not twenty·log, of Q."""
    found = error_ratio_at(Db(-below))
    assert found == pytest.approx(ratio, rel=6e-3)
    assert q_from_ratio(found) == pytest.approx(q, abs=5e-4)


def test_decades_cost_what_the_model_says_and_less_than_the_standard_allows() -> None:
    """1e-10 to 1e-12 is 0.437 dB, 1e-12 to 1e-15 0.527 dB; IEEE 802.3 58.3.2 takes 1 dB."""
    assert error_ratio_at(Db(0.437), objective=1e-10) == pytest.approx(1e-12, rel=5e-3)
    assert error_ratio_at(Db(0.527)) == pytest.approx(1e-15, rel=1e-2)
    assert error_ratio_at(Db(1), objective=1e-10) < 1e-12


def test_three_db_of_accuracy_span_more_than_ten_decades() -> None:
    band = error_ratio_band(Db(0), accuracy=Db(3))
    assert band.best < 1e-10 * band.worst
    assert band.middle == pytest.approx(1e-12)


@given(st.floats(-10, 20), st.floats(0, 6), st.sampled_from([5e-5, 2.5e-10, 1e-12]))
def test_the_band_is_ordered(margin: float, accuracy: float, objective: float) -> None:
    band = error_ratio_band(Db(margin), accuracy=Db(accuracy), objective=objective)
    assert 0 <= band.best <= band.middle <= band.worst <= 0.5


@given(st.floats(-10, 20), st.floats(0.001, 5))
def test_more_light_is_fewer_errors(margin: float, more: float) -> None:
    assert error_ratio_at(Db(margin + more)) <= error_ratio_at(Db(margin))


@pytest.mark.parametrize("ratio", [0, 1, -1e-12, float("nan"), 0.6])
def test_objectives_that_are_none_are_refused(ratio: float) -> None:
    with pytest.raises(InputError, match="out of range"):
        q_from_ratio(ratio)


def test_a_negative_accuracy_is_refused() -> None:
    with pytest.raises(InputError, match="accuracy"):
        error_ratio_band(Db(0), accuracy=Db(-1))
    with pytest.raises(InputError, match="Q factor"):
        ratio_from_q(-1)
