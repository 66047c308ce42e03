"""How a figure is written into a cell: unit, step, text, and the word for no light."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from strandkeeper.optics.units import Milliwatt
from strandkeeper_demo.mib import Syntax, Value

__all__ = [
    "CENTIVOLT",
    "CENTI_DBM",
    "CENTI_DEGREE",
    "DECI_DBM",
    "DECI_DEGREE",
    "DEGREE",
    "DEGREE_256",
    "HUNDRED_MICROVOLT",
    "MICROAMPERE",
    "MICROVOLT",
    "MILLIAMPERE",
    "MILLIVOLT",
    "MILLI_DBM",
    "MILLI_DEGREE",
    "NANOWATT",
    "ONE_DBM",
    "ONE_MICROWATT",
    "ONE_MILLIWATT",
    "TENTH_MICROWATT",
    "TENTH_MILLIAMPERE",
    "TEN_MICROAMPERE",
    "TWO_MICROAMPERE",
    "VOLT",
    "Coding",
    "Figure",
    "Unit",
]

Dimension = Literal["dBm", "mW", "°C", "V", "mA"]
# A figure in its physical unit: °C, V, mA; powers as Milliwatt; None: no light.
Figure = float | Milliwatt | None


@dataclass(frozen=True, slots=True)
class Unit:
    """What one count of a number means: `step` times the dimension."""

    step: float
    dimension: Dimension

    def __str__(self) -> str:
        return f"{self.step:.6g} {self.dimension}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Coding:
    """One way of writing a figure.

    `text` empty: an integer of `syntax`, counted in `unit`. Else an octet string, filled with {v}
    (the figure in `unit`), and for powers {mw} and {dbm}; `comma`: with a decimal comma; `minus`:
    what stands for the sign.
    `dark` stands for no light (None: what the arithmetic gives, 0 of a linear unit), `missing` in
    rows of ports without a measuring module (None: the cell is not there).
    """

    unit: Unit
    syntax: Syntax = Syntax.INTEGER
    text: str = ""
    comma: bool = False
    minus: str = "-"
    dark: int | str | None = None
    missing: int | str | None = None

    @property
    def names_unit(self) -> bool:
        """Whether the cell itself says in which unit it is."""
        return any(letter.isalpha() for letter in re.sub(r"{.*?}", "", self.text))

    def write(self, figure: Figure) -> Value | None:
        """The cell."""
        if figure is None or (isinstance(figure, Milliwatt) and figure.value == 0):
            return self._dark()
        value = self._in_unit(figure)
        if not self.text:
            return round(value)
        milliwatt = figure.value if isinstance(figure, Milliwatt) else 0.0
        dbm = figure.to_dbm().value if isinstance(figure, Milliwatt) else 0.0
        written = self.text.format(v=value, mw=milliwatt, dbm=dbm)
        written = written.replace("-", self.minus)
        return written.replace(".", ",") if self.comma else written

    def _dark(self) -> Value | None:
        if self.dark is not None:
            return self.dark
        if self.unit.dimension == "dBm":
            raise ValueError("a logarithmic unit needs a word for no light")
        return self.text.format(v=0.0, mw=0.0, dbm=0.0) if self.text else 0

    def _in_unit(self, figure: float | Milliwatt) -> float:
        if not isinstance(figure, Milliwatt):
            return figure / self.unit.step
        if self.unit.dimension == "dBm":
            return figure.to_dbm().value / self.unit.step
        return figure.value / self.unit.step


# What is in use for the figures of modules.
CENTI_DBM: Final = Unit(0.01, "dBm")
MILLI_DBM: Final = Unit(0.001, "dBm")
DECI_DBM: Final = Unit(0.1, "dBm")
ONE_DBM: Final = Unit(1.0, "dBm")
TENTH_MICROWATT: Final = Unit(1e-4, "mW")
ONE_MICROWATT: Final = Unit(1e-3, "mW")
NANOWATT: Final = Unit(1e-6, "mW")
ONE_MILLIWATT: Final = Unit(1.0, "mW")
DEGREE_256: Final = Unit(1 / 256, "°C")
DECI_DEGREE: Final = Unit(0.1, "°C")
CENTI_DEGREE: Final = Unit(0.01, "°C")
MILLI_DEGREE: Final = Unit(0.001, "°C")
DEGREE: Final = Unit(1.0, "°C")
MILLIVOLT: Final = Unit(1e-3, "V")
HUNDRED_MICROVOLT: Final = Unit(1e-4, "V")
MICROVOLT: Final = Unit(1e-6, "V")
CENTIVOLT: Final = Unit(0.01, "V")
VOLT: Final = Unit(1.0, "V")
TWO_MICROAMPERE: Final = Unit(0.002, "mA")
MICROAMPERE: Final = Unit(0.001, "mA")
TEN_MICROAMPERE: Final = Unit(0.01, "mA")
TENTH_MILLIAMPERE: Final = Unit(0.1, "mA")
MILLIAMPERE: Final = Unit(1.0, "mA")
