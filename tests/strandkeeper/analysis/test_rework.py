"""The worth of work on a fibre, from the readings before and after it."""

from __future__ import annotations

import random
from typing import Any

import pytest

from strandkeeper.analysis.rework import cold_night, judge_work, side
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import EndRow, OpticalReading
from strandkeeper.model.rework import Night, Side, Worth
from strandkeeper.optics.units import Dbm

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS


def power(value: float | None) -> Power:
    return NO_LIGHT if value is None else Measured(Dbm(value))


def readings(
    losses: list[float | None], *, start_ms: int = 0, step_ms: int = 1000, tx: float | None = -6.0
) -> list[EndRow]:
    rows = []
    for number, loss in enumerate(losses):
        at = start_ms + number * step_ms
        sent = NOT_REPORTED if tx is None else Measured(Dbm(tx))
        rows.append(EndRow(time_ms=at, end=End.A, optics=OpticalReading(tx=sent)))
        got = power(None if loss is None else (tx or 0.0) - loss)
        rows.append(EndRow(time_ms=at, end=End.B, optics=OpticalReading(rx=got, temp_c=20.0)))
    return rows


def measured(losses: list[float | None], **more: Any) -> Side:
    return side(readings(losses, **more), Direction.AB, from_ms=0, to_ms=DAY_MS)


def noisy(level: float, count: int = 60, sd: float = 0.02, seed: int = 1) -> list[float | None]:
    chance = random.Random(seed)
    return [level + chance.gauss(0, sd) for _ in range(count)]


def worth(before: list[float | None], after: list[float | None], matings: int = 1) -> Worth:
    return judge_work(measured(before), measured(after), matings=matings, night_passed=False).worth


def test_the_level_is_the_median_loss_with_dark_readings_counted_apart() -> None:
    found = measured([2.0, 2.2, 2.1, None, 2.1])
    assert found.level is not None
    assert found.level.value == pytest.approx(2.1)
    assert (found.n, found.dark, found.by_loss, found.coldest_c) == (4, 1, True, 20.0)
    assert found.rx_dbm == pytest.approx(-8.1)


def test_without_the_far_power_the_receive_power_turned_round_is_the_level() -> None:
    found = measured([2.0, 2.0, 2.0], tx=None)
    assert not found.by_loss
    assert found.level is not None
    assert found.level.value == pytest.approx(2.0)


def test_readings_outside_the_span_do_not_count() -> None:
    rows = readings([9.0, 2.0, 2.0, 9.0], step_ms=10)
    found = side(rows, Direction.AB, from_ms=10, to_ms=20)
    assert found.level is not None
    assert (found.n, found.level.value) == (2, pytest.approx(2.0))


@pytest.mark.parametrize(
    ("after", "matings", "expected"),
    [
        # 0.3 dB a mating, and about 0.15 dB for repeatability and noise
        pytest.param(3.0, 1, Worth.NO_DIFFERENT, id="the same"),
        pytest.param(2.8, 1, Worth.NO_DIFFERENT, id="0.2 dB is no proof"),
        pytest.param(2.4, 1, Worth.BETTER, id="0.6 dB less over one mating"),
        pytest.param(2.4, 2, Worth.NO_DIFFERENT, id="0.6 dB less over two"),
        pytest.param(3.2, 1, Worth.NO_DIFFERENT, id="0.2 dB more"),
        pytest.param(3.6, 1, Worth.WORSE, id="0.6 dB more over one mating"),
        pytest.param(3.6, 2, Worth.NO_DIFFERENT, id="0.6 dB more over two"),
    ],
)
def test_a_difference_must_exceed_what_matings_scatter(
    after: float, matings: int, expected: Worth
) -> None:
    assert worth(noisy(3.0), noisy(after, seed=2), matings) is expected


def test_light_that_came_back_is_better_and_light_that_went_is_worse() -> None:
    dark: list[float | None] = [None] * 40
    assert worth(dark, noisy(9.0)) is Worth.BETTER
    assert worth(noisy(3.0), dark) is Worth.WORSE
    assert worth(dark, dark) is Worth.NO_DIFFERENT


def test_a_few_readings_are_not_enough() -> None:
    assert worth(noisy(3.0), noisy(1.0, count=9)) is Worth.NOT_YET_KNOWN
    assert worth(noisy(3.0), []) is Worth.NOT_YET_KNOWN
    assert worth([], noisy(3.0)) is Worth.NOT_YET_KNOWN


def test_restless_light_is_worse_at_the_same_level() -> None:
    restless: list[float | None] = [3.0 + (0.6 if n % 2 else -0.6) for n in range(60)]
    assert worth(noisy(3.0), restless) is Worth.WORSE
    assert worth(restless, noisy(3.0)) is Worth.NO_DIFFERENT


def test_a_night_that_loses_more_than_a_decibel_is_told_as_restless() -> None:
    night: list[float | None] = [*noisy(2.0, count=400), *noisy(6.0, count=100)]
    after = measured(night, step_ms=60_000)
    verdict = judge_work(measured(noisy(4.0)), after, matings=1, night_passed=True)
    assert (verdict.worth, verdict.restless) == (Worth.WORSE, True)


def test_loss_and_receive_power_are_never_compared() -> None:
    before, after = measured(noisy(3.0)), measured(noisy(9.0), tx=None)
    verdict = judge_work(before, after, matings=1, night_passed=False)
    assert (verdict.worth, verdict.change) == (Worth.NOT_YET_KNOWN, None)


@pytest.mark.parametrize(
    ("stood_ms", "before_c", "swing_c", "after_c", "night"),
    [
        (DAY_MS - 1, -5.0, 12.0, -9.0, Night.YET),
        (DAY_MS, -5.0, 12.0, -3.0, Night.AS_COLD),
        (DAY_MS, -5.0, None, -3.0, Night.AS_COLD),
        (DAY_MS, -5.0, 12.0, -2.9, Night.YET),
        (DAY_MS - 1, None, None, 20.0, Night.NO_TEMPERATURE),
        (DAY_MS, None, None, 20.0, Night.A_DAY),
        (DAY_MS, -5.0, 12.0, None, Night.A_DAY),
        (14 * DAY_MS, -5.0, 12.0, 20.0, Night.A_FORTNIGHT),
        (14 * DAY_MS, -5.0, 12.0, -6.0, Night.AS_COLD),
        # in a heated room the module is always as cold as before: that tells nothing of outside
        (DAY_MS, 31.0, 5.9, 31.0, Night.STEADY),
        (14 * DAY_MS, 31.0, 5.9, 31.0, Night.A_FORTNIGHT),
        (DAY_MS, 31.0, 6.0, 31.0, Night.AS_COLD),
    ],
)
def test_a_cold_night_is_judged_by_what_is_known_and_no_more(
    stood_ms: int,
    before_c: float | None,
    swing_c: float | None,
    after_c: float | None,
    night: Night,
) -> None:
    after = Side(from_ms=0, to_ms=stood_ms, coldest_c=after_c)
    judged = cold_night(
        0, after, now_ms=stood_ms, coldest_before_c=before_c, swing_before_c=swing_c
    )
    assert judged is night
    assert night.over is (night in (Night.AS_COLD, Night.A_DAY, Night.A_FORTNIGHT))
