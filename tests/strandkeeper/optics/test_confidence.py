"""What counted errors prove: a tester's printed table, and scipy's chi-square and Poisson."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from strandkeeper.errors import InputError
from strandkeeper.optics.confidence import (
    bits_needed,
    confidence_level,
    error_ratio_lower,
    error_ratio_upper,
    seconds_needed,
)


@pytest.mark.parametrize(
    ("errors", "bits"),
    [
        pytest.param(e, n, id=f"bit-error-rate tester's guide p. 247 table 25, {e} errors")
        for e, n in enumerate((2.996, 4.744, 6.296, 7.754, 9.154, 10.51, 11.84))
    ],
)
def test_bits_for_95_percent(errors: int, bits: float) -> None:
    """The same table's companion columns hold a misprint, so only these are used."""
    assert bits_needed(1e-12, errors=errors) / 1e12 == pytest.approx(bits, abs=6e-3)


@pytest.mark.parametrize(
    ("confidence", "mean"),
    [(0.5, 0.69315), (0.8, 1.60944), (0.9, 2.30259), (0.95, 2.99573), (0.99, 4.60517)],
)
def test_error_free_bits_are_minus_log_of_the_doubt(confidence: float, mean: float) -> None:
    """-ln(1 - CL), computed."""
    assert bits_needed(1e-3, confidence=confidence) * 1e-3 == pytest.approx(mean, abs=5e-6)


@pytest.mark.parametrize(
    ("errors", "mean"),
    list(enumerate((6.63835, 8.40595, 10.04512, 11.60463, 13.10848, 14.57062), start=1)),
)
def test_bits_for_99_percent(errors: int, mean: float) -> None:
    found = bits_needed(1e-3, confidence=0.99, errors=errors) * 1e-3
    assert found == pytest.approx(mean, abs=5e-6)


@pytest.mark.parametrize(
    ("rate", "seconds"),
    [
        pytest.param(125e6, 23_966, id="computed, 100 Mb/s"),
        pytest.param(1.25e9, 2396.6, id="computed, gigabit"),
        pytest.param(10.3125e9, 290.50, id="computed, 10 Gb/s"),
        pytest.param(25.78125e9, 116.2, id="computed, 25 Gb/s"),
    ],
)
def test_error_free_time_for_95_percent_at_1e_12(rate: float, seconds: float) -> None:
    assert seconds_needed(1e-12, rate_bd=rate) == pytest.approx(seconds, rel=2e-4)


ERRORS = st.one_of(st.integers(0, 20), st.integers(0, 5000), st.sampled_from([100_000, 1_000_000]))
CONFIDENCE = st.floats(0.01, 0.999)


@given(ERRORS, CONFIDENCE)
def test_upper_limit_is_chi_squares(errors: int, confidence: float) -> None:
    wanted = 0.5 * stats.chi2.ppf(confidence, 2 * errors + 2)
    found = error_ratio_upper(errors, 1.0, confidence=confidence)
    assert found == pytest.approx(wanted, rel=1e-8)


@given(ERRORS.filter(bool), CONFIDENCE)
def test_lower_limit_is_chi_squares(errors: int, confidence: float) -> None:
    wanted = 0.5 * stats.chi2.ppf(1 - confidence, 2 * errors)
    found = error_ratio_lower(errors, 1.0, confidence=confidence)
    assert found == pytest.approx(wanted, rel=1e-8)


@given(st.integers(0, 500), st.floats(1e-3, 1e3))
def test_confidence_is_poissons(errors: int, mean: float) -> None:
    found = confidence_level(errors, mean * 1e12, ratio=1e-12)
    assert found == pytest.approx(1 - stats.poisson.cdf(errors, mean), abs=1e-10)


@given(st.integers(1, 1000), st.floats(1e3, 1e15), st.floats(0.5, 0.999))
def test_limits_enclose_what_was_counted(errors: int, bits: float, confidence: float) -> None:
    counted = errors / bits
    assert error_ratio_lower(errors, bits, confidence=confidence) < counted
    assert counted < error_ratio_upper(errors, bits, confidence=confidence)


@given(st.integers(0, 200), st.floats(0.5, 0.99))
def test_more_errors_need_more_bits(errors: int, confidence: float) -> None:
    fewer = bits_needed(1e-12, confidence=confidence, errors=errors)
    assert fewer < bits_needed(1e-12, confidence=confidence, errors=errors + 1)


def test_bits_needed_and_the_upper_limit_are_the_same_statement() -> None:
    bits = bits_needed(1e-12, errors=3)
    assert error_ratio_upper(3, bits) == pytest.approx(1e-12)
    assert confidence_level(3, bits, ratio=1e-12) == pytest.approx(0.95)


def test_figures_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="the ratio is 0"):
        bits_needed(0)
    with pytest.raises(InputError, match="the confidence is 1"):
        bits_needed(1e-12, confidence=1)
    with pytest.raises(InputError, match="-1 errors"):
        error_ratio_upper(-1, 1e9)
    with pytest.raises(InputError, match="prove nothing"):
        error_ratio_upper(0, 0)
    with pytest.raises(InputError, match="line rate"):
        seconds_needed(1e-12, rate_bd=0)
