"""Small ENTITY-MIB and ENTITY-SENSOR-MIB tables for tests, written out from the standards' columns.

The OIDs are entered here a second time, on purpose: nothing is taken from the reader under test.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from strandkeeper.model.oid import Oid, Value, parse_oid
from strandkeeper.readers.base import Column, PortKey

ENTITY = "1.3.6.1.2.1.47.1.1.1.1"
ALIAS = "1.3.6.1.2.1.47.1.3.2.1.2"
SENSOR = "1.3.6.1.2.1.99.1.1.1"
CHASSIS, CONTAINER, MODULE, PORT, SENSOR_CLASS, OTHER = 3, 5, 9, 10, 8, 1
CELSIUS, WATTS, AMPERES, VOLTS, OTHER_TYPE = 8, 6, 5, 4, 1
OK, UNAVAILABLE, NONOPERATIONAL = 1, 2, 3


@dataclass(slots=True)
class Rows:
    """Tables as a walk gives them, built row by row."""

    tables: dict[Oid, dict[Oid, Value]] = field(default_factory=dict)

    def put(self, column: str, index: Oid, value: Value) -> None:
        self.tables.setdefault(parse_oid(column), {})[index] = value

    def entity(
        self,
        index: int,
        inside: int,
        kind: int,
        name: str = "",
        *,
        descr: str = "",
        serial: str = "",
    ) -> Rows:
        self.put(f"{ENTITY}.2", (index,), descr.encode())
        self.put(f"{ENTITY}.4", (index,), inside)
        self.put(f"{ENTITY}.5", (index,), kind)
        self.put(f"{ENTITY}.7", (index,), name.encode())
        self.put(f"{ENTITY}.11", (index,), serial.encode())
        return self

    def alias(self, index: int, if_index: int, *, logical: int = 0, column: str = "1") -> Rows:
        pointer = parse_oid(f"1.3.6.1.2.1.2.2.1.{column}.{if_index}")
        self.put(ALIAS, (index, logical), pointer)
        return self

    def sensor(  # one row of the sensor table and of the entity table
        self,
        index: int,
        inside: int,
        name: str,
        kind: int,
        raw: int,
        *,
        scale: int = 9,
        precision: int = 0,
        units: str = "",
        status: int = OK,
        stamp: int = 0,
    ) -> Rows:
        self.entity(index, inside, SENSOR_CLASS, name)
        cells: tuple[Value, ...] = (kind, scale, precision, raw, status, units.encode(), stamp)
        for column, value in enumerate(cells, start=1):
            self.put(f"{SENSOR}.{column}", (index,), value)
        return self

    @property
    def walked(self) -> Mapping[Oid, Column]:
        return self.tables

    def answer(self, oids: tuple[Oid, ...]) -> dict[Oid, Value]:
        """What a GET of these objects brings, without those that are not there."""
        cells = {(*c, *i): v for c, rows in self.tables.items() for i, v in rows.items()}
        return {oid: cells[oid] for oid in oids if oid in cells}


def ports(*names: str) -> tuple[PortKey, ...]:
    """Ports 1, 2, ... with these ifNames, and an ifDescr that says the same at length."""
    return tuple(
        PortKey(if_index=n, name=name, descr=f"Gigabit fibre port {name}")
        for n, name in enumerate(names, start=1)
    )


def optics(rows: Rows, inside: int, first: int, *, lead: str = "") -> Rows:
    """The five sensors of a module: 35.2 degrees, 3.31 V, 36.1 mA, -5.23 dBm out, -10.00 dBm in."""
    rows.sensor(first, inside, f"{lead}Temperature", CELSIUS, 352, precision=1)
    rows.sensor(first + 1, inside, f"{lead}Supply voltage", VOLTS, 3310, scale=8)
    rows.sensor(first + 2, inside, f"{lead}Bias current", AMPERES, 3610, scale=8, precision=2)
    rows.sensor(first + 3, inside, f"{lead}Transmit power", WATTS, 2999, scale=8, precision=4)
    rows.sensor(first + 4, inside, f"{lead}Receive power", WATTS, 1000, scale=8, precision=4)
    return rows
