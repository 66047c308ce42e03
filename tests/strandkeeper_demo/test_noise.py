"""Noise that history and live can share: a function of time, smooth where it should be."""

from __future__ import annotations

import statistics

from hypothesis import given
from hypothesis import strategies as st

from strandkeeper_demo.noise import Noise

TIMES = st.floats(min_value=0, max_value=4e9, allow_nan=False)


@given(TIMES)
def test_the_same_seed_gives_the_same_noise(time_s: float) -> None:
    one, other = Noise(7), Noise(7)
    assert one.smooth("a", time_s, 60) == other.smooth("a", time_s, 60)
    assert one.grain("a", time_s) == other.grain("a", time_s)


@given(TIMES)
def test_smooth_noise_stays_within_one_and_does_not_jump(time_s: float) -> None:
    noise = Noise(7)
    here, a_little_later = noise.smooth("a", time_s, 600), noise.smooth("a", time_s + 1, 600)
    assert -1 <= here <= 1
    # The steepest slope of 3s²-2s³ is 1.5, the widest step from -1 to 1, over 600 s.
    assert abs(a_little_later - here) <= 1.5 * 2 / 600 + 1e-6


def test_grain_has_mean_zero_and_a_standard_deviation_of_one() -> None:
    values = [Noise(7).grain("a", float(t)) for t in range(20_000)]
    assert max(abs(v) for v in values) <= 3
    # Four standard errors: 1/sqrt(20000) of the mean, 1/sqrt(40000) of the deviation.
    assert abs(statistics.fmean(values)) < 4 / 141
    assert abs(statistics.stdev(values) - 1) < 4 / 200


def test_streams_and_seeds_differ() -> None:
    values = {Noise(s).smooth(n, 1234.5, 60) for s in (1, 2) for n in ("a", "b")}
    assert len(values) == 4
