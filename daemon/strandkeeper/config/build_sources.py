"""From checked [[table]] tables to the plain values that the readers know."""

from __future__ import annotations

from collections.abc import Iterable

from strandkeeper.config.checks_sources import BY_KEY, TEXT_UNIT
from strandkeeper.config.source_tables import ColumnTable, SourceTable
from strandkeeper.model.enterprise_table import (
    EnterpriseTable,
    PortIs,
    TableColumn,
    parse_index,
    parse_unit,
)
from strandkeeper.model.oid import Oid, parse_oid
from strandkeeper.optics.units import Dbm

__all__ = ["build_tables"]


def build_tables(tables: Iterable[SourceTable]) -> dict[str, EnterpriseTable]:
    """The described tables by name."""
    return {table.name: _table(table) for table in tables}


def _table(table: SourceTable) -> EnterpriseTable:
    columns = {q: getattr(table, name) for name, q in BY_KEY.items()}
    return EnterpriseTable(
        name=table.name,
        index=parse_index(table.index),
        columns={q: _column(c) for q, c in columns.items() if c is not None},
        serial=_oid(table.serial),
        maker=_oid(table.maker),
        part=_oid(table.part),
        wavelength=_oid(table.wavelength),
        pages=_oid(table.pages),
        page_a0=_oid(table.page_a0),
        page_a2=_oid(table.page_a2),
        kind_oid=_oid(table.kind_oid),
        port_oid=_oid(table.port_oid),
        port_is=PortIs(table.port_is),
        port_name=table.port_name,
        port_offset=table.port_offset,
        lane=table.lane,
        no_light=tuple(table.no_light),
        not_there=tuple(table.not_there),
        floor=Dbm(table.floor_dbm),
    )


def _column(column: ColumnTable) -> TableColumn:
    return TableColumn(
        oid=parse_oid(column.oid),
        unit=None if column.unit == TEXT_UNIT else parse_unit(column.unit),
        kind=column.kind,
        no_light=tuple(column.no_light),
    )


def _oid(text: str | None) -> Oid | None:
    return None if text is None else parse_oid(text)
