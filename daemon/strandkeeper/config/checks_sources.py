"""How the parts of a [[table]] belong together, and which switch names which table."""

from __future__ import annotations

import string
from collections.abc import Iterator, Sequence

from strandkeeper.config.problem import Problem, nearest, one_of, place, value_text
from strandkeeper.config.source_tables import QUANTITIES, ColumnTable, SourceTable
from strandkeeper.model.enterprise_table import (
    INDEX_WORDS,
    UNITS,
    Dimension,
    IndexArc,
    IndexPart,
    parse_index,
    parse_unit,
)
from strandkeeper.model.reading import Quantity

__all__ = ["BY_KEY", "TEXT_UNIT", "source_problems"]

TEXT_UNIT = "text"  # the cells state their unit themselves
BY_KEY = dict(zip(QUANTITIES, Quantity, strict=True))
_POWER_UNITS = (Dimension.DBM, Dimension.MILLIWATT)
_UNITS_OF = {
    Quantity.BIAS: (Dimension.MILLIAMPERE,),
    Quantity.TEMPERATURE: (Dimension.CELSIUS,),
    Quantity.SUPPLY: (Dimension.VOLT,),
}
_EXAMPLE = {
    Quantity.RX: "0.01 dBm",
    Quantity.TX: "0.01 dBm",
    Quantity.BIAS: "uA",
    Quantity.TEMPERATURE: "0.1 C",
    Quantity.SUPPLY: "mV",
}


def source_problems(
    tables: Sequence[SourceTable], names: Sequence[str], named: Sequence[tuple[str, Sequence[str]]]
) -> Iterator[Problem]:
    """Each table by itself, and what the switches name. `named`: switch and its tables."""
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield Problem(
                f'table "{name}"',
                f"{names.count(name)} of this name; every table needs a name of its own",
            )
    for table in tables:
        yield from _table(f'table "{table.name}"', table)
    for switch, wanted in named:
        for name in wanted:
            if name not in names:
                close = nearest(name, names)
                known = ", ".join(value_text(n) for n in dict.fromkeys(names)) or "none"
                yield Problem(
                    place(f'switch "{switch}"', "tables"),
                    f"no [[table]] is called {value_text(name)}; there are: {known}",
                    f"tables = [{value_text(close)}]" if close else "",
                )


def _table(where: str, table: SourceTable) -> Iterator[Problem]:
    try:
        index = parse_index(table.index)
    except ValueError:
        yield Problem(
            place(where, "index"),
            f"got {value_text(table.index)}, expected {one_of(INDEX_WORDS)}, or a number, each "
            "once, with dots between them",
            'index = "ifIndex"',
        )
        return
    yield from _what(where, table)
    yield from _port(where, table, index)
    for name in QUANTITIES:
        column = getattr(table, name)
        if column is not None:
            yield from _column(place(where, name), BY_KEY[name], column)
            yield from _kind(place(where, name), table, index, column)


def _what(where: str, table: SourceTable) -> Iterator[Problem]:
    figures = [name for name in QUANTITIES if getattr(table, name) is not None]
    pages = [n for n in ("pages", "page_a0", "page_a2") if getattr(table, n) is not None]
    if figures and pages:
        yield Problem(
            where, f"{figures[0]} and {pages[0]} are two tables; make a [[table]] of each"
        )
    elif not figures and not pages:
        yield Problem(
            place(where, "rx"),
            "missing: the table has no figure and no pages",
            'rx = { oid = "1.3.6.1.4.1.32473.1.1.1.5", unit = "0.01 dBm" }',
        )
    if table.pages and len(pages) > 1:
        yield Problem(where, "pages holds both pages already; take page_a0 and page_a2 out")
    if pages == ["page_a0"]:
        yield Problem(
            place(where, "page_a2"),
            "missing: the readings are in page A2h",
            'page_a2 = "1.3.6.1.4.1.32473.1.1.1.3"',
        )


def _port(where: str, table: SourceTable, index: Sequence[IndexArc]) -> Iterator[Problem]:
    """Exactly one thing must tell the port."""
    telling = [p for p in (IndexPart.IF_INDEX, IndexPart.ENTITY, IndexPart.PORT) if p in index]
    ways = [*(p.value for p in telling), *(["port_oid"] if table.port_oid else [])]
    fixed = bool(table.port_name) and not ways
    if len(ways) > 1:
        yield Problem(where, f"{' and '.join(ways)} both tell the port; keep one")
    elif not ways and not fixed:
        yield Problem(
            place(where, "index"),
            "nothing tells which port a row is of: the index must hold ifIndex, entPhysicalIndex "
            "or port, or port_oid or port_name must be there",
            'index = "ifIndex"',
        )
    numbered = IndexPart.PORT in index or (table.port_oid is not None and table.port_is == "port")
    if not table.port_name:
        return
    if not numbered and not fixed:
        yield Problem(
            place(where, "port_name"), f"not used, since {ways[0]} tells the port; take it out"
        )
    elif not _template(table.port_name, numbered=numbered, unit=IndexPart.UNIT in index):
        parts = "{port}" + (" and {unit}" if IndexPart.UNIT in index else "")
        wanted = f"a name with {parts} in it" if numbered else "the port's plain name"
        yield Problem(
            place(where, "port_name"),
            f"got {value_text(table.port_name)}, expected {wanted}",
            'port_name = "Gi{port}"' if numbered else 'port_name = "Gi1"',
        )


def _template(text: str, *, numbered: bool, unit: bool) -> bool:
    try:
        fields = [(f, s, c) for _, f, s, c in string.Formatter().parse(text) if f is not None]
    except ValueError:
        return False
    if not numbered:
        return not fields
    names = {"port", "unit"} if unit else {"port"}
    return any(f == "port" for f, _, _ in fields) and all(
        f in names and not s and not c for f, s, c in fields
    )


def _column(where: str, quantity: Quantity, column: ColumnTable) -> Iterator[Problem]:
    if column.unit == TEXT_UNIT:
        return
    example = f"unit = {value_text(_EXAMPLE[quantity])}"
    try:
        unit = parse_unit(column.unit)
    except ValueError:
        known = ", ".join(UNITS)
        yield Problem(
            place(where, "unit"),
            f"got {value_text(column.unit)}, expected a number and a unit ({known}), or text",
            example,
        )
        return
    if unit.dimension not in _UNITS_OF.get(quantity, _POWER_UNITS):
        yield Problem(
            place(where, "unit"),
            f"got {value_text(column.unit)}, which is no unit of {quantity.value}",
            example,
        )


def _kind(
    where: str, table: SourceTable, index: Sequence[IndexArc], column: ColumnTable
) -> Iterator[Problem]:
    by_kind = table.kind_oid is not None or IndexPart.KIND in index
    if by_kind and column.kind is None:
        yield Problem(
            place(where, "kind"), "missing: which value marks the rows of this quantity", "kind = 5"
        )
    elif not by_kind and column.kind is not None:
        yield Problem(
            place(where, "kind"),
            "nothing tells the kind of a row: add kind_oid, or kind to the index, or take it out",
        )
    elif IndexPart.KIND in index and table.kind_oid is None and not isinstance(column.kind, int):
        yield Problem(
            place(where, "kind"), "in an index it is a number, and kind_oid is missing", "kind = 5"
        )
