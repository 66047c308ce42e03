"""Slopes against scipy's, Student quantiles against scipy's, intervals against made noise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from strandkeeper.analysis.drift import MONTH_DAYS, TrendWindow, _quantile, pair_slopes, slope_of

WINDOW = TrendWindow(days=180, spacing_days=1.0, z_report=4.5, least=30.0)
values = st.lists(st.integers(-5000, 5000), min_size=12, max_size=60)


@given(values)
def test_the_slope_is_that_of_scipys_theil_sen(levels: list[int]) -> None:
    days = np.arange(len(levels), dtype=float)
    level = np.array(levels, dtype=float)
    oracle = stats.theilslopes(level, days).slope
    assert float(np.median(pair_slopes(days, level))) == pytest.approx(oracle, abs=1e-9)


@given(values, st.integers(-10_000, 10_000), st.integers(0, 20_000))
def test_the_slope_does_not_change_with_a_constant_or_a_shift_in_time(
    levels: list[int], constant: int, shift: int
) -> None:
    days = np.arange(len(levels), dtype=float)
    level = np.array(levels, dtype=float)
    here = slope_of(days, level, WINDOW, extra_sd=0.0, floor=1.0)
    there = slope_of(days + shift, level + constant, WINDOW, extra_sd=0.0, floor=1.0)
    assert here is not None
    assert there is not None
    assert there.value == pytest.approx(here.value, abs=1e-6)
    assert there.half == pytest.approx(here.half, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("freedom", [10, 20, 40, 200])
def test_the_quantile_is_students_within_two_percent_at_95_percent(freedom: float) -> None:
    oracle = stats.t.ppf(0.975, freedom)
    assert _quantile(1.959964, freedom) == pytest.approx(oracle, rel=0.02)


def test_the_interval_covers_the_slope_in_autocorrelated_noise_nine_times_of_ten() -> None:
    # 400 histories of 45 days, first-order autoregressive with correlation 0.4 from day to day
    rng = np.random.default_rng(20)
    days = np.arange(45.0)
    covered = 0
    for _ in range(400):
        noise = np.zeros(45)
        for day in range(1, 45):
            noise[day] = 0.4 * noise[day - 1] + rng.normal(0, 20)
        found = slope_of(days, noise + 100 / MONTH_DAYS * days, WINDOW, extra_sd=0.0, floor=1.0)
        assert found is not None
        covered += abs(found.value - 100) <= found.half
    assert 0.90 <= covered / 400 <= 0.995


def test_gaps_between_the_days_are_allowed_for() -> None:
    days = np.array([0.0, 1, 2, 3, 4, 5, 30, 31, 32, 33, 34, 60])
    found = slope_of(days, 2.0 * days, WINDOW, extra_sd=0.0, floor=1.0)
    assert found is not None
    assert found.value == pytest.approx(2.0 * MONTH_DAYS)


def test_what_the_weather_leaves_uncertain_widens_the_interval() -> None:
    days = np.arange(40.0)
    level = days + np.tile([3.0, -3.0], 20)
    sure = slope_of(days, level, WINDOW, extra_sd=0.0, floor=1.0)
    unsure = slope_of(days, level, WINDOW, extra_sd=20.0, floor=1.0)
    assert sure is not None
    assert unsure is not None
    assert unsure.half > sure.half + 15


def test_the_slope_agrees_with_scipys_repeated_medians_where_every_tenth_day_is_wild() -> None:
    # siegelslopes: Siegel, Biometrika 69 (1982) 242; another robust estimate of the same slope
    rng = np.random.default_rng(21)
    days = np.arange(60.0)
    apart = []
    for _ in range(200):
        level = 4.0 * days + rng.normal(0, 20, 60)
        level[rng.integers(0, 60, 6)] += rng.normal(0, 2000, 6)
        found = slope_of(days, level, WINDOW, extra_sd=0.0, floor=1.0)
        assert found is not None
        oracle = stats.siegelslopes(level, days).slope * MONTH_DAYS
        apart.append((found.value - oracle) / found.half)
    assert np.quantile(np.abs(apart), 0.95) < 1.0
    assert abs(float(np.mean(apart))) < 0.1
