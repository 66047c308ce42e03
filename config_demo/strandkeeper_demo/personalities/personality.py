"""What one invented switch is: its ports, its tables, its manners; and its tables at an instant.

Every one is of IANA's enterprise number for documentation (RFC 5612), on a sub-arc of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from strandkeeper_demo.mib import Oid, Syntax, Value, dotted
from strandkeeper_demo.personalities.interfaces import (
    Interfaces,
    Neighbour,
    interface_cells,
    lldp_cells,
    system_cells,
    virtual_cells,
)
from strandkeeper_demo.personalities.physics import Pair, PortNow, PortPlan, Quantity
from strandkeeper_demo.personalities.sensors import Sensors, sensor_cells
from strandkeeper_demo.personalities.table import PageOf, Published, Row, Table
from strandkeeper_demo.station import ENTERPRISE

__all__ = ["ENTERPRISES", "Manners", "Personality", "Tables", "Truth", "tables_at"]

ENTERPRISES: Oid = (1, 3, 6, 1, 4, 1)
Tables = dict[Oid, tuple[Syntax, Value]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Manners:
    """How a switch answers. None or 0: without that quirk.

    `versions`: 0 is SNMPv1, 1 is v2c. `max_octets`: larger answers are tooBig. `drop_octets`,
    `drop_varbinds`: larger answers, or requests of more objects, are dropped in silence.
    `max_varbinds`: no answer holds more than so many, the rest is cut off.
    `gen_err`: objects below it make a whole request fail with genErr.
    `turns_back`: (OID, earlier OID): a walk that reaches the first is led back to the second.
    `stalls_s`: the tables are read from the hardware only so often.
    """

    versions: tuple[int, ...] = (0, 1)
    max_octets: int = 65_507
    drop_octets: int = 65_507
    drop_varbinds: int | None = None
    max_varbinds: int | None = None
    gen_err: Oid | None = None
    turns_back: tuple[Oid, Oid] | None = None
    stalls_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What a switch publishes in enterprise tables, and what in the standard sensors."""

    published: tuple[Published, ...]
    standard: frozenset[Quantity]
    pages: tuple[tuple[Oid, PageOf], ...] = ()

    def of(self, quantity: Quantity) -> tuple[Published, ...]:
        """Where a quantity is; several when it is published more than once, none when not."""
        return tuple(p for p in self.published if p.quantity is quantity)


@dataclass(frozen=True, slots=True, kw_only=True)
class Personality:
    """One invented switch."""

    name: str
    about: str
    arc: int
    ports: tuple[PortPlan, ...]
    tables: tuple[Table, ...] = ()
    sensors: Sensors | None = None
    interfaces: Interfaces = field(default_factory=Interfaces)
    manners: Manners = field(default_factory=Manners)
    community: str = field(default="reads-only", repr=False)

    @property
    def base(self) -> Oid:
        """Where its own objects are."""
        return (*ENTERPRISES, ENTERPRISE, self.arc)

    def truth(self) -> Truth:
        """The ground truth, from the layout itself."""
        published = [p for table in self.tables for p in table.truth(self.base)]
        standard = self.sensors.quantities if self.sensors else frozenset()
        pages = tuple(page for table in self.tables for page in table.pages(self.base))
        return Truth(published=tuple(published), standard=standard, pages=pages)

    def if_index(self, number: int, boots: int) -> int:
        """The ifIndex of a port: renumbered at a restart where the switch does that."""
        return self.interfaces.index(number, boots)


def tables_at(
    switch: Personality,
    pair: Pair,
    side: int,
    *,
    time_s: float,
    booted_s: float,
    boots: int,
    neighbours: tuple[Neighbour, ...] = (),
) -> Tables:
    """All instances of a switch at one instant. `side`: which of the pair it is."""
    every = switch.manners.stalls_s
    optics_s = time_s - time_s % every if every else time_s
    uptime_cs = int((time_s - booted_s) * 100) % 2**32
    ports = pair.ports(side, optics_s)
    cells: Tables = {}
    for oid, syntax, value in _standard(switch, pair, side, time_s, uptime_cs, boots, neighbours):
        cells[oid] = (syntax, value)
    if switch.sensors:
        index = {p.plan.number: switch.if_index(p.plan.number, boots) for p in ports}
        for oid, syntax, value in sensor_cells(switch.sensors, ports, index):
            cells[oid] = (syntax, value)
    for table in switch.tables:
        rows = _rows(switch, ports, boots, uptime_cs)
        for oid, syntax, value in table.cells(switch.base, rows):
            cells[oid] = (syntax, value)
    return cells


def _standard(
    switch: Personality,
    pair: Pair,
    side: int,
    time_s: float,
    uptime_cs: int,
    boots: int,
    neighbours: tuple[Neighbour, ...],
) -> Iterator[tuple[Oid, Syntax, Value]]:
    how, ports = switch.interfaces, pair.ports(side, time_s)
    yield from system_cells(how, (*switch.base, 1), switch.name, uptime_cs)
    yield (*dotted("1.3.6.1.2.1.2.1"), 0), Syntax.INTEGER, len(ports)
    for port in ports:
        optic = pair.optic(side, port.plan.number)
        yield from interface_cells(how, port, optic, uptime_cs, boots)
    yield from virtual_cells(how)
    if how.lldp:
        yield from lldp_cells(ports, neighbours)


def _rows(
    switch: Personality, ports: tuple[PortNow, ...], boots: int, uptime_cs: int
) -> Iterator[Row]:
    for running, port in enumerate(ports, 1):
        yield Row(
            port=port,
            if_index=switch.if_index(port.plan.number, boots),
            running=running,
            uptime_cs=uptime_cs,
        )
