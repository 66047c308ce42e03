"""Jumps of the loss: found soon, settled exactly, told as one where they belong together."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.analysis.settle import best_split, settle, slow_refresh_ms
from strandkeeper.analysis.slow import DirectionSlow
from strandkeeper.model.finding import Cause, FindingKind
from strandkeeper.model.verdict import EventKind

Build = Callable[..., Any]
START_MS = 1_750_000_200_000


@given(st.lists(st.integers(-3000, 3000), min_size=4, max_size=40))
def test_the_best_split_is_that_of_trying_every_one(levels: list[int]) -> None:
    value = np.array(levels, dtype=float)

    def squares(at: int) -> float:
        return float(value[:at].var() * at + value[at:].var() * (len(value) - at))

    split, left = best_split(value, np.ones(len(value), dtype=bool))
    assert left[split] == pytest.approx(min(map(squares, range(1, len(value)))), abs=1e-3)


def test_a_step_is_found_within_ten_minutes_and_settled_to_the_poll(watch: Build) -> None:
    link = watch(noise=0.05).run(26 * 60)
    at = link.time_s
    link.loss[0] += 0.5
    link.run(10.5)
    assert link.finding(FindingKind.STEP) is not None
    link.run(40)
    (event,) = link.told(EventKind.STEP)
    assert abs(event.time_ms - START_MS - 1000 * at) <= 60_000
    (step,) = link.verdict.ab.steps
    assert step.size.low <= 0.5 <= step.size.high
    assert step.time_low_ms <= START_MS + 1000 * at <= step.time_high_ms
    assert not step.transmitter_moved
    assert link.verdict.ba.steps == ()


def test_noise_alone_is_no_step(watch: Build) -> None:
    link = watch(noise=0.08).run(4 * 24 * 60)
    assert link.told(EventKind.STEP) == []
    assert link.verdict.ab.trend == "steady"


def test_a_jump_that_has_gone_within_half_an_hour_was_none(watch: Build) -> None:
    link = watch().run(26 * 60)
    link.loss[0] += 1.0
    link.run(12)
    link.loss[0] -= 1.0
    link.run(60)
    assert link.told(EventKind.STEP) == []
    assert link.finding(FindingKind.STEP) is None


def test_a_fall_of_the_sent_light_is_no_step_of_the_loss(watch: Build) -> None:
    link = watch().run(26 * 60)
    link.launch[0] -= 2.0
    link.run(60)
    assert link.told(EventKind.STEP) == []


def test_jumps_up_and_down_are_one_finding_of_a_plug_that_comes_and_goes(watch: Build) -> None:
    link = watch().run(26 * 60)
    for size in (0.6, -0.6, 0.6, -0.6):
        link.loss[0] += size
        link.run(3 * 60)
    assert link.finding(FindingKind.REPEATED_STEPS).cause is Cause.CONNECTOR
    assert link.finding(FindingKind.STEP) is None


def test_both_directions_at_once_point_to_the_cable(watch: Build) -> None:
    link = watch().run(26 * 60)
    link.loss = [5.2, 5.1]
    link.run(90)
    assert link.finding(FindingKind.STEP).cause is Cause.CABLE


def test_restless_light_at_a_steady_median_is_flicker(watch: Build) -> None:
    link = watch().run(26 * 60)
    dice = random.Random(4)
    for _ in range(240):
        link.loss[0] = 4.0 + dice.gauss(0, 0.5)
        link.run(0.5)
    found = link.finding(FindingKind.FLICKER)
    assert (found.direction, found.cause) == ("ab", Cause.CONNECTOR)
    assert link.verdict.ab.flicker
    assert link.verdict.ab.trend == "flickering"


def ring_of(at_s: float, phase_s: float, refresh_s: float, grain: float = 1.0) -> DirectionSlow:
    """Readings every 30 s, each as it was when the switch last took one; a step of 0.5 dB."""
    dice = np.random.default_rng(int(at_s + 7 * phase_s))
    time = np.arange(0, 6000, 30)
    taken = time if not refresh_s else (time + phase_s) // refresh_s * refresh_s - phase_s
    noise = {moment: dice.normal(0, 50) for moment in taken.tolist()}
    rx = np.array([-9000 - 500 * (m >= at_s) + noise[m] for m in taken.tolist()])
    rx = np.rint(rx / grain) * grain
    ring = np.stack([time * 1000, rx, np.full(len(time), -5000)]).astype(np.int64)
    return DirectionSlow(by_loss=True, ring=[ring])


def test_a_step_on_a_switch_that_refreshes_slowly_is_put_between_two_of_its_readings() -> None:
    dice = random.Random(3)
    errors = []
    for _ in range(200):
        at, phase = dice.uniform(2900, 3100), dice.uniform(0, 120)
        slow = ring_of(at, phase, 120)
        note = settle(slow, 3000_000, 3600_000, 10.0)
        assert note is not None
        assert slow_refresh_ms(slow) == 120_000
        assert note.low_ms <= 1000 * at <= note.high_ms
        errors.append(note.time_ms / 1000 - at)
    # half a refresh and half a poll either way is all that can be known
    assert max(map(abs, errors)) <= 75
    assert abs(sum(errors) / len(errors)) < 10


@pytest.mark.parametrize("grain", [10.0, 100.0])
def test_figures_that_repeat_by_coarse_rounding_are_no_slow_refresh(grain: float) -> None:
    for seed in range(50):
        assert slow_refresh_ms(ring_of(3000, seed, 0, grain)) == 0
