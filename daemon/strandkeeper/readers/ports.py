"""Finding a configured port among the ports of a switch: by ifName, else ifAlias, else ifDescr."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from strandkeeper.model.names import PortName
from strandkeeper.model.oid import Oid, as_text
from strandkeeper.readers.base import Column, PortKey
from strandkeeper.readers.interfaces import IF_ALIAS, IF_DESCR, IF_NAME

__all__ = ["Found", "find_port", "known_names", "port_keys"]


@dataclass(frozen=True, slots=True)
class Found:
    """The rows that carry a port's name, and the column that carries it.

    Several rows: the switch still lists a removed port beside the new one.
    """

    if_indexes: tuple[int, ...]
    column: Oid
    object_name: str

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a person should know of how the port was found."""
        if self.object_name == "ifName":
            return ()
        return (f"the port was found by its {self.object_name}, not by its ifName",)


def port_keys(names: Column, descrs: Column, aliases: Column) -> tuple[PortKey, ...]:
    """Every port of the switch with all its names."""
    indexes = sorted({i for column in (names, descrs, aliases) for i in column if len(i) == 1})
    return tuple(
        PortKey(
            if_index=index[0],
            name=as_text(names.get(index)),
            descr=as_text(descrs.get(index)),
            alias=as_text(aliases.get(index)),
        )
        for index in indexes
    )


def known_names(ports: Sequence[PortKey]) -> tuple[PortName, ...]:
    """The names to show a person: ifName, or ifDescr of a port without it."""
    return tuple(PortName(n) for n in dict.fromkeys(p.name or p.descr for p in ports) if n)


def find_port(wanted: PortName, ports: Sequence[PortKey]) -> Found | None:
    """The rows of a port. ifAlias and ifDescr are taken only where one row alone has that text."""
    by_name = tuple(p.if_index for p in ports if p.name == wanted)
    if by_name:
        return Found(by_name, IF_NAME, "ifName")
    others: Mapping[str, tuple[Oid, tuple[int, ...]]] = {
        "ifAlias": (IF_ALIAS, tuple(p.if_index for p in ports if p.alias == wanted)),
        "ifDescr": (IF_DESCR, tuple(p.if_index for p in ports if p.descr == wanted)),
    }
    for object_name, (column, rows) in others.items():
        if len(rows) == 1:
            return Found(rows, column, object_name)
    return None
