"""What follows the temperature: coefficients recovered, used only when they explain new days."""

from __future__ import annotations

import numpy as np
import pytest

from strandkeeper.analysis.periods import _deviation_sums
from strandkeeper.analysis.slow import DayRow, DirectionSlow, HourRow
from strandkeeper.analysis.swing import cold_threshold, follows_temperature, rises_in_cold
from strandkeeper.analysis.weather import learn


def hours_of(
    rng: np.random.Generator,
    day: int,
    per_c: tuple[float, float],
    noise: float,
    cold_db: float = 0.0,
) -> list[HourRow]:
    """A day with a swing of 10 °C at the receiver, 3 °C at the sender [0.001 dB, 0.01 °C]."""
    hours = []
    front = rng.normal(0, 2)
    for hour in range(24):
        air = front - 5 * np.cos(2 * np.pi * (hour - 4) / 24)
        sender, receiver = 30 + 0.3 * air + rng.normal(0, 0.4), 25 + air
        level = 4000 + 1000 * (per_c[0] * sender + per_c[1] * receiver) + rng.normal(0, noise)
        level += 1000 * cold_db * (receiver < 22)
        hours.append(
            HourRow(
                start_ms=(24 * day + hour) * 3_600_000,
                n=120,
                level=round(level),
                rx=-9000,
                tx=-5000,
                spread=40,
                sender_temp=round(100 * sender),
                receiver_temp=round(100 * receiver),
            )
        )
    return hours


def days_of(seed: int, count: int, per_c: tuple[float, float], noise: float) -> list[DayRow]:
    rng = np.random.default_rng(seed)
    return [
        DayRow(
            start_ms=day * 86_400_000,
            n=2880,
            level=4000,
            sender_temp=3000,
            receiver_temp=2500,
            spread=40,
            swing=100,
            offset=0,
            sums=_deviation_sums(hours_of(rng, day, per_c, noise)),
        )
        for day in range(count)
    ]


def test_coefficients_are_recovered_within_three_of_their_own_standard_deviations() -> None:
    learnt = learn(days_of(1, 40, (0.02, -0.01), 15))
    assert learnt is not None
    assert learnt.used
    # 0.001 dB per 0.01 °C is 0.1 dB/°C: 0.02 dB/°C is 0.2
    assert abs(learnt.sender - 0.2) < 3 * learnt.cov[0] ** 0.5 + 0.01
    assert abs(learnt.receiver + 0.1) < 3 * learnt.cov[2] ** 0.5 + 0.01


def test_compensation_that_explains_nothing_is_not_used() -> None:
    learnt = learn(days_of(2, 40, (0.0, 0.0), 30))
    assert learnt is not None
    assert not learnt.used
    assert learnt.part(1000, 1000) == 0.0
    assert learnt.variance(0.0, 100.0) > 0


def test_fewer_than_seven_days_teach_nothing() -> None:
    assert learn(days_of(3, 6, (0.02, -0.01), 15)) is None


def test_a_loss_that_jumps_in_the_cold_is_a_threshold_and_a_line_is_none() -> None:
    rng = np.random.default_rng(4)
    step = [h for day in range(7) for h in hours_of(rng, day, (0.0, 0.0), 20, cold_db=1.0)]
    line = [h for day in range(7) for h in hours_of(rng, day, (0.0, -0.05), 20)]
    where, size = cold_threshold(step)
    assert size == pytest.approx(1000, abs=100)
    assert where == pytest.approx(2200, abs=100)
    assert cold_threshold(line)[1] == 0


def test_the_sign_tells_whether_the_cold_makes_it_worse() -> None:
    cold = DirectionSlow(days=days_of(5, 7, (0.0, -0.05), 20))
    warm = DirectionSlow(days=days_of(6, 7, (0.0, 0.05), 20))
    assert follows_temperature(cold)
    assert follows_temperature(warm)
    assert rises_in_cold(cold)
    assert not rises_in_cold(warm)
