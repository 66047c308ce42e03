"""Who is at the far end, by LLDP (IEEE 802.1AB-2005): own ports, neighbours, and which is which.

The number of a port in LLDP is not its ifIndex. A way of tying the numbers to interfaces is
believed only if it ties all of a switch's ports, each to another. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.oid import Oid, Value, as_int, as_text
from strandkeeper.readers.base import Column, PortKey

__all__ = ["COLUMNS", "LOCAL_CHASSIS", "Neighbour", "far_port", "neighbours"]

_MIB = (1, 0, 8802, 1, 1, 2, 1)
LOCAL_CHASSIS: Final = (*_MIB, 3, 2, 0)
_LOCAL = (*_MIB, 3, 7, 1)
LOCAL_SUBTYPE, LOCAL_ID, LOCAL_DESCR = (*_LOCAL, 2), (*_LOCAL, 3), (*_LOCAL, 4)
_REMOTE = (*_MIB, 4, 1, 1)  # index: time mark, local port number, running number
CHASSIS_ID, PORT_SUBTYPE, PORT_ID = (*_REMOTE, 5), (*_REMOTE, 6), (*_REMOTE, 7)
PORT_DESCR, SYSTEM_NAME = (*_REMOTE, 8), (*_REMOTE, 9)
BASE_PORT_IF_INDEX = (1, 3, 6, 1, 2, 1, 17, 1, 4, 1, 2)  # dot1dBasePortIfIndex, RFC 4188
COLUMNS: Final[tuple[Oid, ...]] = (
    LOCAL_SUBTYPE,
    LOCAL_ID,
    LOCAL_DESCR,
    CHASSIS_ID,
    PORT_SUBTYPE,
    PORT_ID,
    PORT_DESCR,
    SYSTEM_NAME,
    BASE_PORT_IF_INDEX,
)
_ALIAS, _NAME, _LOCALLY = 1, 5, 7  # LldpPortIdSubtype


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """What one port hears. `if_index` is of the hearing switch; the rest is the far one's words."""

    if_index: int
    system: str = ""
    chassis: bytes = b""
    port_subtype: int = 0
    port_id: str = ""
    port_descr: str = ""


def neighbours(
    tables: Mapping[Oid, Column], ports: Sequence[PortKey]
) -> tuple[dict[int, tuple[Neighbour, ...]], tuple[str, ...]]:
    """Neighbours by ifIndex, and what could not be told."""
    rows = _newest(tables)
    if not rows:
        return {}, ()
    numbers = {index[1] for index in rows}
    ties = _ties(tables, ports, numbers)
    if ties is None:
        return {}, (
            "LLDP neighbours there are, but not on which port: its port numbers fit no names",
        )
    found: dict[int, list[Neighbour]] = {}
    for index in rows:
        if_index = ties[index[1]]
        found.setdefault(if_index, []).append(_neighbour(tables, index, if_index))
    return {port: tuple(heard) for port, heard in found.items()}, ()


def _newest(tables: Mapping[Oid, Column]) -> list[Oid]:
    """The row of each neighbour with the latest time mark."""
    newest: dict[Oid, Oid] = {}
    indexes = {i for c in (CHASSIS_ID, PORT_ID, SYSTEM_NAME) for i in tables.get(c, {})}
    for index in sorted(indexes):
        if len(index) == 3:
            newest[index[1:]] = index
    return list(newest.values())


def _neighbour(tables: Mapping[Oid, Column], index: Oid, if_index: int) -> Neighbour:
    def cell(column: Oid) -> Value | None:
        return tables.get(column, {}).get(index)

    chassis = cell(CHASSIS_ID)
    return Neighbour(
        if_index=if_index,
        system=as_text(cell(SYSTEM_NAME)),
        chassis=chassis if isinstance(chassis, bytes) else b"",
        port_subtype=as_int(cell(PORT_SUBTYPE)) or 0,
        port_id=as_text(cell(PORT_ID)),
        port_descr=as_text(cell(PORT_DESCR)),
    )


def _ties(
    tables: Mapping[Oid, Column], ports: Sequence[PortKey], heard: set[int]
) -> dict[int, int] | None:
    """The ifIndex of each LLDP port number, by the first way that ties all without a clash."""
    numbers = sorted(heard | {i[0] for i in tables.get(LOCAL_ID, {}) if len(i) == 1})
    for way in _ways(tables, ports):
        tied = {n: way[n] for n in numbers if n in way}
        if len(tied) == len(numbers) and len(set(tied.values())) == len(tied):
            return tied
    return None


def _ways(tables: Mapping[Oid, Column], ports: Sequence[PortKey]) -> Iterator[dict[int, int]]:
    local = {
        i[0]: (as_int(tables.get(LOCAL_SUBTYPE, {}).get(i)) or 0, as_text(value))
        for i, value in tables.get(LOCAL_ID, {}).items()
        if len(i) == 1
    }
    by_id = {n: _by_id(subtype, text, ports) for n, (subtype, text) in local.items()}
    yield {n: i for n, i in by_id.items() if i is not None}
    described = {i[0]: as_text(v) for i, v in tables.get(LOCAL_DESCR, {}).items() if len(i) == 1}
    for names in _namings(ports):
        yield {n: names[text] for n, text in described.items() if text in names}
    yield {
        i[0]: found
        for i, value in tables.get(BASE_PORT_IF_INDEX, {}).items()
        if len(i) == 1 and (found := as_int(value)) is not None
    }
    yield {p.if_index: p.if_index for p in ports}


def _namings(ports: Sequence[PortKey]) -> tuple[dict[str, int], ...]:
    """Interfaces by ifName, by ifDescr, by ifAlias; texts of two ports left out."""
    return tuple(
        {
            n: i
            for n, i in ((names[p], p) for p in names)
            if n and list(names.values()).count(n) == 1
        }
        for names in (
            {p.if_index: p.name for p in ports},
            {p.if_index: p.descr for p in ports},
            {p.if_index: p.alias for p in ports},
        )
    )


def _by_id(subtype: int, text: str, ports: Sequence[PortKey]) -> int | None:
    """The interface that a port ID of that subtype names; None if it names none alone."""
    name, descr, alias = _namings(ports)
    if subtype == _NAME:
        return name.get(text) or descr.get(text)
    if subtype == _ALIAS:
        return alias.get(text)
    if subtype == _LOCALLY:
        known = {str(p.if_index): p.if_index for p in ports}
        return name.get(text) or descr.get(text) or known.get(text)
    return None


def far_port(heard: Neighbour, ports: Sequence[PortKey]) -> int | None:
    """Which of the far switch's ports a neighbour's words mean; None if that is not certain."""
    by_id = _by_id(heard.port_subtype, heard.port_id, ports)
    if by_id is not None:
        return by_id
    found = {names[heard.port_descr] for names in _namings(ports) if heard.port_descr in names}
    return found.pop() if len(found) == 1 else None
