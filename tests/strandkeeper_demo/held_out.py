"""What the held-out sets are held against: cells, rows and figures of a switch as it is served."""

from __future__ import annotations

import re
from collections.abc import Iterator

from tests.strandkeeper_demo.net_snmp import ANSWER_DUE, ask

from strandkeeper.optics.units import Milliwatt
from strandkeeper_demo.mib import Oid, Value, dotted
from strandkeeper_demo.personalities.columns import reading
from strandkeeper_demo.personalities.personality import Personality, Tables
from strandkeeper_demo.personalities.physics import Fill, Pair, Quantity
from strandkeeper_demo.personalities.responder import Box
from strandkeeper_demo.personalities.table import Column, Published, Row, Table

NOW_S = 1_767_268_800.0  # 2026-01-01 12:00 UTC, when hardware read twice a minute was just read
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]\d+)?")


def box_of(switch: Personality, seed: int = 23) -> Box:
    """The switch, joined to a second of its kind."""
    return Box(switch, Pair(switch.ports, switch.ports, seed=seed), 0, clock=lambda: NOW_S)


async def asked(switch: Personality, tool: str, where: str, oid: str) -> str:
    """What a client of Net-SNMP prints of it at that address."""
    version = "1" if switch.manners.versions == (0,) else "2c"
    how = (f"-v{version}", "-c", "reads-only", *ANSWER_DUE, "-On", "-Oe", "-Ot", "-Oa")
    _, out = await ask(tool, *how, where, oid)
    return out


def cells_in(text: str) -> Iterator[tuple[Oid, str]]:
    """The cells of a walk that was printed."""
    for line in text.splitlines():
        name, equals, value = line.partition(" = ")
        if equals and name.startswith(".") and not value.startswith(("No more", "No Such")):
            yield dotted(name.lstrip(".")), value


def places(switch: Personality) -> Iterator[tuple[Table, Column, Published]]:
    """Each column that publishes, with the truth of each quantity in it."""
    for table in switch.tables:
        for truth in table.truth(switch.base):
            column = next(c for c in table.columns if c.arc == truth.column[-1])
            yield table, column, truth


def rows(box: Box, table: Table) -> Iterator[Row]:
    """The rows of a table."""
    every = (
        Row(port=p, if_index=box.switch.if_index(p.plan.number, 1), running=0, uptime_cs=0)
        for p in box.pair.ports(0, NOW_S)
    )
    return table._spread(every)


def marked(truth: Published, index: Oid, tables: Tables) -> bool:
    """Whether a row bears the mark of the quantity, where the table has one row a sensor."""
    if truth.kind_column is not None:
        return tables[*truth.kind_column, *index][1] == truth.kind
    return truth.kind is None or truth.kind in index


def _cells(truth: Published, tables: Tables) -> list[Value]:
    """What stands in the rows that the truth points at."""
    size = len(truth.column)
    return [
        value
        for oid, (_, value) in tables.items()
        if oid[:size] == truth.column and marked(truth, oid[size:], tables)
    ]


def moved_by_light(box: Box) -> set[Quantity]:
    """The quantities whose cells change when every module in use loses its light."""
    truth, before = box.switch.truth(), dict(box.tables())
    for port in box.switch.ports:
        if port.fill is Fill.LIT:
            box.pair.unplug(0, port.number)
    after = box.tables()
    return {
        quantity
        for quantity in Quantity
        if any(_cells(t, before) != _cells(t, after) for t in truth.of(quantity))
    }


def digit(shown: str) -> float:
    """The worth of the last digit of a number as it is written."""
    mantissa, _, power = shown.partition("e")
    return float(10.0 ** (int(power or 0) - len(mantissa.partition(".")[2])))


def figure_of(row: Row, lane: int, truth: Published) -> float | None:
    """What a lane of the module of a row measures, in the dimension of the truth."""
    figure = reading(row.port, lane, truth.quantity)
    if not isinstance(figure, Milliwatt):
        return figure
    return figure.to_dbm().value if truth.unit.dimension == "dBm" else figure.value
