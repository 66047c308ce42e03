"""A column seen as one quantity in one unit: figures, darkness, rows that say nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Final

from strandkeeper.model.enterprise_table import CellUnit, CellWord, Dimension, IndexPart
from strandkeeper.model.oid import Oid
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Milliwatt
from strandkeeper.readers.identify_cells import Cell, Count, SheetColumn, Word
from strandkeeper.readers.identify_ports import Tie
from strandkeeper.readers.identify_sheets import Sheet
from strandkeeper.readers.identify_units import UNITS_OF, UnitChoice

__all__ = ["POWERS", "Context", "Seen", "View", "choices_of", "physical", "possible", "view_of"]

POWERS: Final = (Quantity.TX, Quantity.RX)
_DARKEST: Final = -39.5  # dBm; 0.1 µW, the smallest count of SFF-8472, is -40
_DIMENSIONS: Final = {
    Quantity.TEMPERATURE: (Dimension.CELSIUS,),
    Quantity.SUPPLY: (Dimension.VOLT,),
    Quantity.BIAS: (Dimension.MILLIAMPERE,),
    Quantity.TX: (Dimension.DBM, Dimension.MILLIWATT),
    Quantity.RX: (Dimension.DBM, Dimension.MILLIWATT),
}

# outside, no module works (common practice, no source, but for the powers that SFF-8472 can store)
_POSSIBLE: Final = {
    Quantity.TEMPERATURE: (-60.0, 130.0),
    Quantity.SUPPLY: (1.0, 8.0),
    Quantity.BIAS: (math.log(0.05), math.log(1000.0)),
    Quantity.TX: (_DARKEST, 15.0),
    Quantity.RX: (_DARKEST, 15.0),
}


@dataclass(frozen=True, slots=True)
class Seen:
    """A row's figure: the middle of the polls as a count and in its own measure, and the step.

    The measure is °C, V, ln mA for bias, dBm for powers of every unit; `slope` is measure by count.
    """

    count: float
    measure: float
    slope: float
    step: float


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A column as a quantity. `mute`: rows that say nothing although their neighbours speak.

    `elsewhere`: rows that have no such object because another row of the same module has it.
    """

    column: SheetColumn
    quantity: Quantity
    choice: UnitChoice | None
    lit: Mapping[Oid, Seen]
    dark: tuple[Oid, ...]
    mute: tuple[Oid, ...]
    dark_words: tuple[CellWord, ...] = ()
    elsewhere: tuple[Oid, ...] = ()

    @property
    def unit(self) -> CellUnit | None:
        """The unit; None: the cells name it."""
        return None if self.choice is None else self.choice.unit

    @property
    def measures(self) -> list[float]:
        """The figures in their own measure."""
        return [seen.measure for seen in self.lit.values()]


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """A sheet with what is known around it. `speaking`: rows that hold figures.

    `cached`: how likely it is that the table was not read anew between the polls: 0 if something
    in it moved as readings do, 1 if nothing on the switch did.
    """

    sheet: Sheet
    tie: Tie
    speaking: tuple[Oid, ...]
    cached: float
    copper_too: bool
    sent: Mapping[int, float] = field(default_factory=dict)


def choices_of(column: SheetColumn, quantity: Quantity) -> list[UnitChoice | None]:
    """The units worth trying: the one that the text names (None), or all that are in use."""
    counts = [c for cells in column.cells.values() for c in cells if isinstance(c, Count)]
    named = {c.unit.dimension for c in counts if c.unit is not None}
    if named:
        return [None] if named <= set(_DIMENSIONS[quantity]) else []
    if not counts:
        return []
    negative = any(c.value < 0 for c in counts)
    linear = Dimension.MILLIWATT, Dimension.VOLT, Dimension.MILLIAMPERE
    return [u for u in UNITS_OF[quantity] if not (negative and u.unit.dimension in linear)]


def possible(
    context: Context, column: SheetColumn, quantity: Quantity, choice: UnitChoice | None
) -> bool:
    """Whether most rows hold what a module can measure at all: quick, before the closer look."""
    low, high = _POSSIBLE[quantity]
    within = beyond = 0
    for row in context.speaking:
        first = column.cells.get(row, (None,))[0]
        if isinstance(first, Count):
            measure = physical(first, quantity, choice)
            if measure is not None:
                inside = low <= measure <= high
                within, beyond = within + inside, beyond + (not inside)
    return within > 0 and within >= beyond


def view_of(
    context: Context, column: SheetColumn, quantity: Quantity, choice: UnitChoice | None
) -> View | None:
    """The column as that quantity; None if no row holds a figure."""
    lit: dict[Oid, Seen] = {}
    dark: list[Oid] = []
    mute: list[Oid] = []
    words: dict[CellWord, None] = {}
    for row in context.speaking:
        seen = _row(column.cells.get(row, ()), quantity, choice)
        if isinstance(seen, Seen):
            lit[row] = seen
        elif seen is None or quantity not in POWERS:
            mute.append(row)
        else:
            dark.append(row)
            words[seen.written] = None
    if not lit:
        return None
    elsewhere = _elsewhere(context, column, (*lit, *dark), mute)
    return View(
        column=column,
        quantity=quantity,
        choice=choice,
        lit=lit,
        dark=tuple(dark),
        mute=tuple(row for row in mute if row not in elsewhere),
        dark_words=tuple(words),
        elsewhere=elsewhere,
    )


def _elsewhere(
    context: Context, column: SheetColumn, saying: Sequence[Oid], mute: Sequence[Oid]
) -> tuple[Oid, ...]:
    """Of rows by lane: those without the object, where another row of the module has it."""
    if IndexPart.LANE not in context.tie.index:
        return ()
    ports = context.tie.ports
    modules = {ports[row].if_index for row in saying if row in ports}
    return tuple(
        row
        for row in mute
        if row not in column.cells and row in ports and ports[row].if_index in modules
    )


def _row(
    cells: Sequence[Cell], quantity: Quantity, choice: UnitChoice | None
) -> Seen | Word | None:
    """The middle figure of a row, else its word for darkness, else nothing."""
    counts = [c for c in cells if isinstance(c, Count)]
    figures = [(c, m) for c in counts if (m := physical(c, quantity, choice)) is not None]
    if figures:
        count, measure = sorted(figures, key=lambda pair: pair[1])[len(figures) // 2]
        slope = _slope(count, measure, quantity, choice)
        return Seen(median(c.value for c, _ in figures), measure, slope, count.step)
    if counts:
        first = counts[0]
        return Word(first.written or int(first.value))
    return next((c for c in cells if isinstance(c, Word)), None)


def physical(count: Count, quantity: Quantity, choice: UnitChoice | None) -> float | None:
    """The measure of a count: °C, V, ln mA, dBm; None for darkness and for nothing."""
    unit = count.unit or (None if choice is None else choice.unit)
    if unit is None or unit.dimension not in _DIMENSIONS[quantity]:
        return None
    value = count.value * float(unit.step)
    if unit.dimension is Dimension.MILLIWATT:
        if not 0 < value < 1e12:
            return None
        value = Milliwatt(value).to_dbm().value
    if quantity in POWERS:
        return value if _DARKEST < value else None
    if quantity is Quantity.BIAS:
        return math.log(value) if value > 0 else None
    return value if quantity is Quantity.TEMPERATURE or value != 0 else None


def _slope(count: Count, measure: float, quantity: Quantity, choice: UnitChoice | None) -> float:
    """How far the measure moves with one count."""
    unit = count.unit or (None if choice is None else choice.unit)
    step = float(unit.step) if unit is not None else 1.0
    if unit is not None and unit.dimension is Dimension.MILLIWATT:
        return 10 / math.log(10) / abs(count.value)
    if quantity is Quantity.BIAS:
        return 1 / abs(count.value)
    return step
