"""Unknown objects laid out as sheets: columns indexed alike, in every way that may be meant.

A leaf's OID does not tell where its index begins, nor whether a table has one row a port or one row
a sensor. So the same leaves may make several sheets; which of them is meant is for the physics.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import Final

from strandkeeper.model.identification import Place
from strandkeeper.model.oid import Oid, Value
from strandkeeper.readers.identify_cells import Cell, Count, SheetColumn, Word, cell_of

__all__ = ["Shape", "Sheet", "sheets_of"]

LONGEST_INDEX: Final = 3
MOST_COLUMNS: Final = 120
MOST_ROWS: Final = 400
MOST_KIND: Final = 1000
_LONGEST_NAME: Final = 32  # letters of a name that is the index
_MOST_TABLES, _MOST_SIDE_BY_SIDE = 6, 60
_KINDS: Final = (2, 14)
_SHORTEST_COLUMN: Final = 11  # 1.3.6.1.4.1.N, something of its maker's, table, entry, column
_ENTRY_ARC: Final = 1  # SMIv2: a conceptual row is arc 1 below its table (RFC 2578 7.10)

Cells = Mapping[Oid, tuple[Cell, ...]]  # by index


class Shape(Enum):
    """How a sheet was laid out."""

    PLAIN = "one row a port"
    SCALARS = "one port alone"
    KIND_WITHIN = "one row a sensor, its kind in the index, not first"
    KIND_FIRST = "one row a sensor, its kind first in the index"
    KIND_COLUMN = "one row a sensor, its kind in a column"


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Columns with the rows they share. `tables`: how many stand side by side in it.

    `kind_at`: for Shape.KIND_WITHIN which arc of the index the kind is.
    `key_column`: for Shape.KIND_COLUMN the column that tells the row apart, if there is one.
    """

    entry: Oid
    shape: Shape
    columns: tuple[SheetColumn, ...]
    rows: tuple[Oid, ...]
    kind_oid: Oid | None = None
    key_column: Oid | None = None
    key_words: Mapping[Oid, str | int] | None = None
    tables: int = 1
    kind_at: int = 0

    @cached_property
    def leaves(self) -> frozenset[Oid]:
        """The objects of all its columns."""
        return frozenset(oid for column in self.columns for oid in column.oids)

    def cells(self, row: Oid, poll: int = 0) -> list[Cell]:
        """A row as it was at one poll."""
        return [column.cells[row][poll] for column in self.columns if row in column.cells]


def sheets_of(polls: Sequence[Mapping[Oid, Value]]) -> Iterator[Sheet]:
    """Every sheet that the leaves of the first poll may make."""
    if not polls:
        return
    for size in range(1, LONGEST_INDEX + 1):
        entries = _entries(polls[0], size)
        for entry, columns in entries.items():
            if len(columns) > MOST_COLUMNS:
                continue
            of_kinds = _is_column(entry, entries)
            table = {
                arc: {i: _watched(polls, (*entry, arc, *i)) for i in indexes}
                for arc, indexes in columns.items()
            }
            yield from _readings_of(entry, table, size, of_kinds=of_kinds)
        yield from _side_by_side(polls, entries)
    for size in range(LONGEST_INDEX + 1, _LONGEST_NAME + 2):
        named = _entries({o: v for o, v in polls[0].items() if _is_named(o, size)}, size)
        for entry, columns in named.items():
            table = {
                arc: {i: _watched(polls, (*entry, arc, *i)) for i in indexes}
                for arc, indexes in columns.items()
            }
            rows = _shared_rows(table)
            if len(columns) <= MOST_COLUMNS and len(rows) <= MOST_ROWS:
                yield _plain(entry, table, rows, of_kinds=False)


def _is_named(oid: Oid, size: int) -> bool:
    """Whether an OID ends in a name with its length before it (RFC 2578 7.7)."""
    named = len(oid) > size + 7 and oid[-size] == size - 1
    return named and all(32 < arc < 127 for arc in oid[1 - size :])


def _entries(leaves: Mapping[Oid, Value], size: int) -> dict[Oid, dict[int, list[Oid]]]:
    entries: dict[Oid, dict[int, list[Oid]]] = {}
    for oid in sorted(leaves):
        if len(oid) > size + 7:  # 1.3.6.1.4.1.N and a table below it
            columns = entries.setdefault(oid[: -size - 1], {})
            columns.setdefault(oid[-size - 1], []).append(oid[-size:])
    return entries


def _side_by_side(
    polls: Sequence[Mapping[Oid, Value]], entries: Mapping[Oid, Mapping[int, list[Oid]]]
) -> Iterator[Sheet]:
    """Neighbouring tables whose rows are the same, as one: agents part figures into several."""
    near: dict[tuple[Oid, tuple[Oid, ...]], list[Oid]] = {}
    for entry, columns in entries.items():
        rows = tuple(next(iter(columns.values())))
        same = all(tuple(indexes) == rows for indexes in columns.values())
        if same and rows != ((0,),) and entry[-1] == _ENTRY_ARC and len(rows) <= MOST_ROWS:
            near.setdefault((entry[:-2], rows), []).append(entry)
    for (parent, rows), several in near.items():
        leaves = [(*entry, arc) for entry in several for arc in entries[entry]]
        if not any(leaf[-1] > 1 for leaf in leaves):
            continue  # what looks like column 0 or 1 alone of each is the index of one table
        if 1 < len(several) <= _MOST_TABLES and len(leaves) <= _MOST_SIDE_BY_SIDE:
            together = tuple(
                SheetColumn(
                    place=Place(leaf),
                    rank=(rank,),
                    cells={row: _watched(polls, (*leaf, *row)) for row in rows},
                    leaves={row: (*leaf, *row) for row in rows},
                )
                for rank, leaf in enumerate(leaves, 1)
            )
            yield Sheet(
                entry=parent, shape=Shape.PLAIN, columns=together, rows=rows, tables=len(several)
            )


def _watched(polls: Sequence[Mapping[Oid, Value]], oid: Oid) -> tuple[Cell, ...]:
    return tuple(cell_of(poll.get(oid)) for poll in polls)


def _is_column(entry: Oid, entries: Mapping[Oid, Mapping[int, object]]) -> bool:
    """Whether what looks like a row is a column whose index begins with a kind.

    A column stands below an arc 1; it has a neighbour with the same kinds, or an arc other than 1.
    """
    if len(entry) < _SHORTEST_COLUMN or entry[-2] != _ENTRY_ARC:
        return False
    if entry[-1] != _ENTRY_ARC:
        return True
    beside = (*entry[:-1], _ENTRY_ARC + 1)
    return entries.get(beside, {}).keys() == entries[entry].keys()


def _readings_of(
    entry: Oid, table: Mapping[int, Cells], size: int, *, of_kinds: bool
) -> Iterator[Sheet]:
    rows = _shared_rows(table)
    if not rows or len(rows) > MOST_ROWS:
        return
    yield _plain(entry, table, rows, of_kinds=of_kinds)
    for at in range(1, size):
        if (sheet := _by_arc(entry, table, rows, at)) is not None:
            yield sheet
    if len(rows) > 3:
        yield from _by_column(entry, table, rows)


def _shared_rows(table: Mapping[int, Cells]) -> tuple[Oid, ...]:
    """The indexes that most columns have."""
    counted: dict[Oid, int] = {}
    for cells in table.values():
        for index in cells:
            counted[index] = counted.get(index, 0) + 1
    most = max(counted.values(), default=0)
    return tuple(sorted(i for i, n in counted.items() if 2 * n >= most))


def _plain(
    entry: Oid, table: Mapping[int, Cells], rows: tuple[Oid, ...], *, of_kinds: bool
) -> Sheet:
    """One row a port; or, where the entry is a column itself, one row a kind and port."""
    scalars = rows == ((0,),)
    of_kinds = of_kinds and not scalars
    columns = tuple(
        SheetColumn(
            place=Place(entry, arc) if of_kinds else Place((*entry, arc)),
            rank=(arc,),
            cells=cells,
            leaves={index: (*entry, arc, *index) for index in cells},
        )
        for arc, cells in sorted(table.items())
    )
    other = Shape.KIND_FIRST if of_kinds else Shape.PLAIN
    return Sheet(
        entry=entry[:-1] if of_kinds else entry,
        shape=Shape.SCALARS if scalars else other,
        columns=columns,
        rows=rows,
    )


def _by_arc(entry: Oid, table: Mapping[int, Cells], rows: tuple[Oid, ...], at: int) -> Sheet | None:
    """One row a sensor, whose kind is one arc of the index."""

    def rest(row: Oid) -> Oid:
        return (*row[:at], *row[at + 1 :])

    kinds = sorted({row[at] for row in rows})
    if all(row[at + 1 :] == (0,) for row in rows):
        return None  # objects that stand alone (RFC 2578 7), not the rows of a table
    below = all(row[0] == _ENTRY_ARC for row in rows) and entry[-1] != _ENTRY_ARC
    if below or table.keys() == {_ENTRY_ARC}:
        return None  # that arc is the entry of a table: what follows are its columns and rows
    if not _KINDS[0] <= len(kinds) <= _KINDS[1] or len(kinds) * len(table) > MOST_COLUMNS:
        return None
    columns = tuple(
        SheetColumn(
            place=Place((*entry, arc), kind),
            rank=(arc, kind),
            cells={rest(row): cell for row, cell in cells.items() if row[at] == kind},
            leaves={rest(row): (*entry, arc, *row) for row in cells if row[at] == kind},
        )
        for arc, cells in sorted(table.items())
        for kind in kinds
    )
    heads = tuple(sorted({rest(row) for row in rows}))
    return Sheet(entry=entry, shape=Shape.KIND_WITHIN, columns=columns, rows=heads, kind_at=at)


def _by_column(entry: Oid, table: Mapping[int, Cells], rows: tuple[Oid, ...]) -> Iterator[Sheet]:
    for arc, cells in sorted(table.items()):
        kinds = _kinds_in(cells, rows)
        if kinds is None:
            continue
        for key_arc in (*sorted(table), None):
            if key_arc == arc:
                continue
            key = _keys_in(table, key_arc, rows, kinds)
            if key is not None:
                yield _sheet_by_kind(entry, table, arc, key_arc, kinds, key)
                break


def _kinds_in(cells: Cells, rows: tuple[Oid, ...]) -> dict[Oid, int | str] | None:
    """The kind of every row, if a column holds few values, each of them often enough."""
    found: dict[Oid, int | str] = {}
    for row in rows:
        word = _stands(cells.get(row))
        if word is None:
            return None
        found[row] = word
    counts: dict[int | str, int] = {}
    for kind in found.values():
        counts[kind] = counts.get(kind, 0) + 1
    fewest, most = min(counts.values()), max(counts.values())
    if not all(_may_be_kind(kind) for kind in counts):
        return None
    fits = _KINDS[0] <= len(counts) <= _KINDS[1] and most <= 4 * fewest
    return found if fits and len(counts) * most <= 2 * len(rows) else None


def _may_be_kind(kind: int | str) -> bool:
    """A small number, or a word without digits that would make it a figure."""
    if isinstance(kind, int):
        return 0 <= kind <= MOST_KIND
    return 0 < len(kind) <= 40 and not kind[0].isdigit()


def _stands(cells: tuple[Cell, ...] | None) -> int | str | None:
    """What a cell says at every poll alike: a word, or a whole number."""
    if not cells or any(c not in (None, cells[0]) for c in cells):
        return None
    first = cells[0]
    if isinstance(first, Word):
        return first.written if isinstance(first.written, int | str) else None
    return int(first.value) if isinstance(first, Count) and not first.text else None


def _keys_in(
    table: Mapping[int, Cells],
    arc: int | None,
    rows: tuple[Oid, ...],
    kinds: Mapping[Oid, int | str],
) -> dict[Oid, int | str] | None:
    """What tells the rows of one kind apart: a column, else their order (arc None)."""
    if arc is None:
        order: dict[int | str, int] = {}
        keys: dict[Oid, int | str] = {}
        for row in rows:
            order[kinds[row]] = keys[row] = order.get(kinds[row], 0) + 1
        return keys
    said = {row: _stands(table[arc].get(row)) for row in rows}
    found = {row: word for row, word in said.items() if word is not None}
    pairs = {(kinds[row], word) for row, word in found.items()}
    several = len(set(found.values())) < len(rows)
    return found if len(found) == len(rows) == len(pairs) and several else None


def _sheet_by_kind(
    entry: Oid,
    table: Mapping[int, Cells],
    kind_arc: int,
    key_arc: int | None,
    kinds: Mapping[Oid, int | str],
    keys: Mapping[Oid, int | str],
) -> Sheet:
    order = list(dict.fromkeys(kinds.values()))
    names = {key: (place,) for place, key in enumerate(dict.fromkeys(keys.values()), 1)}
    columns = tuple(
        _of_kind(Place((*entry, arc), kind), (arc, order.index(kind)), cells, rows)
        for arc, cells in sorted(table.items())
        if arc not in (kind_arc, key_arc) and len(order) * len(table) <= MOST_COLUMNS
        for kind in order
        if (rows := {row: names[keys[row]] for row in kinds if kinds[row] == kind})
    )
    return Sheet(
        entry=entry,
        shape=Shape.KIND_COLUMN,
        columns=columns,
        rows=tuple(names.values()),
        kind_oid=(*entry, kind_arc),
        key_column=None if key_arc is None else (*entry, key_arc),
        key_words={names[key]: key for key in names},
    )


def _of_kind(
    place: Place, rank: tuple[int, ...], cells: Cells, rows: Mapping[Oid, Oid]
) -> SheetColumn:
    """The rows of one kind; `rows`: their indexes to what tells them apart."""
    return SheetColumn(
        place=place,
        rank=rank,
        cells={key: cells[row] for row, key in rows.items() if row in cells},
        leaves={key: (*place.column, *row) for row, key in rows.items() if row in cells},
    )
