"""What else stands in a switch's own tables: power over cables, fans, load, counters, VLANs."""

from __future__ import annotations

from dataclasses import replace

from tests.bench.held_out_agents_3.forms import octets

from strandkeeper_demo.mib import Oid, Value
from strandkeeper_demo.personalities.columns import constant, counter, name, random_walk, uptime
from strandkeeper_demo.personalities.physics import Fill
from strandkeeper_demo.personalities.table import Column, Index, IndexKind, Row, Rows, Table

__all__ = ["cabinet", "fans", "feeding", "load", "settings", "traffic"]


def _of_copper(column: Column) -> Column:
    """Has cells for copper ports alone."""

    def fill(row: Row) -> Value | None:
        return column.fill(row) if row.port.plan.fill is Fill.COPPER else None

    return replace(column, fill=fill)


def feeding(arc: Oid, *, kind: IndexKind = IndexKind.IF_INDEX) -> Table:
    """Power over the network cable: mode, class, mW, 0.1 V, mA."""
    columns = (
        constant(1, 1),
        constant(2, 4),
        random_walk(3, 6400, 1500),
        random_walk(4, 535, 4),
        random_walk(5, 118, 30),
    )
    return Table(
        arc=arc,
        index=Index(kind=kind),
        rows=Rows.ALL,
        columns=tuple(_of_copper(column) for column in columns),
    )


def traffic(arc: Oid, *, kind: IndexKind = IndexKind.IF_INDEX, wide: bool = False) -> Table:
    """Counters of all ports and their load in per cent."""
    return Table(
        arc=arc,
        index=Index(kind=kind),
        rows=Rows.ALL,
        columns=(
            counter(1, 2.1e6, wide=wide),
            counter(2, 8.0e5, wide=wide),
            counter(3, 0.02),
            random_walk(4, 11, 9),
            uptime(5),
        ),
    )


def settings(arc: Oid, *, kind: IndexKind = IndexKind.IF_INDEX) -> Table:
    """Per port: name, VLAN, VLANs by bits and in words, largest frame, priority."""
    return Table(
        arc=arc,
        index=Index(kind=kind),
        rows=Rows.ALL,
        columns=(
            name(1),
            constant(2, 1),
            octets(3, bytes((0x80, 0x20)) + bytes(14)),
            constant(4, "1,10,20-24"),
            constant(5, 1518),
            constant(6, -1),
        ),
    )


def fans(arc: Oid, count: int) -> tuple[Table, ...]:
    """So many fans: state and turns a minute."""
    return tuple(
        Table(
            arc=arc,
            index=Index(kind=IndexKind.RUNNING, offset=place - 1),
            only=place,
            columns=(constant(2, f"Fan {place}"), constant(3, 1), random_walk(4, 5200, 260)),
        )
        for place in range(1, count + 1)
    )


def load(arc: Oid) -> Table:
    """Processor and memory: per cent over 5 s, 1 min and 5 min, and kilobytes."""
    return Table(
        arc=arc,
        index=Index(kind=IndexKind.SCALAR),
        only=1,
        columns=(
            random_walk(1, 14, 9),
            random_walk(2, 13, 4),
            random_walk(3, 12, 2),
            constant(4, 524_288),
            random_walk(5, 301_500, 4200),
        ),
    )


def cabinet(arc: Oid) -> Table:
    """The case: °C of two sensors, their threshold, and the supply in words."""
    return Table(
        arc=arc,
        index=Index(kind=IndexKind.SCALAR),
        only=1,
        columns=(
            random_walk(1, 41, 3),
            random_walk(2, 47, 3),
            constant(3, 70),
            random_walk(4, 12.06, 0.05, text="{v:.2f} V"),
            constant(5, "OK"),
        ),
    )
