"""The proving ground's plant: labelled link histories, written apart from the analysis.

Nothing here imports the analysis or knows its rules. Noise classes are our own design, no source,
written down before anything was scored; every class is one line of CLASSES. A history is made of
- weather: ambient temperature at both ends (season, day, fronts), modules warmer by a constant;
- glass: a loss each way, and whatever a fault adds to it;
- modules: monitors with white noise, slow autocorrelated wander, a temperature coefficient, the
  0.1 µW count of SFF-8472, the switch's own rounding, a refresh slower than the poll, outliers;
- a switch and a poll: gaps, unanswered polls, restarts, counters.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DAY_S = 86_400
MONTH_S = 30.44 * DAY_S
START_S = 1_704_067_200  # 2024-01-01T00:00:00Z


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseClass:
    """How a module and its switch disturb a reading; dB unless said otherwise."""

    white: float  # standard deviation, each receive reading on its own
    slow: float  # standard deviation of the receive monitor's wander
    slow_h: float  # its correlation time [h]
    tempco: float  # [dB/°C] typical size of a monitor's coefficient, drawn per module
    step: float = 0.01  # the switch's rounding
    refresh_s: float = 0.0  # a new value only this often
    outliers: float = 0.0  # share of readings that are off by 1 to 3 dB
    launch: float = -5.5  # [dBm]
    loss: float = 3.5  # of the cable, typical
    outdoors: tuple[float, float] = (0.25, 1.0)  # how much of the weather each end feels


CLASSES: dict[str, NoiseClass] = {
    "calm": NoiseClass(white=0.01, slow=0.01, slow_h=12, tempco=0.004),
    "ordinary": NoiseClass(white=0.05, slow=0.03, slow_h=6, tempco=0.010),
    "noisy": NoiseClass(white=0.10, slow=0.06, slow_h=8, tempco=0.010),
    "coarse": NoiseClass(white=0.05, slow=0.03, slow_h=6, tempco=0.010, step=0.1),
    "weak": NoiseClass(white=0.05, slow=0.03, slow_h=6, tempco=0.010, loss=18.0),
    "lagging": NoiseClass(white=0.05, slow=0.03, slow_h=6, tempco=0.010, refresh_s=120),
    "outdoor": NoiseClass(white=0.05, slow=0.03, slow_h=6, tempco=0.025, outdoors=(1.0, 1.0)),
    "glitchy": NoiseClass(white=0.05, slow=0.03, slow_h=6, tempco=0.010, outliers=1e-3),
}


@dataclass(slots=True)
class Truth:
    """What was put in: the noise-free receive power is kept for scoring forecasts."""

    label: str = "quiet"
    at_s: float = 0.0
    size: float = 0.0
    direction: int | None = None  # 0 A→B, 1 B→A, None both
    extra: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class History:
    """One link's history: columns of one length per end, in poll order. Times in s from START_S.

    `loss` is what the glass loses each way (shape 2, n); `rx_true` the receive power without
    noise and rounding but with the monitor's temperature coefficient.
    """

    time: Floats
    temp: Floats  # (2, n) module temperatures [°C]
    rx: Floats  # (2, n) by end, [dBm], nan: no light
    tx: Floats  # (2, n) by end
    bias: Floats  # (2, n) [mA]
    answered: NDArray[np.bool_]  # (2, n)
    up: NDArray[np.bool_]  # (2, n) what each port says
    boot: Floats  # (2, n) [s]
    frames: Ints  # (2, n)
    errors: Ints  # (2, n)
    rx_true: Floats
    truth: Truth
    spacing: float
    module: Ints | None = None  # (2, n)
    reports_optics: NDArray[np.bool_] | None = None
    admin: NDArray[np.bool_] | None = None


def wander(rng: np.random.Generator, n: int, spacing: float, sd: float, tau_s: float) -> Floats:
    """A first-order autoregressive series, made on a coarse grid and joined by lines."""
    coarse = max(spacing, min(300.0, tau_s / 10))
    count = int(n * spacing / coarse) + 2
    keep = np.exp(-coarse / tau_s)
    shocks = rng.standard_normal(count) * sd * np.sqrt(1 - keep**2)
    shocks[0] = rng.standard_normal() * sd
    nodes = lfilter([1.0], [1.0, -keep], shocks)
    return np.interp(np.arange(n) * spacing, np.arange(count) * coarse, nodes)


def weather(rng: np.random.Generator, time: Floats, spacing: float, start_day: float) -> Floats:
    """Ambient temperature [°C]: season, day with changing clouds, fronts. Own design, no source."""
    n = len(time)
    days = time / DAY_S + start_day
    season = -9.0 * np.cos(2 * np.pi * (days - 20) / 365.25)
    clouds = 1.0 + wander(rng, n, spacing, 0.4, 2 * DAY_S)
    hour = time / DAY_S - 5 / 24  # coldest at five
    daily = -5.0 * np.clip(clouds, 0.1, 2.2) * np.cos(2 * np.pi * hour)
    return 10.0 + season + daily + wander(rng, n, spacing, 3.0, 3 * DAY_S)


def _counts(power_dbm: Floats, step: float) -> Floats:
    """0.1 µW counts, then the switch's rounding; nan where no count is left."""
    counts = np.rint(10 ** (power_dbm / 10) * 10_000)
    with np.errstate(divide="ignore"):
        seen = 10 * np.log10(counts / 10_000)
    seen = np.rint(seen / step) * step
    return np.where(counts > 0, seen, np.nan)


def _held(values: Floats, spacing: float, refresh_s: float, rng: np.random.Generator) -> Floats:
    """Each value repeated until the next refresh."""
    if refresh_s <= spacing:
        return values
    phase = rng.uniform(0, refresh_s)
    at = np.floor((np.arange(len(values)) * spacing + phase) / refresh_s) * refresh_s - phase
    return values[np.clip(np.rint(at / spacing).astype(int), 0, len(values) - 1)]


@dataclass(slots=True)
class Fault:
    """What a fault does; every array has the history's length. Made by proving_faults."""

    added: Floats | None = None  # (2, n) loss by direction [dB]
    launch: Floats | None = None  # (2, n) change of transmit power by end [dB]
    bias: Floats | None = None  # (2, n) factor on the bias by end
    cut: NDArray[np.bool_] | None = None  # (2, n) no light in that direction
    silent: NDArray[np.bool_] | None = None  # (2, n) end does not answer
    boots: list[tuple[int, float]] = field(default_factory=list)  # (end, time)
    damaged: Floats | None = None  # (2, n) expected damaged frames a poll, by receiving end
    module: Ints | None = None
    no_optics: NDArray[np.bool_] | None = None
    admin_off: NDArray[np.bool_] | None = None
    reading: Floats | None = None  # (2, n) added to the receive reading only


def make(
    seed: int,
    noise: NoiseClass,
    *,
    days: float = 365.25,
    spacing: float = 30.0,
    fault: Fault | None = None,
    truth: Truth | None = None,
    troubles: bool = True,
    single_strand: bool = False,
) -> History:
    """One history. The seed fixes everything but the fault."""
    del single_strand
    rng = np.random.default_rng([seed, 77])
    n = int(days * DAY_S / spacing)
    time = np.arange(n) * spacing
    fault = fault or Fault()
    start_day = rng.uniform(0, 365.25)
    outside = weather(rng, time, spacing, start_day)
    temp = np.empty((2, n))
    for end in (0, 1):
        share = noise.outdoors[end]
        own = wander(rng, n, spacing, 0.5, 6 * 3600.0)
        temp[end] = 38.0 - 13.0 * share + share * (outside - 10.0) + own
    dt = temp - temp[:, :1].mean()
    rx_coef = rng.normal(0, noise.tempco, 2).clip(-2 * noise.tempco, 2 * noise.tempco)
    tx_coef = rng.normal(0, noise.tempco, 2).clip(-2 * noise.tempco, 2 * noise.tempco) / 2
    launch = noise.launch + rng.normal(0, 0.7, 2)
    loss = noise.loss + rng.normal(0, 0.4, 2)
    rx = np.empty((2, n))
    tx = np.empty((2, n))
    true = np.empty((2, n))
    for end in (0, 1):
        moved = 0.0 if fault.launch is None else fault.launch[end]
        tx[end] = _counts(
            launch[end]
            + moved
            + tx_coef[end] * dt[end]
            + wander(rng, n, spacing, noise.slow / 3, noise.slow_h * 3600)
            + rng.standard_normal(n) * noise.white / 3,
            noise.step,
        )
    for receiver in (0, 1):
        sender = 1 - receiver
        direction = 0 if sender == 0 else 1
        added = 0.0 if fault.added is None else fault.added[direction]
        moved = 0.0 if fault.launch is None else fault.launch[sender]
        true[receiver] = launch[sender] + moved - loss[direction] - added
        true[receiver] += rx_coef[receiver] * dt[receiver]
        shown = true[receiver] + wander(rng, n, spacing, noise.slow, noise.slow_h * 3600)
        shown += rng.standard_normal(n) * noise.white
        if fault.reading is not None:
            shown += fault.reading[receiver]
        if noise.outliers:
            odd = rng.random(n) < noise.outliers
            shown += odd * rng.choice([-1, 1], n) * rng.uniform(1, 3, n)
        shown = _counts(shown, noise.step)
        if fault.cut is not None:
            shown = np.where(fault.cut[direction], np.nan, shown)
        rx[receiver] = _held(shown, spacing, noise.refresh_s, rng)
        tx[receiver] = _held(tx[receiver], spacing, noise.refresh_s, rng)
    bias = 12.0 * np.exp(0.008 * (temp - 25.0)) + rng.standard_normal((2, n)) * 0.05
    if fault.bias is not None:
        bias *= fault.bias
    seen_temp = np.rint((temp + rng.standard_normal((2, n)) * 0.1) * 256) / 256
    answered, boot = _switches(rng, n, time, fault, troubles=troubles)
    dark = np.isnan(rx)
    cut_any = dark.any(axis=0)
    up = np.ones((2, n), dtype=bool) & ~cut_any
    frames = rng.integers(20_000, 40_000, (2, n))
    errors = np.zeros((2, n), dtype=np.int64)
    if fault.damaged is not None:
        errors = rng.poisson(fault.damaged)
    frames = np.where(up, frames, 0)
    keep = _polled(rng, n, spacing) if troubles else np.ones(n, dtype=bool)
    return History(
        time=time[keep],
        temp=seen_temp[:, keep],
        rx=rx[:, keep],
        tx=tx[:, keep],
        bias=bias[:, keep],
        answered=answered[:, keep],
        up=up[:, keep],
        boot=boot[:, keep],
        frames=frames[:, keep],
        errors=errors[:, keep],
        rx_true=true[:, keep],
        truth=truth or Truth(),
        spacing=spacing,
        module=None if fault.module is None else fault.module[:, keep],
        reports_optics=None if fault.no_optics is None else ~fault.no_optics[:, keep],
        admin=None if fault.admin_off is None else ~fault.admin_off[:, keep],
    )


def _switches(
    rng: np.random.Generator, n: int, time: Floats, fault: Fault, *, troubles: bool
) -> tuple[NDArray[np.bool_], Floats]:
    """Who answers and since when it runs: about three planned restarts a year and end."""
    answered = np.ones((2, n), dtype=bool)
    boot = np.full((2, n), -3.0e6)
    for end in (0, 1):
        restarts = [t for which, t in fault.boots if which == end]
        if troubles:
            count = rng.poisson(3 * time[-1] / (365.25 * DAY_S))
            restarts += list(rng.uniform(0, time[-1], count))
        for at in sorted(restarts):
            boot[end, time >= at + 20] = at + 20
            answered[end] &= ~((time >= at) & (time < at + 90))
        if troubles:
            answered[end] &= rng.random(n) > 5e-4
    if fault.silent is not None:
        answered &= ~fault.silent
    return answered, boot


def _polled(rng: np.random.Generator, n: int, spacing: float) -> NDArray[np.bool_]:
    """Times the watch itself ran: about eight gaps a year, minutes to two days."""
    keep = np.ones(n, dtype=bool)
    for _ in range(rng.poisson(8 * n * spacing / (365.25 * DAY_S))):
        start = int(rng.integers(0, n))
        keep[start : start + int(10 ** rng.uniform(1.0, 3.7) * 30 / spacing)] = False
    return keep
