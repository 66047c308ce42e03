"""What there is at the invented station: places, switches, ports, modules."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, StrEnum

from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "ENTERPRISE",
    "Community",
    "Dialect",
    "Module",
    "Place",
    "Port",
    "PowerUnit",
    "Switch",
    "TreeShape",
    "User",
]

# IANA's private enterprise number for examples in documentation (RFC 5612).
ENTERPRISE = 32473


class Place(StrEnum):
    """Where a switch stands; each has its own weather."""

    LABORATORY = "laboratory"
    PUMP_HOUSE = "pump house"
    JETTY = "jetty"


class PowerUnit(Enum):
    """How a switch puts optical power into ENTITY-SENSOR-MIB."""

    TENTH_MICROWATT_AS_MILLI = "watts, scale milli, precision 4"
    NANOWATT = "watts, scale units, precision 9"
    HUNDREDTH_DBM = "type other, precision 2, units dBm"


class TreeShape(Enum):
    """How a switch arranges ENTITY-MIB between chassis and sensor."""

    MODULE_HOLDS_PORT = "container > module > port beside the sensors"
    PORT_HOLDS_MODULE = "container > port > module > sensors"
    PORT_HOLDS_SENSORS = "port > sensors"


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """One pluggable optic: what it truly does at 25 °C, and by how much its figures err.

    `rx_error`/`tx_error` are the constant errors of its two power readings, within the ±3 dB that
    SFF-8472 9.2 allows. `warmth_c` is how much warmer than its surroundings it runs.
    """

    pmd: str
    mau_type: int
    wavelength_nm: int
    serial: str
    launch: Dbm
    rx_error: Db
    tx_error: Db
    bias_ma: float = 14.0
    warmth_c: float = 17.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """One port; `optical` without a module is an empty slot."""

    name: PortName
    if_index: int
    alias: str = ""
    optical: bool = False
    module: Module | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a switch speaks: units, tree, how fresh its figures are, which tables it has."""

    unit: PowerUnit
    shape: TreeShape
    refresh_s: int = 1
    wide_error_counters: bool = True
    mau: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Community:
    """SNMP v2c access."""

    text: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class User:
    """SNMP v3 access, authPriv with SHA-256 (RFC 7860) and AES-128 (RFC 3826)."""

    name: str
    auth_key: str = field(repr=False)
    priv_key: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """One simulated switch."""

    name: SwitchName
    place: Place
    address: str
    model: int
    ports: tuple[Port, ...]
    dialect: Dialect
    access: Community | User

    def port(self, name: PortName) -> Port:
        """The port of that name. Raises KeyError."""
        for port in self.ports:
            if port.name == name:
                return port
        raise KeyError(name)
