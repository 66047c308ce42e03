"""ENTITY-MIB and ENTITY-SENSOR-MIB of a simulated switch, in several dialects.

Source: RFC 6933 (ENTITY-MIB, version 4), RFC 3433 (ENTITY-SENSOR-MIB); OIDs as in those modules.
The trees are those that RFC 6933 allows; how a power is published is each `PowerUnit`'s name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import IntEnum

from strandkeeper.optics.units import Microwatt
from strandkeeper_demo.interface_mib import IF_INDEX
from strandkeeper_demo.mib import Cell, Row, Syntax, at, dotted, fixed
from strandkeeper_demo.plant import Counts
from strandkeeper_demo.station import ENTERPRISE, Port, PowerUnit, Switch, TreeShape
from strandkeeper_demo.switch_now import Sensor, SwitchNow

__all__ = ["entity_rows"]

ENTITY = "1.3.6.1.2.1.47.1.1.1.1"
ALIAS_MAPPING = "1.3.6.1.2.1.47.1.3.2.1.2"
CHILD = "1.3.6.1.2.1.47.1.3.3.1.1"
LAST_CHANGE = "1.3.6.1.2.1.47.1.4.1"
SENSOR = "1.3.6.1.2.1.99.1.1.1"

# This dialect's word for no light: the floor of SFF-8472's range, 1 count = 0.1 µW = -40 dBm.
NO_LIGHT_HUNDREDTH_DBM = -4000


class Class(IntEnum):
    """PhysicalClass (IANA-ENTITY-MIB)."""

    CHASSIS = 3
    CONTAINER = 5
    SENSOR = 8
    MODULE = 9
    PORT = 10


class Kind(IntEnum):
    """EntitySensorDataType (RFC 3433)."""

    OTHER = 1
    VOLTS_DC = 4
    AMPERES = 5
    WATTS = 6
    CELSIUS = 8


class Scale(IntEnum):
    """EntitySensorDataScale (RFC 3433)."""

    MILLI = 8
    UNITS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """How one quantity is published."""

    kind: Kind
    scale: Scale
    precision: int
    units: str


TEMPERATURE = Measure(kind=Kind.CELSIUS, scale=Scale.UNITS, precision=1, units="Celsius")
SUPPLY = Measure(kind=Kind.VOLTS_DC, scale=Scale.MILLI, precision=1, units="volts")
BIAS = Measure(kind=Kind.AMPERES, scale=Scale.MILLI, precision=3, units="amperes")
POWER = {
    PowerUnit.TENTH_MICROWATT_AS_MILLI: Measure(
        kind=Kind.WATTS, scale=Scale.MILLI, precision=4, units="watts"
    ),
    PowerUnit.NANOWATT: Measure(kind=Kind.WATTS, scale=Scale.UNITS, precision=9, units="watts"),
    PowerUnit.HUNDREDTH_DBM: Measure(kind=Kind.OTHER, scale=Scale.UNITS, precision=2, units="dBm"),
}

WORDS = {
    Sensor.TEMPERATURE: "temperature",
    Sensor.SUPPLY: "supply voltage",
    Sensor.BIAS: "laser bias current",
    Sensor.TX: "transmit power",
    Sensor.RX: "receive power",
}

CHASSIS_INDEX = 1
CHASSIS_SENSOR_INDEX = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Entity:
    """One physical thing."""

    index: int
    inside: int
    of: Class
    position: int
    name: str
    descr: str
    serial: str = ""
    model: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The indices around one port. 0: there is no such entity."""

    container: int
    port: int
    module: int
    sensors: int

    def sensor(self, which: Sensor) -> int:
        """The index of one of the module's sensors."""
        return self.sensors + int(which)


def entity_rows(switch: Switch, present: frozenset[str]) -> Iterator[Row]:
    """Both MIBs, with the modules of the ports named in `present`."""
    entities = [
        Entity(
            index=CHASSIS_INDEX,
            inside=0,
            of=Class.CHASSIS,
            position=-1,
            name=str(switch.name),
            descr="invented switch",
            serial=f"TS-{switch.model:03}",
            model=f"invented-{switch.model}",
        ),
        _sensor_entity(CHASSIS_SENSOR_INDEX, CHASSIS_INDEX, 1, "chassis temperature"),
    ]
    yield at(LAST_CHANGE, 0), Cell(Syntax.TICKS, lambda now: now.entities_changed_cs)
    yield from _sensor_rows(CHASSIS_SENSOR_INDEX, TEMPERATURE, _chassis)
    for number, port in enumerate(switch.ports, 1):
        places = _places(switch.dialect.shape, number)
        entities += _around(switch, port, number, places, filled=port.name in present)
        yield at(ALIAS_MAPPING, places.port, 0), fixed(Syntax.OID, at(IF_INDEX, port.if_index))
        if port.name in present:
            yield from _port_sensors(switch, port, places)
    for entity in entities:
        yield from _entity(switch, entity)


def _places(shape: TreeShape, number: int) -> Places:
    """Arbitrary and sparse, as RFC 6933 allows, and another order in each dialect."""
    if shape is TreeShape.MODULE_HOLDS_PORT:
        return Places(
            container=100 + number, port=300 + number, module=200 + number, sensors=1000 * number
        )
    if shape is TreeShape.PORT_HOLDS_MODULE:
        first = 5000 + 16 * number
        return Places(container=first, port=first + 1, module=first + 2, sensors=first + 4)
    return Places(container=0, port=10 + number, module=0, sensors=700 + 10 * number)


def _around(
    switch: Switch, port: Port, number: int, places: Places, *, filled: bool
) -> Iterator[Entity]:
    """The port and what holds it or sits in it, in the switch's own arrangement."""
    shape = switch.dialect.shape
    home = CHASSIS_INDEX
    if port.optical and places.container:
        yield _slot(port, number, places)
        home = places.container
    holds_port = shape is TreeShape.MODULE_HOLDS_PORT and port.optical and filled
    yield Entity(
        index=places.port,
        inside=places.module if holds_port else home,
        of=Class.PORT,
        position=1 if holds_port else number,
        name=str(port.name),
        descr=f"gigabit port {port.name}",
        serial=port.module.serial if port.module and filled and not places.module else "",
    )
    if not (port.optical and filled):
        return
    parent = places.port
    if places.module:
        inside = places.port if shape is TreeShape.PORT_HOLDS_MODULE else home
        yield _module(port, places.module, inside)
        parent = places.module
    for which in Sensor:
        yield _sensor_entity(
            places.sensor(which), parent, int(which), f"{port.name} {WORDS[which]}"
        )


def _slot(port: Port, number: int, places: Places) -> Entity:
    return Entity(
        index=places.container,
        inside=CHASSIS_INDEX,
        of=Class.CONTAINER,
        position=number,
        name=f"{port.name} slot",
        descr="slot for a small form-factor pluggable module",
    )


def _module(port: Port, index: int, inside: int) -> Entity:
    module = port.module
    return Entity(
        index=index,
        inside=inside,
        of=Class.MODULE,
        position=1,
        name=f"{port.name} module",
        descr=f"{module.pmd} {module.wavelength_nm} nm" if module else "",
        serial=f"{module.serial:<16}" if module else "",
        model=module.pmd if module else "",
    )


def _sensor_entity(index: int, inside: int, position: int, name: str) -> Entity:
    return Entity(
        index=index, inside=inside, of=Class.SENSOR, position=position, name=name, descr=name
    )


def _entity(switch: Switch, entity: Entity) -> Iterator[Row]:
    index = entity.index
    kind = (*dotted("1.3.6.1.4.1"), ENTERPRISE, 2, int(entity.of))
    yield at(ENTITY, 2, index), fixed(Syntax.TEXT, entity.descr)
    yield at(ENTITY, 3, index), fixed(Syntax.OID, kind)
    yield at(ENTITY, 4, index), fixed(Syntax.INTEGER, entity.inside)
    yield at(ENTITY, 5, index), fixed(Syntax.INTEGER, int(entity.of))
    yield at(ENTITY, 6, index), fixed(Syntax.INTEGER, entity.position)
    yield at(ENTITY, 7, index), fixed(Syntax.TEXT, entity.name)
    yield at(ENTITY, 8, index), fixed(Syntax.TEXT, "")
    yield at(ENTITY, 11, index), fixed(Syntax.TEXT, entity.serial)
    yield at(ENTITY, 12, index), fixed(Syntax.TEXT, "invented")
    yield at(ENTITY, 13, index), fixed(Syntax.TEXT, entity.model)
    yield at(ENTITY, 14, index), fixed(Syntax.TEXT, "")
    yield at(ENTITY, 16, index), fixed(Syntax.INTEGER, 1 if entity.of is Class.MODULE else 2)
    if entity.inside:
        yield at(CHILD, entity.inside, index), fixed(Syntax.INTEGER, index)


def _port_sensors(switch: Switch, port: Port, places: Places) -> Iterator[Row]:
    unit = switch.dialect.unit
    power = POWER[unit]
    readings: tuple[tuple[Sensor, Measure, Callable[[Counts], int]], ...] = (
        (Sensor.TEMPERATURE, TEMPERATURE, lambda c: round(c.temp * 10 / 256)),
        (Sensor.SUPPLY, SUPPLY, lambda c: c.vcc),
        (Sensor.BIAS, BIAS, lambda c: c.bias * 2),
        (Sensor.TX, power, lambda c: _published(unit, c.tx)),
        (Sensor.RX, power, lambda c: _published(unit, c.rx)),
    )
    for which, measure, pick in readings:
        yield from _sensor_rows(places.sensor(which), measure, _of_module(port, pick))


def _of_module(port: Port, pick: Callable[[Counts], int]) -> Callable[[SwitchNow], int]:
    return lambda now: pick(now.counts(port))


def _sensor_rows(index: int, measure: Measure, read: Callable[[SwitchNow], int]) -> Iterator[Row]:
    yield at(SENSOR, 1, index), fixed(Syntax.INTEGER, int(measure.kind))
    yield at(SENSOR, 2, index), fixed(Syntax.INTEGER, int(measure.scale))
    yield at(SENSOR, 3, index), fixed(Syntax.INTEGER, measure.precision)
    yield at(SENSOR, 4, index), Cell(Syntax.INTEGER, read)
    yield at(SENSOR, 5, index), fixed(Syntax.INTEGER, 1)
    yield at(SENSOR, 6, index), fixed(Syntax.TEXT, measure.units)
    yield at(SENSOR, 7, index), Cell(Syntax.TICKS, lambda now: now.refreshed_cs)
    yield (
        at(SENSOR, 8, index),
        Cell(Syntax.GAUGE, lambda now: now.switch.dialect.refresh_s * 1000),
    )


def _chassis(now: SwitchNow) -> int:
    return round(now.air_c() * 10)


def _published(unit: PowerUnit, tenth_microwatts: int) -> int:
    """A power of SFF-8472 counts as the switch's sensor shows it."""
    if unit is PowerUnit.TENTH_MICROWATT_AS_MILLI:
        return tenth_microwatts
    if unit is PowerUnit.NANOWATT:
        return tenth_microwatts * 100
    if tenth_microwatts == 0:
        return NO_LIGHT_HUNDREDTH_DBM
    return round(Microwatt(tenth_microwatts / 10).to_milliwatt().to_dbm().value * 100)
