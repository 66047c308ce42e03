"""SNMPv2-MIB, IF-MIB, EtherLike-MIB and MAU-MIB of a simulated switch.

Source: RFC 3418, RFC 3411 (engine group), RFC 2863, RFC 3635, RFC 4836; OIDs as in those modules.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from strandkeeper_demo.mib import Cell, Oid, Row, Syntax, at, counter32, dotted, fixed
from strandkeeper_demo.station import ENTERPRISE, Port, Switch
from strandkeeper_demo.switch_now import SwitchNow
from strandkeeper_demo.traffic import PortCounters

__all__ = ["IF_INDEX", "interface_rows", "system_rows"]

SYSTEM = "1.3.6.1.2.1.1"
ENGINE = "1.3.6.1.6.3.10.2.1"
IF_TABLE = "1.3.6.1.2.1.2.2.1"
IF_X_TABLE = "1.3.6.1.2.1.31.1.1.1"
DOT3_STATS = "1.3.6.1.2.1.10.7.2.1"
DOT3_HC_STATS = "1.3.6.1.2.1.10.7.11.1"
IF_MAU = "1.3.6.1.2.1.26.2.1.1"
MAU_TYPE = dotted("1.3.6.1.2.1.26.4")
IF_INDEX = f"{IF_TABLE}.1"

ETHERNET_CSMACD = 6  # IANAifType
MAU_1000BASE_T_FD = 30
GIGABIT_MBPS = 1000
FULL_DUPLEX = 3
MAU_OPERATIONAL = 3
TRUE = 1

_INTEGER, _TEXT, _TICKS = Syntax.INTEGER, Syntax.TEXT, Syntax.TICKS


def system_rows(switch: Switch, engine_id: bytes) -> Iterator[Row]:
    """The system group and the SNMP engine's own."""
    kind = (*dotted("1.3.6.1.4.1"), ENTERPRISE, 1, switch.model)
    yield at(SYSTEM, 1, 0), fixed(_TEXT, "Simulated switch of the Strandkeeper demo, invented")
    yield at(SYSTEM, 2, 0), fixed(Syntax.OID, kind)
    yield at(SYSTEM, 3, 0), Cell(_TICKS, lambda now: now.uptime_cs)
    yield at(SYSTEM, 4, 0), fixed(_TEXT, "nobody: it is invented")
    yield at(SYSTEM, 5, 0), fixed(_TEXT, f"{switch.name}.station.example")
    yield at(SYSTEM, 6, 0), fixed(_TEXT, switch.place.value)
    yield at(SYSTEM, 7, 0), fixed(_INTEGER, 2)  # sysServices: datalink
    yield at(ENGINE, 1, 0), fixed(_TEXT, engine_id)
    yield at(ENGINE, 2, 0), Cell(_INTEGER, lambda now: now.boot.number)
    yield at(ENGINE, 3, 0), Cell(_INTEGER, lambda now: int(now.time_s - now.boot.time_s))
    yield at(ENGINE, 4, 0), fixed(_INTEGER, 65507)


def interface_rows(switch: Switch) -> Iterator[Row]:
    """Every port's rows in the interface, Ethernet and MAU tables."""
    yield at("1.3.6.1.2.1.2.1", 0), fixed(_INTEGER, len(switch.ports))
    yield at("1.3.6.1.2.1.31.1.5", 0), fixed(_TICKS, 0)  # ifTableLastChange
    for port in switch.ports:
        yield from _if_table(switch, port)
        yield from _if_x_table(port)
        yield from _ether_like(switch, port)
        if switch.dialect.mau:
            yield from _mau(port)


def _count(port: Port, which: Callable[[PortCounters], int]) -> Callable[[SwitchNow], int]:
    return lambda now: which(now.counters(port))


def _count64(port: Port, which: Callable[[PortCounters], int]) -> Cell:
    return Cell(Syntax.COUNTER64, _count(port, which))


def _if_table(switch: Switch, port: Port) -> Iterator[Row]:
    def column(number: int) -> Oid:
        return at(IF_TABLE, number, port.if_index)

    mac = bytes((0x02, 0, 0x5E, switch.model, port.if_index >> 8, port.if_index & 0xFF))
    yield column(1), fixed(_INTEGER, port.if_index)
    yield column(2), fixed(_TEXT, f"gigabit port {port.name}")
    yield column(3), fixed(_INTEGER, ETHERNET_CSMACD)
    yield column(4), fixed(_INTEGER, 1500)
    yield column(5), fixed(Syntax.GAUGE, GIGABIT_MBPS * 10**6)
    yield column(6), fixed(_TEXT, mac)  # locally administered
    yield column(7), fixed(_INTEGER, 1)
    yield column(8), Cell(_INTEGER, lambda now: int(now.oper(port)))
    yield column(9), Cell(_TICKS, lambda now: now.last_change_cs(port))
    yield column(10), counter32(_count(port, lambda c: c.in_octets))
    yield column(11), counter32(_count(port, lambda c: c.in_frames))
    yield column(13), fixed(Syntax.COUNTER32, 0)
    yield column(14), counter32(_count(port, lambda c: c.fcs_errors + c.symbol_errors))
    yield column(15), fixed(Syntax.COUNTER32, 0)
    yield column(16), counter32(_count(port, lambda c: c.out_octets))
    yield column(17), counter32(_count(port, lambda c: c.out_frames))
    yield column(19), fixed(Syntax.COUNTER32, 0)
    yield column(20), fixed(Syntax.COUNTER32, 0)


def _if_x_table(port: Port) -> Iterator[Row]:
    def column(number: int) -> Oid:
        return at(IF_X_TABLE, number, port.if_index)

    yield column(1), fixed(_TEXT, port.name)
    yield column(6), _count64(port, lambda c: c.in_octets)
    yield column(7), _count64(port, lambda c: c.in_frames)
    for multicast_or_broadcast in (8, 9, 12, 13):
        yield column(multicast_or_broadcast), fixed(Syntax.COUNTER64, 0)
    yield column(10), _count64(port, lambda c: c.out_octets)
    yield column(11), _count64(port, lambda c: c.out_frames)
    yield column(14), fixed(_INTEGER, 2)  # no traps
    yield column(15), fixed(Syntax.GAUGE, GIGABIT_MBPS)
    yield column(17), fixed(_INTEGER, TRUE)
    yield column(18), fixed(_TEXT, port.alias)
    yield column(19), fixed(_TICKS, 0)


def _ether_like(switch: Switch, port: Port) -> Iterator[Row]:
    fcs = _count(port, lambda c: c.fcs_errors)
    symbol = _count(port, lambda c: c.symbol_errors)
    index = port.if_index
    for quiet in (2, 8, 10, 11, 13, 16):
        yield at(DOT3_STATS, quiet, index), fixed(Syntax.COUNTER32, 0)
    yield at(DOT3_STATS, 3, index), counter32(fcs)
    yield at(DOT3_STATS, 18, index), counter32(symbol)
    yield at(DOT3_STATS, 19, index), fixed(_INTEGER, FULL_DUPLEX)
    if switch.dialect.wide_error_counters:
        for quiet in (1, 3, 4, 5):
            yield at(DOT3_HC_STATS, quiet, index), fixed(Syntax.COUNTER64, 0)
        yield at(DOT3_HC_STATS, 2, index), Cell(Syntax.COUNTER64, fcs)
        yield at(DOT3_HC_STATS, 6, index), Cell(Syntax.COUNTER64, symbol)


def _mau(port: Port) -> Iterator[Row]:
    def column(number: int) -> Oid:
        return at(IF_MAU, number, port.if_index, 1)

    number = port.module.mau_type if port.module else MAU_1000BASE_T_FD
    kind = (0, 0) if port.optical and port.module is None else (*MAU_TYPE, number)
    yield column(1), fixed(_INTEGER, port.if_index)
    yield column(2), fixed(_INTEGER, 1)
    yield column(3), fixed(Syntax.OID, kind)
    yield column(4), fixed(_INTEGER, MAU_OPERATIONAL)
    yield column(5), Cell(_INTEGER, lambda now: int(now.media(port)))
    yield column(6), counter32(_count(port, lambda c: c.exits))
