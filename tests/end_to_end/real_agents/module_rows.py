"""What a switch says of one pluggable module, written from the standards and from nothing of ours.

Sources: RFC 6933 (ENTITY-MIB), RFC 3433 (ENTITY-SENSOR-MIB: value = raw * 10^(3*(scale - 9)) /
10^precision, scale 9 being units), RFC 4836 (MAU-MIB).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["AMPERES", "CELSIUS", "DBM", "MICROWATTS", "MILLIWATTS", "VOLTS", "Module", "Sensor"]

ENTITY: Final = "1.3.6.1.2.1.47"
SENSORS: Final = "1.3.6.1.2.1.99"
MAU: Final = "1.3.6.1.2.1.26"

_PHYSICAL: Final = f"{ENTITY}.1.1.1.1"
_ALIAS: Final = f"{ENTITY}.1.3.2.1.2"
_IF_INDEX: Final = "1.3.6.1.2.1.2.2.1.1"
_CHASSIS, _CONTAINER, _SENSOR, _MODULE, _PORT = 3, 5, 8, 9, 10  # PhysicalClass, RFC 4133


@dataclass(frozen=True, slots=True)
class Sensor:
    """EntitySensorDataType, EntitySensorDataScale, precision and entPhySensorUnitsDisplay."""

    kind: int
    scale: int
    precision: int
    units: str

    def raw(self, value: float) -> int:
        """The integer that says `value`, which is in the sensor's unit without its scale."""
        return round(value * 10.0 ** (3 * (9 - self.scale) + self.precision))


MICROWATTS: Final = Sensor(6, 7, 1, "watts")
MILLIWATTS: Final = Sensor(6, 8, 4, "watts")
DBM: Final = Sensor(1, 9, 2, "dBm")
AMPERES: Final = Sensor(5, 8, 2, "amperes")
CELSIUS: Final = Sensor(8, 9, 1, "Celsius")
VOLTS: Final = Sensor(4, 8, 0, "volts DC")


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """One module: receive and transmit power in the unit of `power`, the rest in °C, A and V.

    `serial` empty: the slot is empty, and every row of the module is gone. `mau_type` is the last
    arc of dot3MauType; None: a switch without MAU-MIB. `changed_cs` is entLastChangeTime.
    """

    rx: float
    tx: float
    power: Sensor = MICROWATTS
    temp_c: float = 31.5
    bias_a: float = 0.0214
    supply_v: float = 3.294
    serial: str = "SN0001"
    mau_type: int | None = None
    sensors_in_port: bool = False
    changed_cs: int = 0

    def rows(self, *, if_index: int, if_name: str) -> str:
        """The file that pass_persist.py answers from."""
        entities = [
            (1, "chassis", "switch", _CHASSIS, 0),
            (100, "slot 1", "module slot", _CONTAINER, 1),
        ]
        lines = [f"{ENTITY}.1.4.1.0 timeticks {self.changed_cs}"]
        if self.serial:
            entities += [
                (101, f"module {if_name}", "pluggable optic", _MODULE, 100),
                (102, if_name, "optical port", _PORT, 101),
            ]
            lines += [f"{_ALIAS}.102.0 objectid .{_IF_INDEX}.{if_index}"]
            lines += [f"{_PHYSICAL}.11.101 string {self.serial}"]
            for index, name, sensor, value in self._quantities(if_name):
                entities.append((index, name, name, _SENSOR, 102 if self.sensors_in_port else 101))
                lines += _sensor_rows(index, sensor, value)
        lines += [line for entity in entities for line in _entity_rows(*entity)]
        lines += self._mau_rows(if_index)
        return "".join(f"{line}\n" for line in lines)

    def _quantities(self, if_name: str) -> list[tuple[int, str, Sensor, float]]:
        return [
            (111, f"{if_name} Receive Power Sensor", self.power, self.rx),
            (112, f"{if_name} Transmit Power Sensor", self.power, self.tx),
            (113, f"{if_name} Bias Current Sensor", AMPERES, self.bias_a),
            (114, f"{if_name} Temperature Sensor", CELSIUS, self.temp_c),
            (115, f"{if_name} Supply Voltage Sensor", VOLTS, self.supply_v),
        ]

    def _mau_rows(self, if_index: int) -> list[str]:
        if self.mau_type is None:
            return []
        entry, row = f"{MAU}.2.1.1", f"{if_index}.1"
        return [
            f"{entry}.3.{row} objectid .{MAU}.4.{self.mau_type}",
            f"{entry}.4.{row} integer 3",
            f"{entry}.5.{row} integer 3",
            f"{entry}.6.{row} counter 0",
        ]


def _entity_rows(index: int, name: str, descr: str, kind: int, inside: int) -> list[str]:
    return [
        f"{_PHYSICAL}.2.{index} string {descr}",
        f"{_PHYSICAL}.4.{index} integer {inside}",
        f"{_PHYSICAL}.5.{index} integer {kind}",
        f"{_PHYSICAL}.6.{index} integer 1",
        f"{_PHYSICAL}.7.{index} string {name}",
    ]


def _sensor_rows(index: int, sensor: Sensor, value: float) -> list[str]:
    entry = f"{SENSORS}.1.1.1"
    return [
        f"{entry}.1.{index} integer {sensor.kind}",
        f"{entry}.2.{index} integer {sensor.scale}",
        f"{entry}.3.{index} integer {sensor.precision}",
        f"{entry}.4.{index} integer {sensor.raw(value)}",
        f"{entry}.5.{index} integer 1",
        f"{entry}.6.{index} string {sensor.units}",
    ]
