"""A raw sensor value as a number: ENTITY-SENSOR-MIB's scale, precision and units (RFC 3433)."""

from __future__ import annotations

from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.optics.units import Dbm, Milliwatt

__all__ = [
    "FLOOR",
    "OVERFLOW",
    "PRECISIONS",
    "SCALES",
    "UNDERFLOW",
    "power_from_dbm",
    "power_from_watts",
    "scaled",
]

_UNITS = 9  # entPhySensorScale units(9)
SCALES = range(1, 18)  # yocto(1) to yotta(17)
PRECISIONS = range(-8, 10)
UNDERFLOW, OVERFLOW = -1_000_000_000, 1_000_000_000  # EntitySensorValue's ends: no readings
FLOOR = Dbm(-40.0)  # 0.1 µW, the smallest count of SFF-8472 above none
_POSSIBLE = Dbm(20.0)  # no pluggable module sends or survives more: this is another quantity


def scaled(raw: int, scale: int, precision: int) -> float:
    """The value in the units of the sensor's type.

    Parameters
    ----------
    raw : int [-]
        entPhySensorValue.
    scale : int [-]
        entPhySensorScale, an enumeration: 9 is units, 8 milli, 10 kilo.
    precision : int [-]
        entPhySensorPrecision: 0 to 9 decimal places; -8 to -1 count accurate digits instead, and
        do not move the point.

    Returns
    -------
    float
        raw · 10^(3·(scale-9)) / 10^precision, rounded once.

    Source: RFC 3433, EntitySensorDataScale, EntitySensorPrecision.

    Example
    -------
    >>> scaled(2999, 8, 4)
    0.0002999
    >>> scaled(352, 9, 1)
    35.2
    """
    return float(f"{raw}e{3 * (scale - _UNITS) - max(0, precision)}")


def power_from_watts(raw: int, scale: int, precision: int) -> Power:
    """The power of a linear sensor; 0 W is no light. A negative one is none: not reported."""
    if raw in (UNDERFLOW, OVERFLOW) or raw < 0:
        return NOT_REPORTED
    if raw == 0:
        return NO_LIGHT
    power = Milliwatt(scaled(raw, scale + 1, precision)).to_dbm()
    return Measured(power) if power <= _POSSIBLE else NOT_REPORTED


def power_from_dbm(raw: int, scale: int, precision: int) -> Power:
    """The power of a logarithmic sensor; at or below -40 dBm it is the agent's word for no light.

    -40.0 exactly may also be a true 0.1 µW: for every judgement that is the same.
    """
    if raw == OVERFLOW:
        return NOT_REPORTED
    if raw == UNDERFLOW:
        return NO_LIGHT
    power = Dbm(scaled(raw, scale, precision))
    if power <= FLOOR:
        return NO_LIGHT
    return Measured(power) if power <= _POSSIBLE else NOT_REPORTED
