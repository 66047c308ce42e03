"""An enterprise table in a few lines: its index, its columns, and what they truly mean.

A layout says what a column is filled from; rows and ground truth both come out of the same lines,
so that they cannot disagree.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from strandkeeper_demo.mib import Oid, Syntax, Value
from strandkeeper_demo.personalities.coding import Coding, Unit
from strandkeeper_demo.personalities.physics import Fill, PortNow, Quantity

__all__ = ["Column", "Index", "IndexKind", "PageOf", "Published", "Row", "Rows", "Table"]


class IndexKind(Enum):
    """What the index of a table counts."""

    IF_INDEX = "ifIndex"
    ENTITY = "entPhysicalIndex of the module"
    PANEL = "the front panel's number"
    IF_INDEX_LANE = "ifIndex.lane"
    IF_INDEX_KIND = "ifIndex.kind"
    KIND_IF_INDEX = "kind.ifIndex"
    UNIT_PORT = "stack unit.port"
    RUNNING = "a running number"
    SCALAR = "a single port"


class Rows(Enum):
    """Which ports have rows."""

    MODULES = "ports with a measuring module"
    SLOTS = "ports for modules, filled or not"
    ALL = "all ports, copper too"


class PageOf(Enum):
    """Which of a module's pages a cell holds."""

    A0H = "A0h"
    A2H = "A2h"
    BOTH = "A0h, then A2h"


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """Ground truth: where a quantity is, and what one count of it means.

    `column`: the OID before the index. With `kind` the table has one row a sensor: `kind` is the
    value that marks this quantity, in the column `kind_column` or, if that is None, in the index.
    `names_unit`: the cells themselves say in which unit they are.
    """

    quantity: Quantity
    column: Oid
    unit: Unit
    is_text: bool
    names_unit: bool
    index: IndexKind
    kind: int | str | None = None
    kind_column: Oid | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What one row of a table is about."""

    port: PortNow
    if_index: int
    running: int
    uptime_cs: int
    lane: int = 0
    quantity: Quantity | None = None


Filler = Callable[[Row], Value | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column; `codings` are there in columns that publish, by quantity."""

    arc: int
    syntax: Syntax
    fill: Filler
    codings: Mapping[Quantity, Coding] = field(default_factory=dict)
    tells_kind: bool = False
    page: PageOf | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Index:
    """The index: what it counts, and from where. `kinds`: the value for each quantity."""

    kind: IndexKind
    offset: int = 0
    lanes_from: int = 1
    kinds: Mapping[Quantity, int | str] = field(default_factory=dict)

    def of(self, row: Row) -> Oid:
        """The index of a row."""
        number = row.port.plan.number
        kind = self.kinds.get(row.quantity, 0) if row.quantity else 0
        kind = kind if isinstance(kind, int) else 0
        arcs: dict[IndexKind, Oid] = {
            IndexKind.IF_INDEX: (row.if_index,),
            IndexKind.ENTITY: (entity_of(number),),
            IndexKind.PANEL: (number + self.offset,),
            IndexKind.IF_INDEX_LANE: (row.if_index, row.lane + self.lanes_from),
            IndexKind.IF_INDEX_KIND: (row.if_index, kind),
            IndexKind.KIND_IF_INDEX: (kind, row.if_index),
            IndexKind.UNIT_PORT: (1 + self.offset, number),
            IndexKind.RUNNING: (row.running + self.offset,),
            IndexKind.SCALAR: (0,),
        }
        return arcs[self.kind]


def entity_of(number: int) -> int:
    """The entPhysicalIndex of the module in a port: arbitrary and sparse, as RFC 6933 allows."""
    return 4100 + 16 * number


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table, or with IndexKind.SCALAR a group of scalars, at `arc` below the personality's."""

    arc: Oid
    index: Index
    columns: tuple[Column, ...]
    rows: Rows = Rows.MODULES
    only: int | None = None  # the one port that the scalars are of

    def cells(self, base: Oid, rows: Iterator[Row]) -> Iterator[tuple[Oid, Syntax, Value]]:
        """All instances, in no order."""
        for row in self._spread(rows):
            index = self.index.of(row)
            for column in self.columns:
                value = column.fill(row)
                if value is not None:
                    yield (*base, *self.arc, column.arc, *index), column.syntax, value

    def truth(self, base: Oid) -> Iterator[Published]:
        """What is where."""
        kinds = next((c for c in self.columns if c.tells_kind), None)
        for column in self.columns:
            for quantity, coding in column.codings.items():
                yield Published(
                    quantity=quantity,
                    column=(*base, *self.arc, column.arc),
                    unit=coding.unit,
                    is_text=bool(coding.text),
                    names_unit=coding.names_unit,
                    index=self.index.kind,
                    kind=self.index.kinds.get(quantity),
                    kind_column=(*base, *self.arc, kinds.arc) if kinds else None,
                )

    def pages(self, base: Oid) -> Iterator[tuple[Oid, PageOf]]:
        """Which columns hold raw pages."""
        for column in self.columns:
            if column.page is not None:
                yield (*base, *self.arc, column.arc), column.page

    def _spread(self, rows: Iterator[Row]) -> Iterator[Row]:
        running = 0
        for row in rows:
            if not self._has(row.port):
                continue
            for lane in range(self._lanes(row.port)):
                for quantity in self.index.kinds or (None,):
                    running += 1
                    yield Row(
                        port=row.port,
                        if_index=row.if_index,
                        running=running,
                        uptime_cs=row.uptime_cs,
                        lane=lane,
                        quantity=quantity,
                    )

    def _lanes(self, port: PortNow) -> int:
        return port.plan.lanes if self.index.kind is IndexKind.IF_INDEX_LANE else 1

    def _has(self, port: PortNow) -> bool:
        if self.only is not None:
            return port.plan.number == self.only
        if self.rows is Rows.MODULES:
            return port.measures
        return self.rows is Rows.ALL or port.plan.fill is not Fill.COPPER
