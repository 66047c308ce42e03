"""The proving ground's faults: what each does to the plant, and which causes would be right.

Own design, no source. Sizes are drawn per history; `right` are the causes that a technician who
knew the truth would accept. Directions: 0 is A→B, 1 is B→A; ends: 0 is A, 1 is B.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from tests.bench.proving_plant import (
    CLASSES,
    DAY_S,
    Fault,
    Floats,
    History,
    NoiseClass,
    Truth,
    make,
    weather,
)

DAYS = 40.0
SPACING = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One fault of the confusion matrix."""

    name: str
    right: tuple[str, ...]
    build: Callable[[np.random.Generator, Floats], Fault]
    noise: str = "ordinary"
    strands: int = 2
    from_start: bool = False
    loss: float | None = None
    launch: float | None = None


def _zero(time: Floats) -> Floats:
    return np.zeros((2, len(time)))


def _one(rng: np.random.Generator) -> int:
    return int(rng.integers(0, 2))


def _dirty_plug(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    added[_one(rng), time > rng.uniform(15, 30) * DAY_S] = rng.uniform(0.8, 2.5)
    return Fault(added=added)


def _bent_cable(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    size = rng.uniform(0.8, 2.5)
    after = time > rng.uniform(15, 30) * DAY_S
    added[0, after] = size * rng.uniform(0.8, 1.2)
    added[1, after] = size * rng.uniform(0.8, 1.2)
    return Fault(added=added)


def _cut(rng: np.random.Generator, time: Floats) -> Fault:
    after = time > rng.uniform(20, 39) * DAY_S
    return Fault(cut=np.stack([after, after]))


def _one_strand_dark(rng: np.random.Generator, time: Floats) -> Fault:
    cut = np.zeros((2, len(time)), dtype=bool)
    cut[_one(rng), time > rng.uniform(20, 39) * DAY_S] = True
    return Fault(cut=cut)


def _far_power_off(rng: np.random.Generator, time: Floats) -> Fault:
    start = rng.uniform(20, 38) * DAY_S
    over = start + rng.uniform(1, 20) * 3600
    off = (time >= start) & (time < over)
    cut = np.stack([np.zeros(len(time), bool), off])
    silent = np.stack([np.zeros(len(time), bool), (time >= start) & (time < over + 90)])
    return Fault(cut=np.stack([off, cut[1]]), silent=silent, boots=[(1, over - 80)])


def _far_end_silent(rng: np.random.Generator, time: Floats) -> Fault:
    off = time >= rng.uniform(30, 39) * DAY_S
    silent = np.stack([np.zeros(len(time), bool), off])
    return Fault(cut=np.stack([off, off]), silent=silent)


def _fading_laser(rng: np.random.Generator, time: Floats) -> Fault:
    launch = _zero(time)
    start = rng.uniform(15, 25) * DAY_S
    launch[_one(rng)] = -np.clip((time - start) / (8 * DAY_S), 0, 1) * rng.uniform(1.8, 3.5)
    return Fault(launch=launch)


def _ageing_laser(rng: np.random.Generator, time: Floats) -> Fault:
    bias = np.ones((2, len(time)))
    bias[_one(rng)] += np.clip((time - 16 * DAY_S) / (15 * DAY_S), 0, 1) * rng.uniform(0.3, 0.6)
    return Fault(bias=bias)


def _loose_plug(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    shake = np.abs(rng.standard_normal(len(time))) * rng.uniform(0.4, 1.0)
    added[_one(rng)] = np.where(time > rng.uniform(25, 38) * DAY_S, shake, 0.0)
    return Fault(added=added)


def _coming_and_going(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    start = rng.uniform(30, 34) * DAY_S
    edges = start + np.cumsum(rng.uniform(3, 14, 40)) * 3600
    state = np.searchsorted(edges, time) % 2
    added[_one(rng)] = np.where(time > start, state, 0) * rng.uniform(0.5, 1.2)
    return Fault(added=added)


def _errors_with_light(rng: np.random.Generator, time: Floats) -> Fault:
    damaged = _zero(time)
    damaged[_one(rng)] = np.where(time > 30 * DAY_S, rng.uniform(0.02, 0.3), 0.0)
    return Fault(damaged=damaged)


def _single_bend(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    size = rng.uniform(0.6, 1.2)
    after = time > rng.uniform(15, 30) * DAY_S
    added[0, after] = size * rng.uniform(1.9, 3.0)
    added[1, after] = size
    return Fault(added=added)


def _single_plug(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    size = rng.uniform(0.8, 2.0)
    added[:, time > rng.uniform(15, 30) * DAY_S] = size
    added[1] *= rng.uniform(0.93, 1.07)
    return Fault(added=added)


def _port_shut(rng: np.random.Generator, time: Floats) -> Fault:
    off = time > rng.uniform(30, 39) * DAY_S
    end = _one(rng)
    admin = np.zeros((2, len(time)), dtype=bool)
    admin[end] = off
    cut = np.zeros((2, len(time)), dtype=bool)
    cut[0 if end == 0 else 1] = off
    return Fault(admin_off=admin, cut=cut)


def _not_crossed(rng: np.random.Generator, time: Floats) -> Fault:
    del rng
    return Fault(cut=np.ones((2, len(time)), dtype=bool))


def _too_strong(rng: np.random.Generator, time: Floats) -> Fault:
    damaged = _zero(time)
    damaged[:] = rng.uniform(0.05, 0.5)
    return Fault(damaged=damaged)


def _surge(rng: np.random.Generator, time: Floats) -> Fault:
    boots = []
    for at in (rng.uniform(33, 35) * DAY_S, rng.uniform(36, 38) * DAY_S):
        boots += [(0, at), (1, at + rng.uniform(0, 20))]
    return Fault(boots=boots)


def _battery(rng: np.random.Generator, time: Floats) -> Fault:
    del time
    nights = 33 + np.arange(5)
    return Fault(boots=[(1, (n + rng.uniform(2.0, 5.0) / 24) * DAY_S) for n in nights])


def _damage(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    for day in (28, 31, 34, 37):
        at = (day + rng.uniform(0, 1)) * DAY_S
        for way in (0, 1):
            added[way, time > at + rng.uniform(0, 600)] += rng.uniform(0.3, 0.6)
    return Fault(added=added)


def _creep(rng: np.random.Generator, time: Floats) -> Fault:
    added = _zero(time)
    added[_one(rng)] = rng.uniform(0.6, 1.0) * np.clip(time - 8 * DAY_S, 0, None) / (30 * DAY_S)
    return Fault(added=added)


def _weak_light(rng: np.random.Generator, time: Floats) -> Fault:
    fault = Fault(added=_zero(time), damaged=_zero(time))
    way = _one(rng)
    after = time > rng.uniform(25, 33) * DAY_S
    assert fault.added is not None
    assert fault.damaged is not None
    fault.added[way, after] = rng.uniform(9.8, 10.5)
    fault.damaged[1 - way, after] = rng.uniform(0.05, 1.0)
    return fault


CASES: tuple[Case, ...] = (
    Case(name="nothing wrong", right=(), build=lambda rng, time: Fault()),
    Case(name="dirty plug", right=("connector", "strand"), build=_dirty_plug),
    Case(name="bent cable", right=("cable", "handling", "bend-or-crush"), build=_bent_cable),
    Case(name="cable cut", right=("cable",), build=_cut),
    Case(name="one strand dark", right=("strand", "connector"), build=_one_strand_dark),
    Case(name="far power off, back", right=("far-end-off-or-restarted",), build=_far_power_off),
    Case(name="far end silent", right=(), build=_far_end_silent),
    Case(name="fading laser", right=("transmitter", "module"), build=_fading_laser),
    Case(name="ageing laser", right=("transmitter", "module"), build=_ageing_laser),
    Case(name="loose plug", right=("connector", "strand"), build=_loose_plug),
    Case(name="comes and goes", right=("connector", "strand"), build=_coming_and_going),
    Case(name="cold-night plug", right=("weather-on-connector",), build=_dirty_plug),
    Case(name="freezing duct", right=("freezing-water",), build=_dirty_plug),
    Case(
        name="errors with light in hand",
        right=("dirty-or-reflective-connector", "module", "copper-side"),
        build=_errors_with_light,
    ),
    Case(name="one strand, bend", right=("bend-or-crush",), build=_single_bend, strands=1),
    Case(name="one strand, plug", right=("connector", "handling"), build=_single_plug, strands=1),
    Case(name="port shut", right=("switched-off-by-a-person",), build=_port_shut),
    Case(name="pair not crossed", right=("pair-not-crossed",), build=_not_crossed, from_start=True),
    Case(name="too strong", right=("overload",), build=_too_strong, loss=0.3, launch=-1.0),
    Case(name="surge", right=("surge",), build=_surge),
    Case(name="flat battery", right=("battery",), build=_battery),
    Case(
        name="damage going on",
        right=("damage-in-progress", "cable", "handling", "bend-or-crush"),
        build=_damage,
    ),
    Case(name="creep", right=("connector", "strand"), build=_creep),
    Case(name="too little light", right=("strand", "connector"), build=_weak_light),
)


def history_of(case: Case, seed: int) -> History:
    """One history with that fault."""
    rng = np.random.default_rng([seed, 99])
    days = DAYS
    time = np.arange(int(days * DAY_S / SPACING)) * SPACING
    noise = CLASSES[case.noise]
    if case.loss is not None:
        noise = replace(noise, loss=case.loss)
    if case.launch is not None:
        noise = replace(noise, launch=case.launch)
    if case.name in ("cold-night plug", "freezing duct"):
        fault = _by_cold(rng, seed, time, both=case.name == "freezing duct", noise=noise)
    else:
        fault = case.build(rng, time)
    truth = Truth(label=case.name)
    return make(seed, noise, days=days, spacing=SPACING, fault=fault, truth=truth, troubles=False)


def _by_cold(
    rng: np.random.Generator, seed: int, time: Floats, *, both: bool, noise: NoiseClass
) -> Fault:
    """Loss that jumps up on the colder nights, by the same weather that the modules feel."""
    del noise
    same = np.random.default_rng([seed, 77])
    start_day = same.uniform(0, 365.25)
    air = weather(same, time, SPACING, start_day)
    late = time > 20 * DAY_S
    threshold = np.quantile(air[late], 0.3)
    size = rng.uniform(0.9, 2.0)
    cold = np.where(late & (air < threshold), size, 0.0)
    added = np.zeros((2, len(time)))
    added[_one(rng)] = cold
    if both:
        added[:] = cold
    return Fault(added=added)
