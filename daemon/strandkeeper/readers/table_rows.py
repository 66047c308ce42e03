"""Which port a row of a described table is of: by its index, by a column, or by its name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from strandkeeper.model.enterprise_table import EnterpriseTable, IndexPart, PortIs
from strandkeeper.model.oid import Oid, Value, as_int, as_text
from strandkeeper.readers import entity_tree
from strandkeeper.readers.base import Column, PortKey
from strandkeeper.readers.entity_tree import EntityTree
from strandkeeper.readers.text_cell import folded

__all__ = ["TableRow", "needed_columns", "table_rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
    """One row of a table, tied. `kind` is the row's mark, folded if it is a word."""

    index: Oid
    if_index: int
    lane: int | None = None
    kind: int | str | None = None


def needed_columns(table: EnterpriseTable) -> tuple[Oid, ...]:
    """The columns beside the figures that must be walked before rows can be tied."""
    extra = [c for c in (table.kind_oid, table.port_oid) if c is not None]
    by_entity = IndexPart.ENTITY in table.index or (
        table.port_oid is not None and table.port_is is PortIs.ENTITY
    )
    return (*extra, *(entity_tree.COLUMNS if by_entity else ()))


def table_rows(
    table: EnterpriseTable,
    indexes: Sequence[Oid],
    tables: Mapping[Oid, Column],
    ports: Sequence[PortKey],
) -> tuple[list[TableRow], list[Oid]]:
    """The rows with their ports, and the indexes of those whose port is not to be found.

    Rows whose index does not fit the description are of something else and left out.
    """
    ties = _Ties(table, tables, ports)
    found: list[TableRow] = []
    loose: list[Oid] = []
    for index in sorted(indexes):
        parts = _parts(table, index)
        if parts is None:
            continue
        lane = parts.get(IndexPart.LANE)
        tied = tuple(ties.of(index, parts, lane))
        if not tied:
            loose.append(index)
        found += [
            TableRow(index=index, if_index=port, lane=lane, kind=_kind(table, tables, index, parts))
            for port in tied
        ]
    return found, loose


def _parts(table: EnterpriseTable, index: Oid) -> dict[IndexPart, int] | None:
    if len(index) != len(table.index):
        return None
    parts: dict[IndexPart, int] = {}
    for arc, wanted in zip(index, table.index, strict=True):
        if isinstance(wanted, IndexPart):
            parts[wanted] = arc
        elif arc != wanted:
            return None
    return parts


def _kind(
    table: EnterpriseTable,
    tables: Mapping[Oid, Column],
    index: Oid,
    parts: Mapping[IndexPart, int],
) -> int | str | None:
    if table.kind_oid is None:
        return parts.get(IndexPart.KIND)
    said = tables.get(table.kind_oid, {}).get(index)
    return folded(said) if isinstance(said, bytes) else as_int(said)


class _Ties:
    """The ways from a row to its port."""

    def __init__(
        self, table: EnterpriseTable, tables: Mapping[Oid, Column], ports: Sequence[PortKey]
    ) -> None:
        self._table = table
        self._told = {} if table.port_oid is None else tables.get(table.port_oid, {})
        self._ports = ports
        self._known = {p.if_index for p in ports}
        self._tree = EntityTree(tables, ports)

    def of(self, index: Oid, parts: Mapping[IndexPart, int], lane: int | None) -> Iterator[int]:
        """The interfaces of a row."""
        if IndexPart.IF_INDEX in parts:
            yield from self._interface(parts[IndexPart.IF_INDEX])
        elif IndexPart.ENTITY in parts:
            yield from self._tree.tie(parts[IndexPart.ENTITY], lane)
        elif IndexPart.PORT in parts:
            yield from self._numbered(parts[IndexPart.PORT], parts)
        elif self._table.port_oid is not None:
            yield from self._by_column(self._told.get(index), parts, lane)
        else:
            yield from self._named(self._table.port_name)

    def _interface(self, if_index: int) -> Iterator[int]:
        if if_index in self._known:
            yield if_index

    def _numbered(self, port: int, parts: Mapping[IndexPart, int]) -> Iterator[int]:
        number = port + self._table.port_offset
        if not self._table.port_name:
            yield from self._interface(number)
            return
        unit = parts.get(IndexPart.UNIT, 0)
        yield from self._named(self._table.port_name.format(port=number, unit=unit))

    def _by_column(
        self, said: Value | None, parts: Mapping[IndexPart, int], lane: int | None
    ) -> Iterator[int]:
        if self._table.port_is is PortIs.NAME:
            yield from self._named(as_text(said))
            return
        number = as_int(said)
        if number is None:
            text = as_text(said)
            if not (text.isascii() and text.isdigit() and len(text) < 11):
                return
            number = int(text)
        if self._table.port_is is PortIs.IF_INDEX:
            yield from self._interface(number)
        elif self._table.port_is is PortIs.ENTITY:
            yield from self._tree.tie(number, lane)
        else:
            yield from self._numbered(number, parts)

    def _named(self, name: str) -> Iterator[int]:
        """The one port of that ifName, else ifDescr, else ifAlias; two of one name are none."""
        for names in (
            {p.if_index: p.name for p in self._ports},
            {p.if_index: p.descr for p in self._ports},
            {p.if_index: p.alias for p in self._ports},
        ):
            found = [i for i, n in names.items() if name and n == name]
            if len(found) == 1:
                yield found[0]
            if found:
                return
