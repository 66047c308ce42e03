"""Optics out of ENTITY-SENSOR-MIB (RFC 3433): watts of any scale and precision, or dBm by units."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from strandkeeper.model.module import NOTHING_SAID, ModuleFacts
from strandkeeper.model.oid import Absent, Oid, Value, as_int, as_text
from strandkeeper.model.power import NOT_REPORTED, Power
from strandkeeper.model.reading import OpticalReading, Quantity
from strandkeeper.readers import entity_tree
from strandkeeper.readers.base import Binding, Column, ModuleState, PortKey, PortReader, Sample
from strandkeeper.readers.entity_tree import Entity, EntityTree
from strandkeeper.readers.module_cells import wavelength_in
from strandkeeper.readers.sensor_value import (
    OVERFLOW,
    PRECISIONS,
    SCALES,
    UNDERFLOW,
    power_from_dbm,
    power_from_watts,
    scaled,
)

__all__ = ["EntitySensorReader", "Quantity"]

_SENSOR = (1, 3, 6, 1, 2, 1, 99, 1, 1, 1)
TYPE, SCALE, PRECISION, VALUE = (*_SENSOR, 1), (*_SENSOR, 2), (*_SENSOR, 3), (*_SENSOR, 4)
STATUS, UNITS, STAMP = (*_SENSOR, 5), (*_SENSOR, 6), (*_SENSOR, 7)

_OTHER, _UNKNOWN, _VOLTS_DC, _AMPERES, _WATTS, _CELSIUS = 1, 2, 4, 5, 6, 8
_OK = 1  # entPhySensorOperStatus
_UNITS_SCALE = 9  # entPhySensorScale units(9), where a row has none


_RX_WORDS = re.compile(r"rx|receiv|rcv|recv|input")
_TX_WORDS = re.compile(r"tx|transmit|xmit|output")
_LIMIT_WORDS = frozenset(
    "threshold thresholds thresh thrd alarm alarms warning warnings warn high hi low lo "
    "max min maximum minimum limit".split()
)
_LANE_WORDS = frozenset(("lane", "channel", "ch", "chan"))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sensor:
    index: int
    quantity: Quantity
    scale: int
    precision: int
    in_dbm: bool
    lane: int | None
    text: str
    stamped: bool


class EntitySensorReader:
    """The standard sensor table."""

    name = "entity-sensor"
    probe: Oid = VALUE
    columns: tuple[Oid, ...] = (
        VALUE,
        TYPE,
        SCALE,
        PRECISION,
        UNITS,
        STAMP,
        *entity_tree.COLUMNS,
    )

    def bind(self, tables: Mapping[Oid, Column], ports: Sequence[PortKey]) -> Binding:
        """Tie the sensors to ports; see entity_tree for the order of evidence."""
        tree = EntityTree(tables, ports)
        logarithmic = _watts_are_dbm(tables)
        by_port: dict[int, list[_Sensor]] = {}
        loose = 0
        for index in sorted(tables.get(VALUE, {})):
            sensor = _sensor(index, tables, tree, logarithmic) if len(index) == 1 else None
            if sensor is None:
                continue
            tied = tree.tie(sensor.index, sensor.lane)
            if not tied:
                loose += sensor.quantity in (Quantity.RX, Quantity.TX)
            for if_index in tied:
                by_port.setdefault(if_index, []).append(sensor)
        modules = _modules(tree, by_port)
        readers: dict[int, PortReader] = {
            port: _plan(sensors, None if port not in modules else tree.entity(modules[port]))
            for port, sensors in by_port.items()
            if any(s.quantity in (Quantity.RX, Quantity.TX) for s in sensors)
        }
        remarks = (f"{loose} light sensors could not be tied to a port",) if loose else ()
        return Binding(readers, remarks)


def _watts_are_dbm(tables: Mapping[Oid, Column]) -> bool:
    """Whether this agent puts dBm into watts sensors: a negative power gives it away."""
    types = tables.get(TYPE, {})
    return any(
        as_int(types.get(index)) == _WATTS and UNDERFLOW < (as_int(value) or 0) < 0
        for index, value in tables.get(VALUE, {}).items()
    )


def _sensor(
    index: Oid, tables: Mapping[Oid, Column], tree: EntityTree, logarithmic: bool
) -> _Sensor | None:
    """What a row measures, from its type first and its words then; None: nothing of a module's."""
    entity = tree.entity(index[0])
    text = f"{entity.name} {entity.descr}".strip()
    words = _words(text)
    if _LIMIT_WORDS.intersection(words):
        return None  # some agents publish the thresholds as sensors
    kind = as_int(tables.get(TYPE, {}).get(index)) or _UNKNOWN
    in_dbm = as_text(tables.get(UNITS, {}).get(index)).lower().startswith("dbm")
    quantity = _quantity(kind, in_dbm, words)
    if quantity is None:
        return None
    scale = as_int(tables.get(SCALE, {}).get(index)) or _UNITS_SCALE
    precision = as_int(tables.get(PRECISION, {}).get(index)) or 0
    if scale not in SCALES or precision not in PRECISIONS:
        return None
    return _Sensor(
        index=index[0],
        quantity=quantity,
        scale=scale,
        precision=precision,
        in_dbm=in_dbm or (kind == _WATTS and logarithmic),
        lane=_lane(words),
        text=text or f"sensor {index[0]}",
        stamped=bool(as_int(tables.get(STAMP, {}).get(index))),
    )


def _words(text: str) -> list[str]:
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    return re.findall(r"[a-z]+|[0-9]+", parted.lower())


def _quantity(kind: int, in_dbm: bool, words: Sequence[str]) -> Quantity | None:
    if kind == _WATTS or in_dbm:
        receives = any(_RX_WORDS.match(w) for w in words)
        sends = any(_TX_WORDS.match(w) for w in words)
        if receives == sends:
            return None
        return Quantity.RX if receives else Quantity.TX
    return {
        _AMPERES: Quantity.BIAS,
        _CELSIUS: Quantity.TEMPERATURE,
        _VOLTS_DC: Quantity.SUPPLY,
    }.get(kind)


def _lane(words: Sequence[str]) -> int | None:
    for word, after in pairwise(words):
        if word in _LANE_WORDS and after.isdigit():
            return int(after)
    return None


def _modules(tree: EntityTree, by_port: Mapping[int, Sequence[_Sensor]]) -> dict[int, int]:
    """The entity whose serial number is the module's, by port; shared ones are line cards."""
    found: dict[int, int] = {}
    for port, sensors in by_port.items():
        entity = tree.module(sensors[0].index)
        if entity is not None:
            found[port] = entity.index
    shared = {e for e in found.values() if list(found.values()).count(e) > 1}
    return {port: e for port, e in found.items() if e not in shared}


def _preference(sensor: _Sensor) -> tuple[bool, int, bool, int]:
    """The module's own figure before a lane's, lane by lane; of two currents the bias."""
    other_current = sensor.quantity is Quantity.BIAS and "bias" not in sensor.text.lower()
    return (sensor.lane is not None, sensor.lane or 0, other_current, sensor.index)


def _plan(sensors: Sequence[_Sensor], module: Entity | None) -> PortReader:
    """The sensor of each quantity: the first lane's; the others are named in a remark."""
    chosen: dict[Quantity, _Sensor] = {}
    spare: list[_Sensor] = []
    for sensor in sorted(sensors, key=_preference):
        if sensor.quantity in chosen:
            spare.append(sensor)
        else:
            chosen[sensor.quantity] = sensor
    powers = [s for s in spare if s.quantity in (Quantity.RX, Quantity.TX)]
    remarks: tuple[str, ...] = ()
    if powers:
        judged = " and ".join(chosen[q].text for q in (Quantity.RX, Quantity.TX) if q in chosen)
        remarks = (f"judged by {judged}; further lanes: {', '.join(s.text for s in powers)}",)
    return _EntityPort(
        sensors=chosen,
        module=None if module is None else module.index,
        made=ModuleFacts() if module is None else _made(module),
        remarks=remarks,
    )


def _made(module: Entity) -> ModuleFacts:
    said = f"{module.descr} {module.name} {module.part}"
    return ModuleFacts(
        serial=module.serial,
        maker=module.maker,
        part=module.part,
        wavelength_nm=wavelength_in(said),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _EntityPort:
    """The sensors of one port."""

    sensors: Mapping[Quantity, _Sensor]
    module: int | None
    made: ModuleFacts = NOTHING_SAID
    remarks: tuple[str, ...] = ()
    oids: tuple[Oid, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "oids", tuple(_asked(self.sensors, self.module)))

    @property
    def presence(self) -> Oid:
        """The sensor's own row among the entities, which leaves with the module."""
        return (*entity_tree.CLASS, min(s.index for s in self.sensors.values()))

    def decode(self, values: Mapping[Oid, Value]) -> Sample:
        """The reading; rows that are gone mean a module that is gone."""
        raw = {q: values.get((*VALUE, s.index)) for q, s in self.sensors.items()}
        if all(v in (Absent.NO_SUCH_INSTANCE, Absent.NO_SUCH_OBJECT) for v in raw.values()):
            return Sample(reading=OpticalReading(), module=ModuleState.GONE)
        if all(v is None or isinstance(v, Absent) for v in raw.values()):
            return Sample(reading=None)
        usable = {q: v for q in raw if (v := self._usable(q, raw[q], values)) is not None}
        upset = any(
            not s.in_dbm and UNDERFLOW < usable.get(q, 0) < 0 and q in (Quantity.RX, Quantity.TX)
            for q, s in self.sensors.items()
        )
        return Sample(
            reading=self._reading(usable),
            module=ModuleState.PRESENT,
            module_id=self._module_id(values),
            sampled_cs=self._sampled(values),
            rebind=upset,
        )

    def _usable(
        self, quantity: Quantity, raw: Value | None, values: Mapping[Oid, Value]
    ) -> int | None:
        """The raw value if the sensor says it is in order."""
        status = values.get((*STATUS, self.sensors[quantity].index))
        value = as_int(raw)
        if isinstance(status, int) and status != _OK:
            return None
        return value if value is not None and UNDERFLOW <= value <= OVERFLOW else None

    def _reading(self, raw: Mapping[Quantity, int]) -> OpticalReading:
        temperature = self._number(Quantity.TEMPERATURE, raw)
        supply = self._number(Quantity.SUPPLY, raw)
        if temperature == 0 and supply == 0:
            return OpticalReading()  # a module without diagnostics, shown as zeros
        return OpticalReading(
            rx=self._power(Quantity.RX, raw),
            tx=self._power(Quantity.TX, raw),
            bias_ma=self._number(Quantity.BIAS, raw, thousands=1),
            temp_c=temperature,
            vcc_v=supply,
        )

    def _power(self, quantity: Quantity, raw: Mapping[Quantity, int]) -> Power:
        sensor, value = self.sensors.get(quantity), raw.get(quantity)
        if sensor is None or value is None:
            return NOT_REPORTED
        of = power_from_dbm if sensor.in_dbm else power_from_watts
        return of(value, sensor.scale, sensor.precision)

    def _number(
        self, quantity: Quantity, raw: Mapping[Quantity, int], *, thousands: int = 0
    ) -> float | None:
        sensor, value = self.sensors.get(quantity), raw.get(quantity)
        if sensor is None or value is None or value in (UNDERFLOW, OVERFLOW):
            return None
        return scaled(value, sensor.scale + thousands, sensor.precision)

    def _module_id(self, values: Mapping[Oid, Value]) -> str | None:
        serial = None if self.module is None else values.get((*entity_tree.SERIAL, self.module))
        if serial in (None, Absent.NOT_ANSWERED, Absent.FAILED):
            return None
        said = as_text(serial)
        if said == self.made.serial:
            return self.made.module_id
        return said or None  # another module than the walk saw, whose part is not known yet

    def _sampled(self, values: Mapping[Oid, Value]) -> int | None:
        stamps = [as_int(values.get((*STAMP, s.index))) for s in self.sensors.values() if s.stamped]
        known = [s for s in stamps if s]
        return max(known) if known else None


def _asked(sensors: Mapping[Quantity, _Sensor], module: int | None) -> list[Oid]:
    asked: list[Oid] = []
    for sensor in sensors.values():
        asked += [(*VALUE, sensor.index), (*STATUS, sensor.index)]
    stamped = [s for s in sensors.values() if s.stamped]
    asked += [(*STAMP, s.index) for s in stamped[:1]]
    if module is not None:
        asked.append((*entity_tree.SERIAL, module))
    return asked
