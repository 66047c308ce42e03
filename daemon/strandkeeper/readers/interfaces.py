"""State and counters of a port out of IF-MIB, EtherLike-MIB and MAU-MIB.

A port is found by its name; which columns its row has is learned once when it is bound, and only
those are asked from then on. The best column of each count comes first: 64 bits before 32, frame
check errors before input errors.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.model.oid import Absent, Oid, Value, as_int, as_oid
from strandkeeper.model.reading import AdminStatus, Media, OperStatus
from strandkeeper.readers.counters import Count

__all__ = [
    "ENT_LAST_CHANGE",
    "IF_ALIAS",
    "IF_DESCR",
    "IF_HIGH_SPEED",
    "IF_MAU_TYPE",
    "IF_NAME",
    "IF_OPER_STATUS",
    "IF_SPEED",
    "IF_TABLE_LAST_CHANGE",
    "SYS_DESCR",
    "SYS_NAME",
    "SYS_OBJECT_ID",
    "SYS_UP_TIME",
    "PortColumns",
    "PortStatus",
    "candidate_oids",
    "columns_there",
    "decode_status",
    "mau_type",
    "speed_mbps",
    "status_oids",
]

_MIB2 = (1, 3, 6, 1, 2, 1)
SYS_DESCR: Final = (*_MIB2, 1, 1, 0)
SYS_OBJECT_ID: Final = (*_MIB2, 1, 2, 0)
SYS_UP_TIME: Final = (*_MIB2, 1, 3, 0)
SYS_NAME: Final = (*_MIB2, 1, 5, 0)
IF_TABLE_LAST_CHANGE: Final = (*_MIB2, 31, 1, 5, 0)
ENT_LAST_CHANGE: Final = (*_MIB2, 47, 1, 4, 1, 0)

_IF = (*_MIB2, 2, 2, 1)  # ifTable
_IFX = (*_MIB2, 31, 1, 1, 1)  # ifXTable
_DOT3 = (*_MIB2, 10, 7, 2, 1)  # dot3StatsTable
_DOT3HC = (*_MIB2, 10, 7, 11, 1)  # dot3HCStatsTable: its columns are numbered differently
_MAU = (*_MIB2, 26, 2, 1, 1)  # ifMauTable, index ifIndex and ifMauIndex

IF_DESCR: Final = (*_IF, 2)
IF_SPEED: Final = (*_IF, 5)
IF_ADMIN_STATUS: Final = (*_IF, 7)
IF_OPER_STATUS: Final = (*_IF, 8)
IF_LAST_CHANGE: Final = (*_IF, 9)
IF_NAME: Final = (*_IFX, 1)
IF_HIGH_SPEED: Final = (*_IFX, 15)
IF_ALIAS: Final = (*_IFX, 18)
IF_DISCONTINUITY: Final = (*_IFX, 19)
IF_MAU_TYPE: Final = (*_MAU, 3)
IF_MAU_MEDIA: Final = (*_MAU, 5)
_MAU_TYPES: Final = (*_MIB2, 26, 4)  # dot3MauType
_FIRST_MAU = 1

# count: (columns that are added up, bits), best first
_COUNTED: Final[dict[str, tuple[tuple[tuple[Oid, ...], int], ...]]] = {
    "in_octets": ((((*_IFX, 6),), 64), (((*_IF, 10),), 32)),
    "out_octets": ((((*_IFX, 10),), 64), (((*_IF, 16),), 32)),
    "in_frames": (
        (((*_IFX, 7), (*_IFX, 8), (*_IFX, 9)), 64),  # unicast, multicast, broadcast
        (((*_IFX, 7),), 64),
        (((*_IF, 11), (*_IFX, 2), (*_IFX, 3)), 32),
        (((*_IF, 11), (*_IF, 12)), 32),
        (((*_IF, 11),), 32),
    ),
    "fcs_errors": ((((*_DOT3HC, 2),), 64), (((*_DOT3, 3),), 32), (((*_IF, 14),), 32)),
    "symbol_errors": ((((*_DOT3HC, 6),), 64), (((*_DOT3, 18),), 32)),
}
_NAMES: Final = {
    (*_DOT3HC, 2): "dot3HCStatsFCSErrors",
    (*_DOT3, 3): "dot3StatsFCSErrors",
    (*_IF, 14): "ifInErrors",
}
_PLAIN_COLUMNS: Final = (
    IF_ADMIN_STATUS,
    IF_OPER_STATUS,
    IF_LAST_CHANGE,
    IF_DISCONTINUITY,
    IF_MAU_MEDIA,
)
_MEDIA_READ_AS: Final = {19: Media.AVAILABLE}  # availableReduced (IANA-MAU-MIB)
_UNKNOWN_SPEED_32 = 4_294_967_295  # ifSpeed stops counting there


@dataclass(frozen=True, slots=True)
class _Counted:
    """One count of one port: the columns to add up and their width."""

    columns: tuple[Oid, ...]
    bits: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PortColumns:
    """Which columns the row of one port has; `at` is the port's instance of each, `name_at` that of
    its name. Every poll needs them, so they are made once.
    """

    if_index: int
    named_by: Oid
    plain: tuple[Oid, ...]
    counted: Mapping[str, _Counted]
    at: Mapping[Oid, Oid] = field(init=False)
    name_at: Oid = field(init=False)

    def __post_init__(self) -> None:
        columns = [*self.plain, *(c for each in self.counted.values() for c in each.columns)]
        object.__setattr__(self, "at", {c: _at(c, self.if_index) for c in columns})
        object.__setattr__(self, "name_at", (*self.named_by, self.if_index))

    @property
    def errors_from(self) -> str:
        """The object that counts damaged frames, empty if none does."""
        found = self.counted.get("fcs_errors")
        return "" if found is None else _NAMES[found.columns[0]]

    @property
    def whole_frames(self) -> bool:
        """Whether the frames counted are all frames, not the unicast ones alone."""
        found = self.counted.get("in_frames")
        return found is not None and len(found.columns) > 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PortStatus:
    """What one answer says of one port. `name` is the value of the column it was found by."""

    name: Value
    oper: OperStatus | None
    admin: AdminStatus | None
    last_change_cs: int | None
    media: Media | None
    discontinuity_cs: int | None
    counts: Mapping[str, Count]


def candidate_oids(if_index: int) -> tuple[Oid, ...]:
    """Every object a port's row may have, to be asked once when it is bound."""
    columns = dict.fromkeys(
        [
            *_PLAIN_COLUMNS,
            *(c for ways in _COUNTED.values() for columns, _ in ways for c in columns),
        ]
    )
    return (
        *(_at(column, if_index) for column in columns),
        (*IF_MAU_TYPE, if_index, _FIRST_MAU),
        (*IF_HIGH_SPEED, if_index),
        (*IF_SPEED, if_index),
    )


def columns_there(if_index: int, named_by: Oid, values: Mapping[Oid, Value]) -> PortColumns:
    """The columns that answered, the best way of each count among them."""

    def there(column: Oid) -> bool:
        return not isinstance(values.get(_at(column, if_index), Absent.NOT_ANSWERED), Absent)

    counted: dict[str, _Counted] = {}
    for name, ways in _COUNTED.items():
        for columns, bits in ways:
            if all(there(c) for c in columns):
                counted[name] = _Counted(columns, bits)
                break
    plain = tuple(c for c in _PLAIN_COLUMNS if there(c))
    return PortColumns(if_index=if_index, named_by=named_by, plain=plain, counted=counted)


def _at(column: Oid, if_index: int) -> Oid:
    """The instance of a column for a port; the MAU table counts the units of a port as well."""
    return (*column, if_index, _FIRST_MAU) if column[:10] == _MAU else (*column, if_index)


def status_oids(port: PortColumns) -> tuple[Oid, tuple[Oid, ...]]:
    """The naming object of a port, and the objects to ask beside it."""
    return port.name_at, tuple(port.at.values())


def decode_status(port: PortColumns, values: Mapping[Oid, Value]) -> PortStatus:
    """The state and the counters of a port in an answer; what did not come is None or left out."""

    def number(column: Oid) -> int | None:
        at = port.at.get(column)
        return None if at is None else as_int(values.get(at))

    counts: dict[str, Count] = {}
    for name, counted in port.counted.items():
        parts = [number(c) for c in counted.columns]
        known = [p for p in parts if p is not None]
        if len(known) == len(parts):
            counts[name] = _added(known, counted.bits)
    return PortStatus(
        name=values.get(port.name_at, Absent.NOT_ANSWERED),
        oper=_OPER.get(number(IF_OPER_STATUS)),
        admin=_ADMIN.get(number(IF_ADMIN_STATUS)),
        last_change_cs=number(IF_LAST_CHANGE),
        media=_media(number(IF_MAU_MEDIA)),
        discontinuity_cs=number(IF_DISCONTINUITY),
        counts=counts,
    )


_OPER: Final[dict[int | None, OperStatus]] = {int(s): s for s in OperStatus}
_ADMIN: Final[dict[int | None, AdminStatus]] = {int(s): s for s in AdminStatus}
_MEDIA: Final[dict[int, Media]] = {int(m): m for m in Media} | _MEDIA_READ_AS


def _media(number: int | None) -> Media | None:
    return None if number is None else _MEDIA.get(number, Media.OTHER)


def _added(parts: list[int], bits: int) -> Count:
    """The sum of counters, which turns over as each of them does."""
    return Count(sum(parts) % (1 << bits), bits)


def mau_type(values: Mapping[Oid, Value], if_index: int) -> int | None:
    """The last arc of ifMauType, which is dot3MauType's number; None if it is no such OID."""
    pointer = as_oid(values.get((*IF_MAU_TYPE, if_index, _FIRST_MAU)))
    if pointer is None or pointer[:-1] != _MAU_TYPES:
        return None
    return pointer[-1]


def speed_mbps(values: Mapping[Oid, Value], if_index: int) -> int | None:
    """The speed of a port in Mbit/s; 0 and the end of ifSpeed's range are unknown."""
    high = as_int(values.get((*IF_HIGH_SPEED, if_index)))
    if high:
        return high
    plain = as_int(values.get((*IF_SPEED, if_index)))
    if not plain or plain == _UNKNOWN_SPEED_32:
        return None
    return max(1, plain // 1_000_000)
