"""Cells of an unknown table as identification sees them: a count, a word, or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from strandkeeper.errors import DecodeError
from strandkeeper.model.enterprise_table import CellUnit, CellWord, Dimension
from strandkeeper.model.identification import Place
from strandkeeper.model.oid import Oid, Value
from strandkeeper.readers.text_cell import CellNumber, folded, read_numbers

__all__ = ["Cell", "Count", "SheetColumn", "Word", "cell_of", "spelled"]

# what agents put where there is nothing, whatever the unit: ends of ranges (common practice)
_ENDS: Final = frozenset(
    sign * end
    for end in (2**31, 2**31 - 1, 2**32 - 1, 214_748_364, 2**63 - 1, 2**15, 2**15 - 1, 2**16 - 1)
    for sign in (1, -1)
)


@dataclass(frozen=True, slots=True)
class Count:
    """A number. `step`: its last place; `unit`: if the cell names one; `written`: if it is text."""

    value: float
    step: float = 1.0
    unit: CellUnit | None = None
    written: str = ""

    @property
    def text(self) -> bool:
        """Whether the cell is text."""
        return bool(self.written)


@dataclass(frozen=True, slots=True)
class Word:
    """Something that is no figure, as it was written: a word, or a number that stands for one."""

    written: CellWord


Cell = Count | Word | None


@dataclass(frozen=True, kw_only=True)
class SheetColumn:
    """A column, or the rows of one kind in it; cells by row, one a poll. `rank`: its order.

    `leaves`: the object behind each row.
    """

    place: Place
    rank: tuple[int, ...]
    cells: Mapping[Oid, tuple[Cell, ...]]
    leaves: Mapping[Oid, Oid]

    @cached_property
    def oids(self) -> frozenset[Oid]:
        """The objects of all its rows."""
        return frozenset(self.leaves.values())


def cell_of(value: Value | None) -> Cell:
    """What a value may be for a figure. Object identifiers and absent values are none."""
    if isinstance(value, int):
        return Word(value) if value in _ENDS else Count(float(value))
    if not isinstance(value, bytes):
        return None
    text = folded(value)
    try:
        numbers = read_numbers(text)
    except DecodeError:
        return Word(spelled(value))
    chosen = _chosen(numbers)
    if chosen.value is None:
        return Word(spelled(value))
    step = 2 * float(chosen.half_step) or 1.0
    return Count(float(chosen.value), step, chosen.unit, spelled(value))


def _chosen(numbers: tuple[CellNumber, ...]) -> CellNumber:
    """Of one figure in several units the one in dBm: it resolves weak light best."""
    for number in numbers:
        if number.unit is not None and number.unit.dimension is Dimension.DBM:
            return number
    return numbers[0]


def spelled(value: bytes) -> str:
    """The text of a cell as a person reads it."""
    return value.decode("utf-8", "replace").partition("\0")[0].strip()
