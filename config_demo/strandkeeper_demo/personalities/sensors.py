"""ENTITY-MIB and ENTITY-SENSOR-MIB of an invented switch, with their common shortcomings.

Source: RFC 6933, RFC 3433.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.optics.units import Dbm
from strandkeeper_demo.mib import Oid, Syntax, Value, dotted
from strandkeeper_demo.personalities.coding import Coding, Unit
from strandkeeper_demo.personalities.columns import LIMITS, reading
from strandkeeper_demo.personalities.physics import PortNow, Quantity
from strandkeeper_demo.personalities.table import entity_of

__all__ = ["MEASURES", "Measure", "Sensors", "sensor_cells"]

Cells = Iterator[tuple[Oid, Syntax, Value]]

ENTITY: Final = dotted("1.3.6.1.2.1.47.1.1.1.1")
ALIAS: Final = dotted("1.3.6.1.2.1.47.1.3.2.1.2")
LAST_CHANGE: Final = dotted("1.3.6.1.2.1.47.1.4.1.0")
SENSOR: Final = dotted("1.3.6.1.2.1.99.1.1.1")
IF_INDEX: Final = dotted("1.3.6.1.2.1.2.2.1.1")

CHASSIS, SENSOR_CLASS, MODULE, PORT = 3, 8, 9, 10
OTHER, VOLTS, AMPERES, WATTS, CELSIUS = 1, 4, 5, 6, 8
MICRO, MILLI, UNITS = 7, 8, 9
OK = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """How one quantity stands in the sensor table; `coding` is the raw value's."""

    kind: int
    scale: int
    precision: int
    units: str
    coding: Coding


MEASURES: Final[dict[Quantity, Measure]] = {
    Quantity.TEMPERATURE: Measure(
        kind=CELSIUS, scale=UNITS, precision=1, units="Celsius", coding=Coding(unit=Unit(0.1, "°C"))
    ),
    Quantity.SUPPLY: Measure(
        kind=VOLTS, scale=MILLI, precision=0, units="volts", coding=Coding(unit=Unit(0.001, "V"))
    ),
    Quantity.BIAS: Measure(
        kind=AMPERES, scale=MILLI, precision=2, units="amperes",
        coding=Coding(unit=Unit(0.01, "mA")),
    ),
    Quantity.TX: Measure(
        kind=WATTS, scale=MILLI, precision=4, units="watts", coding=Coding(unit=Unit(1e-4, "mW"))
    ),
    Quantity.RX: Measure(
        kind=WATTS, scale=MILLI, precision=4, units="watts", coding=Coding(unit=Unit(1e-4, "mW"))
    ),
}  # fmt: skip

WORDS: Final = {
    Quantity.TEMPERATURE: "Temperature",
    Quantity.SUPPLY: "Supply voltage",
    Quantity.BIAS: "Bias current",
    Quantity.TX: "Transmit power",
    Quantity.RX: "Receive power",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensors:
    """Which sensors there are and what is wrong with them.

    `alias`: ports are mapped to interfaces. `names_only`: the sensors hang under the chassis, only
    their names tell whose they are. `limits`: the thresholds are published as sensors too.
    `status`: entPhySensorOperStatus of all of them.
    """

    quantities: frozenset[Quantity] = frozenset(Quantity)
    measures: Mapping[Quantity, Measure] = field(default_factory=lambda: MEASURES)
    alias: bool = True
    names_only: bool = False
    limits: bool = False
    status: int = OK


def sensor_cells(how: Sensors, ports: tuple[PortNow, ...], if_index: Mapping[int, int]) -> Cells:
    """Chassis, ports, modules and sensors."""
    yield LAST_CHANGE, Syntax.TICKS, 0
    yield from _entity(1, 0, CHASSIS, "chassis", 0)
    for port in ports:
        if not port.present:
            continue
        module = entity_of(port.plan.number)
        yield from _entity(module - 1, 1, PORT, port.plan.name, port.plan.number)
        if how.alias:
            target = (*IF_INDEX, if_index[port.plan.number])
            yield (*ALIAS, module - 1, 0), Syntax.OID, target
        if port.serial:
            yield from _entity(module, module - 1, MODULE, f"Module {port.plan.name}", 1)
            yield (*ENTITY, 11, module), Syntax.TEXT, port.serial
        if port.measures:
            yield from _sensors(how, port, module)


def _entity(index: int, inside: int, kind: int, name: str, position: int) -> Cells:
    yield (*ENTITY, 2, index), Syntax.TEXT, name
    yield (*ENTITY, 4, index), Syntax.INTEGER, inside
    yield (*ENTITY, 5, index), Syntax.INTEGER, kind
    yield (*ENTITY, 6, index), Syntax.INTEGER, position
    yield (*ENTITY, 7, index), Syntax.TEXT, name


def _sensors(how: Sensors, port: PortNow, module: int) -> Cells:
    parent = 1 if how.names_only else module
    several = len(port.lanes) > 1
    for lane in range(len(port.lanes)):
        for place, quantity in enumerate(Quantity):
            if quantity not in how.quantities or (lane and quantity in _OF_MODULE):
                continue
            index = 100_000 + 100 * port.plan.number + 10 * lane + place
            tail = f" lane {lane + 1}" if several and quantity not in _OF_MODULE else ""
            name = f"{port.plan.name} {WORDS[quantity]}{tail}"
            value = how.measures[quantity].coding.write(reading(port, lane, quantity))
            yield from _sensor(how, index, parent, name, how.measures[quantity], value)
    if how.limits:
        yield from _limits(how, port, parent)


_OF_MODULE: Final = (Quantity.TEMPERATURE, Quantity.SUPPLY)


def _limits(how: Sensors, port: PortNow, parent: int) -> Cells:
    for place, quantity in enumerate(q for q in Quantity if q in how.quantities):
        for which, word in ((0, "High alarm"), (1, "Low alarm")):
            limit = LIMITS[quantity][which]
            power = quantity in (Quantity.TX, Quantity.RX)
            value = how.measures[quantity].coding.write(
                Dbm(limit).to_milliwatt() if power else limit
            )
            index = 200_000 + 100 * port.plan.number + 10 * place + which
            name = f"{port.plan.name} {WORDS[quantity]} {word} threshold"
            yield from _sensor(how, index, parent, name, how.measures[quantity], value)


def _sensor(
    how: Sensors, index: int, parent: int, name: str, measure: Measure, value: Value | None
) -> Cells:
    yield from _entity(index, parent, SENSOR_CLASS, name, 1)
    yield (*SENSOR, 1, index), Syntax.INTEGER, measure.kind
    yield (*SENSOR, 2, index), Syntax.INTEGER, measure.scale
    yield (*SENSOR, 3, index), Syntax.INTEGER, measure.precision
    yield (*SENSOR, 4, index), Syntax.INTEGER, value if value is not None else 0
    yield (*SENSOR, 5, index), Syntax.INTEGER, how.status
    yield (*SENSOR, 6, index), Syntax.TEXT, measure.units
