"""Power and loss as types that cannot be mixed up.

Only the arithmetic that physics has is defined: dBm - dBm is dB, dBm ± dB is dBm, dB ± dB is dB.
dBm + dBm is a TypeError, at run time and for the type checker. This is the one file that writes
10·log10.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload

__all__ = ["Db", "Dbm", "Microwatt", "Milliwatt"]


@dataclass(frozen=True, slots=True, order=True)
class Db:
    """A ratio of two powers, in dB."""

    value: float

    def __add__(self, other: Db) -> Db:
        return Db(self.value + other.value) if isinstance(other, Db) else NotImplemented

    def __sub__(self, other: Db) -> Db:
        return Db(self.value - other.value) if isinstance(other, Db) else NotImplemented

    def __neg__(self) -> Db:
        return Db(-self.value)

    def __abs__(self) -> Db:
        return Db(abs(self.value))

    def __mul__(self, factor: float) -> Db:
        return Db(self.value * factor) if isinstance(factor, int | float) else NotImplemented

    __rmul__ = __mul__

    def __str__(self) -> str:
        return f"{self.value:.2f} dB"


@dataclass(frozen=True, slots=True, order=True)
class Dbm:
    """An optical power, in dB above 1 mW. Always finite: no light is not a power."""

    value: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"{self.value} dBm is not a power; no light has a word of its own")

    def __add__(self, other: Db) -> Dbm:
        return Dbm(self.value + other.value) if isinstance(other, Db) else NotImplemented

    __radd__ = __add__

    @overload
    def __sub__(self, other: Dbm) -> Db: ...
    @overload
    def __sub__(self, other: Db) -> Dbm: ...
    def __sub__(self, other: Dbm | Db) -> Db | Dbm:
        if isinstance(other, Dbm):
            return Db(self.value - other.value)
        return Dbm(self.value - other.value) if isinstance(other, Db) else NotImplemented

    def to_milliwatt(self) -> Milliwatt:
        """The same power, linear, in mW."""
        return Milliwatt(10 ** (self.value / 10))

    def __str__(self) -> str:
        return f"{self.value:.2f} dBm"


@dataclass(frozen=True, slots=True, order=True)
class Milliwatt:
    """An optical power in mW; zero is possible, negative is not."""

    value: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.value >= 0):
            raise ValueError(f"{self.value} mW is not a power")

    def to_dbm(self) -> Dbm:
        """The same power in dBm. Raises ValueError for 0 mW, which has none: that is no light."""
        if self.value == 0:
            raise ValueError("0 mW has no value in dBm: it is no light")
        return Dbm(10 * math.log10(self.value))

    def to_microwatt(self) -> Microwatt:
        """The same power in µW."""
        return Microwatt(self.value * 1000)

    def __str__(self) -> str:
        return f"{self.value:.4g} mW"


@dataclass(frozen=True, slots=True, order=True)
class Microwatt:
    """An optical power in µW; zero is possible, negative is not."""

    value: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.value >= 0):
            raise ValueError(f"{self.value} µW is not a power")

    def to_milliwatt(self) -> Milliwatt:
        """The same power in mW."""
        return Milliwatt(self.value / 1000)

    def __str__(self) -> str:
        return f"{self.value:.4g} µW"
