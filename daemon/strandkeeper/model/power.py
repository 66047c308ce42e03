"""What a module says of a power: measured, no light, or nothing."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.optics.units import Dbm

__all__ = ["NOT_REPORTED", "NO_LIGHT", "Measured", "NoLight", "NotReported", "Power"]


@dataclass(frozen=True, slots=True)
class Measured:
    """A power that the module measured."""

    power: Dbm


@dataclass(frozen=True, slots=True)
class NoLight:
    """The module looked and saw no light: 0 µW, or its switch's word for it."""


@dataclass(frozen=True, slots=True)
class NotReported:
    """Nothing is known: no diagnostics, a sensor out of service, a module that is not there."""


Power = Measured | NoLight | NotReported

NO_LIGHT = NoLight()
NOT_REPORTED = NotReported()
