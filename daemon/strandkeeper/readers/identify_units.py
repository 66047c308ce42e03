"""The units in which switches count figures, how usual each is, and what modules measure.

Units: the survey of practice in the project's facts on MIBs, section 9. Priors and spreads: own
design, no source, but for the limits of SFF-8472 9.2 and of the classes of IEEE 802.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from strandkeeper.model.enterprise_table import CellUnit, parse_unit
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.pmd import all_pmds
from strandkeeper.optics.pmd_spec import PmdSpec

__all__ = [
    "ORDER",
    "SPREAD",
    "STORED",
    "UNITS_OF",
    "WOBBLE",
    "Density",
    "UnitChoice",
    "launch_density",
    "prior_density",
    "received_density",
]

# SFF-8472 table 9-11 puts them in this order
ORDER: Final = (
    Quantity.TEMPERATURE,
    Quantity.SUPPLY,
    Quantity.BIAS,
    Quantity.TX,
    Quantity.RX,
)


@dataclass(frozen=True, slots=True)
class UnitChoice:
    """A unit with its words in the configuration, and how usual it is for the quantity."""

    unit: CellUnit
    words: str
    prior: float
    as_stored: bool
    finer: int  # how many counts one step of the module's memory is; 1 if not a whole number


_MILLI_STEP: Final = {  # one count of the module's memory (SFF-8472 9.2), in the unit's dimension
    Quantity.TEMPERATURE: Fraction(1, 256),
    Quantity.SUPPLY: Fraction(1, 10_000),
    Quantity.BIAS: Fraction(2, 1000),
    Quantity.TX: Fraction(1, 10_000),
    Quantity.RX: Fraction(1, 10_000),
}
_POWER_UNITS: Final = (
    ("0.01 dBm", 0.26),
    ("0.001 dBm", 0.14),
    ("0.1 dBm", 0.12),
    ("dBm", 0.05),
    ("0.1 uW", 0.22),
    ("uW", 0.12),
    ("nW", 0.06),
    ("0.01 uW", 0.01),
    ("mW", 0.02),
    ("0.01 mW", 0.02),
    ("0.0001 dBm", 0.01),
    ("W", 0.01),
)
_USUAL: Final[dict[Quantity, tuple[tuple[str, float], ...]]] = {
    Quantity.TEMPERATURE: (
        ("1 C", 0.3),
        ("0.1 C", 0.22),
        ("1/256 C", 0.22),
        ("0.01 C", 0.14),
        ("0.001 C", 0.12),
    ),
    Quantity.SUPPLY: (
        ("mV", 0.4),
        ("0.1 mV", 0.25),
        ("10 mV", 0.15),
        ("uV", 0.08),
        ("V", 0.07),
        ("100 mV", 0.05),
    ),
    Quantity.BIAS: (
        ("uA", 0.32),
        ("2 uA", 0.2),
        ("0.1 mA", 0.16),
        ("10 uA", 0.16),
        ("mA", 0.13),
        ("0.1 uA", 0.02),
        ("nA", 0.01),
        ("A", 0.01),
    ),
    Quantity.TX: _POWER_UNITS,
    Quantity.RX: _POWER_UNITS,
}


def _choice(quantity: Quantity, words: str, prior: float) -> UnitChoice:
    unit = parse_unit(words.replace("nA", "0.001 uA"))
    ratio = Fraction(0)
    if not unit.dimension.startswith("dBm"):
        ratio = _MILLI_STEP[quantity] / unit.step
    return UnitChoice(
        unit=unit,
        words=words.replace("nA", "0.001 uA"),
        prior=prior,
        as_stored=ratio == 1,
        finer=int(ratio) if ratio > 1 and ratio.denominator == 1 else 1,
    )


UNITS_OF: Final[dict[Quantity, tuple[UnitChoice, ...]]] = {
    quantity: tuple(_choice(quantity, words, prior) for words, prior in units)
    for quantity, units in _USUAL.items()
}
STORED: Final = frozenset(c.unit for choices in UNITS_OF.values() for c in choices if c.as_stored)

# how much the modules of one switch differ, and how much one moves within some minutes:
# °C, V, parts of itself, dB, dB
SPREAD: Final = {
    Quantity.TEMPERATURE: 4.0,
    Quantity.SUPPLY: 0.02,
    Quantity.BIAS: 0.2,
    Quantity.TX: 1.2,
    Quantity.RX: 3.5,
}
WOBBLE: Final = {
    Quantity.TEMPERATURE: 0.1,
    Quantity.SUPPLY: 0.002,
    Quantity.BIAS: 0.002,
    Quantity.TX: 0.02,
    Quantity.RX: 0.03,
}


@dataclass(frozen=True, slots=True)
class Density:
    """A mixture of normal densities: (share, middle, deviation) each."""

    parts: tuple[tuple[float, float, float], ...]

    def at(self, value: float) -> float:
        """The density at a value."""
        return sum(
            share / (dev * math.sqrt(2 * math.pi)) * math.exp(-0.5 * ((value - middle) / dev) ** 2)
            for share, middle, dev in self.parts
        )


_PRIORS: Final = {
    Quantity.TEMPERATURE: Density(((0.8, 40.0, 10.0), (0.2, 35.0, 22.0))),
    Quantity.SUPPLY: Density(((0.97, 3.3, 0.05), (0.03, 3.3, 0.2))),
}
# of the logarithm of mA: lasers of 850 nm need a few mA, the others tens
_SHORT_WAVE: Final = ((1.0, math.log(6.5), 0.3),)
_LONG_WAVE: Final = ((1.0, math.log(28.0), 0.6),)
_ANY_LAUNCH: Final = Density(((0.6, -4.5, 3.0), (0.4, -3.0, 6.0)))
_ANY_RECEIVED: Final = Density(((0.9, -9.0, 6.0), (0.1, -15.0, 10.0)))


def prior_density(quantity: Quantity, spec: PmdSpec | None = None) -> Density:
    """Where temperature [°C], supply [V] and bias [ln mA] of modules lie."""
    if quantity is not Quantity.BIAS:
        return _PRIORS[quantity]
    if spec is None or spec.wavelength_nm is None:
        return Density((*_scaled(_SHORT_WAVE, 0.3), *_scaled(_LONG_WAVE, 0.7)))
    likely = _SHORT_WAVE if spec.wavelength_nm < 1000 else _LONG_WAVE
    return Density((*_scaled(likely, 0.9), (0.1, math.log(20.0), 0.9)))


def launch_density(spec: PmdSpec | None, speed_mbps: int | None) -> Density:
    """Where transmit power [dBm] lies: inside the class, else inside the classes of that speed."""
    if spec is not None:
        found = _launch(spec)
        return Density((*_scaled(found, 0.98), (0.02, -4.0, 6.0))) if found else _ANY_LAUNCH
    launches = [_launch(p) for p in all_pmds() if _as_fast(p, speed_mbps)]
    launches = [found for found in launches if found]
    if not launches:
        return _ANY_LAUNCH
    parts = [part for found in launches for part in _scaled(found, 0.96 / len(launches))]
    return Density((*parts, (0.04, -4.0, 6.0)))


def received_density(spec: PmdSpec | None, speed_mbps: int | None) -> Density:
    """Where receive power [dBm] lies: below what is launched by what links lose, 0 to 30 dB."""
    launch = launch_density(spec, speed_mbps)
    if spec is None and speed_mbps is None:
        return _ANY_RECEIVED
    lower = [(share * 0.9, middle - 5.0, dev + 4.0) for share, middle, dev in launch.parts]
    return Density((*lower, (0.1, -14.0, 9.0)))


def _launch(spec: PmdSpec) -> tuple[tuple[float, float, float], ...]:
    """The class's range, about as likely everywhere within it and soon unlikely beyond."""
    if spec.launch_min is None or spec.launch_max is None:
        return ()
    low, high = spec.launch_min.value, spec.launch_max.value
    sixth = (high - low) / 6
    return tuple((1 / 3, low + share * sixth, sixth + 0.7) for share in (1, 3, 5))


def _scaled(
    parts: tuple[tuple[float, float, float], ...], factor: float
) -> tuple[tuple[float, float, float], ...]:
    return tuple((share * factor, middle, dev) for share, middle, dev in parts)


def _as_fast(spec: PmdSpec, speed_mbps: int | None) -> bool:
    """Line rates are up to a quarter above what they carry."""
    return speed_mbps is not None and 1.0 <= spec.line_rate_bd / 1e6 / speed_mbps <= 1.3
