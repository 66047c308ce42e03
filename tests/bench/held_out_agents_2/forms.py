"""Held out, the second time: forms of index, row and column that these switches have besides."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from strandkeeper.optics.units import Dbm
from strandkeeper_demo.mib import Oid, Syntax, Value
from strandkeeper_demo.personalities.coding import Coding, Unit
from strandkeeper_demo.personalities.columns import random_walk, reading
from strandkeeper_demo.personalities.layouts import LETTERS
from strandkeeper_demo.personalities.physics import Fill, PortNow, PortPlan, Quantity
from strandkeeper_demo.personalities.table import Column, Index, IndexKind, Row, Table

__all__ = [
    "EachLane",
    "Extra",
    "OneLane",
    "Own",
    "bay",
    "bound",
    "by_chassis",
    "by_name",
    "by_slot",
    "chosen",
    "epoch",
    "fahrenheit",
    "lane_number",
    "margin",
    "of_lane",
    "once",
    "over_copper",
    "per_quantity",
    "port_kind",
    "present",
    "warmer",
    "word_of_light",
]

OF_MODULE: Final = (Quantity.TEMPERATURE, Quantity.SUPPLY)
EPOCH_S: Final = 1_763_800_000  # when these switches were started, as they tell it


@dataclass(frozen=True, slots=True, kw_only=True)
class Own(Index):
    """An index of arcs of its own; `kind` is the nearest of the kinds, which no mark looks at."""

    arcs: Callable[[Row], Oid]

    def of(self, row: Row) -> Oid:
        """The index of a row."""
        return self.arcs(row)


def by_slot(slot: int) -> Own:
    """slot.port."""
    return Own(kind=IndexKind.UNIT_PORT, arcs=lambda row: (slot, row.port.plan.number))


def by_chassis(chassis: int, slot: int) -> Own:
    """chassis.slot.port."""
    return Own(kind=IndexKind.UNIT_PORT, arcs=lambda row: (chassis, slot, row.port.plan.number))


def by_name(*, implied: bool = False) -> Own:
    """The port's name, its length before it unless that is implied (RFC 2578 7.7)."""

    def arcs(row: Row) -> Oid:
        letters = tuple(row.port.plan.name.encode())
        return letters if implied else (len(letters), *letters)

    return Own(kind=IndexKind.PANEL, arcs=arcs)


def port_kind(kinds: Mapping[Quantity, int]) -> Own:
    """port.kind."""

    def arcs(row: Row) -> Oid:
        return row.port.plan.number, kinds[row.quantity] if row.quantity else 0

    return Own(kind=IndexKind.IF_INDEX_KIND, kinds=kinds, arcs=arcs)


@dataclass(frozen=True, slots=True, kw_only=True)
class EachLane(Table):
    """A row for each lane, whatever the index is."""

    def _lanes(self, port: PortNow) -> int:
        return port.plan.lanes


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra(Table):
    """Rows that belong to no port, in a table that has rows of ports too: the board's own."""

    lines: tuple[tuple[Oid, tuple[Column, ...]], ...]

    def cells(self, base: Oid, rows: Iterator[Row]) -> Iterator[tuple[Oid, Syntax, Value]]:
        """All instances."""
        first = next(iter(rows))
        for index, columns in self.lines:
            for column in columns:
                value = column.fill(first)
                if value is not None:
                    yield (*base, *self.arc, column.arc, *index), column.syntax, value


@dataclass(frozen=True, slots=True, kw_only=True)
class OneLane(Column):
    """A column of one lane of each module."""

    lane: int


def of_lane(arc: int, quantity: Quantity, coding: Coding, lane: int) -> OneLane:
    """A live figure of one lane, counted from 0."""

    def fill(row: Row) -> Value | None:
        if not row.port.measures or lane >= len(row.port.lanes):
            return coding.missing
        return coding.write(reading(row.port, lane, quantity))

    syntax = Syntax.TEXT if coding.text else coding.syntax
    return OneLane(arc=arc, syntax=syntax, fill=fill, codings={quantity: coding}, lane=lane)


def once(column: Column) -> Column:
    """What belongs to the whole module has no rows of the second lane and those after it."""

    def fill(row: Row) -> Value | None:
        return None if row.lane and row.quantity in OF_MODULE else column.fill(row)

    return Column(
        arc=column.arc,
        syntax=column.syntax,
        fill=fill,
        codings=column.codings,
        tells_kind=column.tells_kind,
    )


def bay(name: str, *parts: tuple[str, str] | tuple[str, str, int]) -> tuple[PortPlan, ...]:
    """Ports as on the front panel: letters (C copper, else as in LETTERS), optic, lanes."""
    fills = {"C": Fill.COPPER, **LETTERS}
    plans = [
        (fills[letter], part[1], part[2] if len(part) > 2 else 1)
        for part in parts
        for letter in part[0]
    ]
    return tuple(
        PortPlan(number=n, fill=fill, name=name.format(n), optic=optic, lanes=lanes)
        for n, (fill, optic, lanes) in enumerate(plans, 1)
    )


def bound(arc: int, quantity: Quantity, value: float, coding: Coding) -> Column:
    """A threshold as a maker programs it, in °C, V, mA or dBm."""
    power = quantity in (Quantity.TX, Quantity.RX)
    cell = coding.write(Dbm(value).to_milliwatt() if power else value)
    syntax = Syntax.TEXT if coding.text else coding.syntax
    return Column(
        arc=arc, syntax=syntax, fill=lambda r: cell if r.port.measures else coding.missing
    )


def present(arc: int, yes: int, no: int) -> Column:
    """Whether a module is in the port."""
    return Column(arc=arc, syntax=Syntax.INTEGER, fill=lambda row: yes if row.port.serial else no)


def chosen(arc: int, cells: Mapping[Fill, int | str]) -> Column:
    """A cell by what is in the port."""
    is_text = isinstance(next(iter(cells.values())), str)
    return Column(
        arc=arc,
        syntax=Syntax.TEXT if is_text else Syntax.INTEGER,
        fill=lambda row: cells.get(row.port.plan.fill),
    )


def word_of_light(arc: int, lit: str, dark: str, absent: str) -> Column:
    """A status in words."""

    def fill(row: Row) -> str:
        if not row.port.measures:
            return absent
        return lit if row.port.lanes[row.lane].rx is not None else dark

    return Column(arc=arc, syntax=Syntax.TEXT, fill=fill)


def per_quantity(arc: int, cells: Mapping[Quantity, int | str]) -> Column:
    """What goes with the quantity of the row: its unit, its scale."""
    is_text = isinstance(next(iter(cells.values())), str)
    return Column(
        arc=arc,
        syntax=Syntax.TEXT if is_text else Syntax.INTEGER,
        fill=lambda row: cells[row.quantity] if row.quantity else None,
    )


def lane_number(arc: int, *, first: int = 1) -> Column:
    """The row's lane."""
    return Column(arc=arc, syntax=Syntax.INTEGER, fill=lambda row: row.lane + first)


def epoch(arc: int, *, grain_s: int = 30) -> Column:
    """When the hardware was last read, in seconds since 1970."""

    def fill(row: Row) -> int:
        now = EPOCH_S + row.uptime_cs // 100
        return now - now % grain_s

    return Column(arc=arc, syntax=Syntax.GAUGE, fill=fill)


def over_copper(arc: int, middle: float, swing: float) -> Column:
    """What goes over the network cable of copper ports, in mW; 0 elsewhere."""
    walk = random_walk(arc, middle, swing)

    def fill(row: Row) -> Value | None:
        return walk.fill(row) if row.port.plan.fill is Fill.COPPER else 0

    return Column(arc=arc, syntax=Syntax.GAUGE, fill=fill)


def margin(arc: int, floor_dbm: float, unit: Unit) -> Column:
    """How far the light is above what the receiver needs, in dB."""

    def fill(row: Row) -> Value | None:
        light = row.port.lanes[row.lane].rx if row.port.measures else None
        return 0 if light is None else round((light.to_dbm().value - floor_dbm) / unit.step)

    return Column(arc=arc, syntax=Syntax.INTEGER, fill=fill)


def warmer(arc: int, degrees: float, unit: Unit) -> Column:
    """The laser's own temperature, above the module's."""

    def fill(row: Row) -> Value | None:
        if not row.port.measures:
            return None
        own = degrees + 0.01 * (row.port.lanes[0].bias_ma - 30)
        return round((row.port.temperature_c + own) / unit.step)

    return Column(arc=arc, syntax=Syntax.INTEGER, fill=fill)


def fahrenheit(arc: int, *, text: str, missing: str) -> Column:
    """The module's temperature once more, in degrees Fahrenheit."""

    def fill(row: Row) -> str:
        if not row.port.measures:
            return missing
        return text.format(v=row.port.temperature_c * 1.8 + 32)

    return Column(arc=arc, syntax=Syntax.TEXT, fill=fill)
