"""The cells of a described table as figures: counts or text in, powers and numbers out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from strandkeeper.errors import DecodeError
from strandkeeper.model.enterprise_table import (
    FLOOR,
    POWERS,
    CellUnit,
    CellWord,
    Dimension,
    EnterpriseTable,
    TableColumn,
)
from strandkeeper.model.oid import Value
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Dbm, Milliwatt
from strandkeeper.readers.text_cell import CellNumber, folded, read_numbers

__all__ = ["Figures", "figures_of"]

_POSSIBLE = Dbm(20.0)  # no pluggable module sends or survives more: this is another quantity
_DARKEST: Final = Dbm(-99.0)
_SIGN_BIT, _TURN = 1 << 31, 1 << 32
_SIGNED: Final = (Dimension.DBM, Dimension.CELSIUS)
_OF: Final = {
    Quantity.BIAS: (Dimension.MILLIAMPERE,),
    Quantity.TEMPERATURE: (Dimension.CELSIUS,),
    Quantity.SUPPLY: (Dimension.VOLT,),
}
_DBM: Final = CellUnit(Fraction(1), Dimension.DBM)
_POWER_UNITS: Final = (Dimension.DBM, Dimension.MILLIWATT)
_SAME: Final = Fraction(1, 20)  # two units of one cell may differ by so much beyond rounding
# raw counts beyond what any unit makes a figure of
_IMPOSSIBLE = 1 << 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """How the cells of one quantity are read. The words are folded; numbers among them are raw."""

    quantity: Quantity
    unit: CellUnit | None
    no_light: frozenset[str | Fraction]
    not_there: frozenset[str | Fraction]
    floor: Dbm = FLOOR

    def power(self, value: Value | None) -> Power:
        """The power in a cell. Raises DecodeError for a cell that is neither figure nor word."""
        numbers = self._numbers(value)
        if not isinstance(numbers, tuple):
            return numbers
        return self._power(numbers)

    def number(self, value: Value | None) -> float | None:
        """The figure in °C, V or mA; None if the cell says that there is none.

        Raises DecodeError for a cell that is neither figure nor word.
        """
        numbers = self._numbers(value)
        if not isinstance(numbers, tuple):
            return None
        fitting = self._fitting(numbers, _OF[self.quantity])
        if len(fitting) != 1 or fitting[0].value is None:
            raise DecodeError(f"a cell of {self.quantity.value} holds no single figure")
        return float(fitting[0].value)

    def _numbers(self, value: Value | None) -> tuple[CellNumber, ...] | Power:
        """The numbers in the units of the cell, or what the cell's word stands for."""
        if isinstance(value, int):
            return self._of_int(value)
        if not isinstance(value, bytes):
            return NOT_REPORTED
        text = folded(value)
        if text in self.no_light:
            return NO_LIGHT
        if text in self.not_there or text == "":
            return NOT_REPORTED
        numbers = read_numbers(text)
        if len(numbers) == 1 and (n := numbers[0]).value is not None and n.unit is None:
            return self._word(n.value) or numbers
        return numbers

    def _of_int(self, value: int) -> tuple[CellNumber, ...] | Power:
        said = self._word(Fraction(value))
        if said is not None:
            return said
        if self.unit is None:
            raise DecodeError(f"a cell of {self.quantity.value} is a bare number without a unit")
        if self.unit.dimension in _SIGNED and _SIGN_BIT <= value < _TURN:
            value -= _TURN  # a signed number in an unsigned type
            said = self._word(Fraction(value))
        if abs(value) > _IMPOSSIBLE:
            return NOT_REPORTED
        return said or (CellNumber(Fraction(value), None, Fraction(1, 2)),)

    def _word(self, number: Fraction) -> Power | None:
        if number in self.no_light:
            return NO_LIGHT
        return NOT_REPORTED if number in self.not_there else None

    def _fitting(
        self, numbers: Iterable[CellNumber], dimensions: Sequence[Dimension]
    ) -> list[CellNumber]:
        """The numbers of these dimensions, counted in them."""
        found = []
        for number in numbers:
            unit = number.unit or self.unit
            if unit is None and number.value is None:
                unit = _DBM  # minus infinity is no count of anything linear
            if unit is None:
                raise DecodeError(f"a cell of {self.quantity.value} does not state its unit")
            if unit.dimension not in dimensions:
                raise DecodeError(f"{unit.dimension.value} is no unit of {self.quantity.value}")
            value = None if number.value is None else number.value * unit.step
            found.append(
                CellNumber(
                    value, CellUnit(Fraction(1), unit.dimension), number.half_step * unit.step
                )
            )
        return found

    def _power(self, numbers: Sequence[CellNumber]) -> Power:
        fitting = self._fitting(numbers, _POWER_UNITS)
        logarithmic = [n for n in fitting if n.unit and n.unit.dimension is Dimension.DBM]
        linear = [n for n in fitting if n not in logarithmic]
        if len(logarithmic) > 1 or len(linear) > 1:
            raise DecodeError(f"a cell of {self.quantity.value} holds several figures")
        if not logarithmic:
            return self._from_mw(linear[0])
        power = self._from_dbm(logarithmic[0])
        if linear and isinstance(power, Measured) and not _agree(power.power, linear[0]):
            raise DecodeError(
                f"the figures in a cell of {self.quantity.value} contradict each other"
            )
        return power

    def _from_dbm(self, number: CellNumber) -> Power:
        if number.value is None or number.value <= Fraction(self.floor.value):
            return NO_LIGHT
        if number.value > Fraction(_POSSIBLE.value):
            return NOT_REPORTED
        return Measured(Dbm(float(number.value)))

    def _from_mw(self, number: CellNumber) -> Power:
        if number.value is None:
            return NO_LIGHT
        if number.value < 0:
            return NOT_REPORTED
        if float(number.value) <= _DARKEST.to_milliwatt().value:
            return NO_LIGHT
        if number.value > 1000:
            return NOT_REPORTED
        power = Milliwatt(float(number.value)).to_dbm()
        if power <= self.floor:
            return NO_LIGHT
        return Measured(power) if power <= _POSSIBLE else NOT_REPORTED


def _agree(power: Dbm, linear: CellNumber) -> bool:
    """Whether a figure in mW, as rounded as it is, may be the same power."""
    if linear.value is None:
        return False
    expected = Fraction(power.to_milliwatt().value)
    return abs(linear.value - expected) <= linear.half_step * 2 + expected * _SAME


def figures_of(table: EnterpriseTable, quantity: Quantity, column: TableColumn) -> Figures:
    """How a table's cells of one quantity are read."""
    dark = (*table.no_light, *column.no_light) if quantity in POWERS else ()
    return Figures(
        quantity=quantity,
        unit=column.unit,
        no_light=frozenset(map(_folded_word, dark)),
        not_there=frozenset(map(_folded_word, table.not_there)),
        floor=table.floor,
    )


def _folded_word(word: CellWord) -> str | Fraction:
    return folded(word) if isinstance(word, str) else Fraction(str(word))
