"""System group, IF-MIB, EtherLike-MIB, MAU-MIB and LLDP-MIB of an invented switch.

Source: RFC 3418, 2863, 3635, 4836; IEEE 802.1AB-2005. What a switch leaves out is its own choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from strandkeeper_demo.mib import Oid, Syntax, Value, dotted
from strandkeeper_demo.personalities.physics import Fill, Optic, PortNow

__all__ = [
    "Interfaces",
    "Neighbour",
    "interface_cells",
    "lldp_cells",
    "system_cells",
    "virtual_cells",
]

Cells = Iterator[tuple[Oid, Syntax, Value]]

SYSTEM = dotted("1.3.6.1.2.1.1")
IF_TABLE = dotted("1.3.6.1.2.1.2.2.1")
IF_X = dotted("1.3.6.1.2.1.31.1.1.1")
DOT3 = dotted("1.3.6.1.2.1.10.7.2.1")
MAU = dotted("1.3.6.1.2.1.26.2.1.1")
MAU_TYPE = dotted("1.3.6.1.2.1.26.4")
LLDP_LOCAL = dotted("1.0.8802.1.1.2.1.3.7.1")
LLDP_REMOTE = dotted("1.0.8802.1.1.2.1.4.1.1")

_BEYOND_PORTS = 900_000_000  # ifIndex of what is no port: above that of any port, restarted or not
UP, DOWN, NOT_PRESENT = 1, 2, 6
ETHERNET = 6
MAU_1000BASE_T_FD = 30
AVAILABLE, NOT_AVAILABLE = 3, 4
FULL_DUPLEX = 3
INTERFACE_NAME = 5  # LldpPortIdSubtype


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """Whom a port hears by LLDP."""

    port: int
    system: str
    far_port: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Interfaces:
    """How a switch shows its ports. `step`: ifIndex = first + step × (number − 1)."""

    first: int = 1
    step: int = 1
    moves_by: int = 0  # how far every ifIndex moves at a restart
    names: Literal["names", "empty", "descr only", "all the same descr"] = "names"
    wide_counters: bool = True
    ether_like: bool = True
    mau: bool = True
    lldp: bool = True
    descr: str = "Invented switch for trying readers on"
    virtual: tuple[str, ...] = ("vlan1", "cpu0")

    def index(self, number: int, boots: int = 1) -> int:
        """The ifIndex of a port."""
        return self.first + self.step * (number - 1) + self.moves_by * (boots - 1)


def system_cells(how: Interfaces, kind: Oid, name: str, uptime_cs: int) -> Cells:
    """The system group."""
    yield (*SYSTEM, 1, 0), Syntax.TEXT, how.descr
    yield (*SYSTEM, 2, 0), Syntax.OID, kind
    yield (*SYSTEM, 3, 0), Syntax.TICKS, uptime_cs
    yield (*SYSTEM, 5, 0), Syntax.TEXT, name
    yield (*dotted("1.3.6.1.2.1.31.1.5"), 0), Syntax.TICKS, 0


def interface_cells(
    how: Interfaces, port: PortNow, optic: Optic, uptime_cs: int, boots: int
) -> Cells:
    """The rows of one port."""
    index = how.index(port.plan.number, boots)
    mbps = 1000 if port.plan.fill is Fill.COPPER else optic.mbps
    yield from _if_table(how, port, index, mbps, uptime_cs)
    if how.names != "descr only":
        yield from _if_x(how, port, index, mbps, uptime_cs)
    if how.ether_like:
        for quiet in (2, 3, 8, 10, 11, 13, 16, 18):
            yield (*DOT3, quiet, index), Syntax.COUNTER32, 0
        yield (*DOT3, 19, index), Syntax.INTEGER, FULL_DUPLEX
    if how.mau:
        yield from _mau(port, index, optic.mau_type)


def virtual_cells(how: Interfaces) -> Cells:
    """Interfaces that are no ports."""
    for extra, label in enumerate(how.virtual):
        yield from _virtual(_BEYOND_PORTS + extra, label)


def _octets(port: PortNow, uptime_cs: int, mbps: int) -> int:
    """About one per cent of the port's speed."""
    return int(uptime_cs / 100 * mbps * 1250) + port.plan.number if port.up else 0


def _descr(how: Interfaces, port: PortNow) -> str:
    return "Ethernet port" if how.names == "all the same descr" else f"Port {port.plan.name}"


def _if_table(how: Interfaces, port: PortNow, index: int, mbps: int, uptime_cs: int) -> Cells:
    octets = _octets(port, uptime_cs, mbps)
    state = UP if port.up else (DOWN if port.present else NOT_PRESENT)
    yield (*IF_TABLE, 1, index), Syntax.INTEGER, index
    yield (*IF_TABLE, 2, index), Syntax.TEXT, _descr(how, port)
    yield (*IF_TABLE, 3, index), Syntax.INTEGER, ETHERNET
    yield (*IF_TABLE, 4, index), Syntax.INTEGER, 1500
    yield (*IF_TABLE, 5, index), Syntax.GAUGE, min(mbps * 10**6, 2**32 - 1)
    yield (*IF_TABLE, 6, index), Syntax.TEXT, bytes((2, 0, 0x5E, 0, 0, index & 0xFF))
    yield (*IF_TABLE, 7, index), Syntax.INTEGER, UP
    yield (*IF_TABLE, 8, index), Syntax.INTEGER, state
    yield (*IF_TABLE, 9, index), Syntax.TICKS, 0
    for column, value in ((10, octets), (11, octets // 400), (16, octets), (17, octets // 400)):
        yield (*IF_TABLE, column, index), Syntax.COUNTER32, value % 2**32
    for quiet in (13, 14, 15, 19, 20):
        yield (*IF_TABLE, quiet, index), Syntax.COUNTER32, 0


def _if_x(how: Interfaces, port: PortNow, index: int, mbps: int, uptime_cs: int) -> Cells:
    octets = _octets(port, uptime_cs, mbps)
    yield (*IF_X, 1, index), Syntax.TEXT, "" if how.names == "empty" else port.plan.name
    if how.wide_counters:
        for column, value in ((6, octets), (7, octets // 400), (10, octets), (11, octets // 400)):
            yield (*IF_X, column, index), Syntax.COUNTER64, value
    yield (*IF_X, 15, index), Syntax.GAUGE, mbps
    yield (*IF_X, 17, index), Syntax.INTEGER, 1
    yield (*IF_X, 18, index), Syntax.TEXT, ""
    yield (*IF_X, 19, index), Syntax.TICKS, 0


def _mau(port: PortNow, index: int, mau_type: int) -> Cells:
    number = MAU_1000BASE_T_FD if port.plan.fill is Fill.COPPER else mau_type
    kind = (*MAU_TYPE, number) if port.present else (0, 0)
    yield (*MAU, 3, index, 1), Syntax.OID, kind
    yield (*MAU, 4, index, 1), Syntax.INTEGER, 3
    yield (*MAU, 5, index, 1), Syntax.INTEGER, AVAILABLE if port.up else NOT_AVAILABLE
    yield (*MAU, 6, index, 1), Syntax.COUNTER32, 0


def _virtual(index: int, label: str) -> Cells:
    yield (*IF_TABLE, 1, index), Syntax.INTEGER, index
    yield (*IF_TABLE, 2, index), Syntax.TEXT, label
    yield (*IF_TABLE, 3, index), Syntax.INTEGER, 53  # propVirtual
    yield (*IF_TABLE, 7, index), Syntax.INTEGER, UP
    yield (*IF_TABLE, 8, index), Syntax.INTEGER, UP
    yield (*IF_X, 1, index), Syntax.TEXT, label


def lldp_cells(ports: tuple[PortNow, ...], neighbours: tuple[Neighbour, ...]) -> Cells:
    """The own ports, and whom those that are up hear."""
    up = {port.plan.number for port in ports if port.up}
    for port in ports:
        number = port.plan.number
        yield (*LLDP_LOCAL, 2, number), Syntax.INTEGER, INTERFACE_NAME
        yield (*LLDP_LOCAL, 3, number), Syntax.TEXT, port.plan.name
        yield (*LLDP_LOCAL, 4, number), Syntax.TEXT, f"Port {port.plan.name}"
    for one in neighbours:
        if one.port not in up:
            continue
        index = (0, one.port, 1)
        yield (*LLDP_REMOTE, 4, *index), Syntax.INTEGER, 7  # local
        yield (*LLDP_REMOTE, 5, *index), Syntax.TEXT, one.system
        yield (*LLDP_REMOTE, 6, *index), Syntax.INTEGER, INTERFACE_NAME
        yield (*LLDP_REMOTE, 7, *index), Syntax.TEXT, one.far_port
        yield (*LLDP_REMOTE, 8, *index), Syntax.TEXT, f"Port {one.far_port}"
        yield (*LLDP_REMOTE, 9, *index), Syntax.TEXT, one.system
