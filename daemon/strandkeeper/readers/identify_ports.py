"""What is known of the ports of a switch, and which of them the rows of a sheet are about.

First found wins: the name of a port or its ifIndex in a column, ifIndex or entPhysicalIndex in the
index, a number on the front that may be counted from elsewhere. Own design, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from strandkeeper.model.enterprise_table import IndexArc, IndexPart, PortIs
from strandkeeper.model.oid import Oid, Value
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.identify_cells import Count, Word
from strandkeeper.readers.identify_sheets import Shape, Sheet

__all__ = ["Observations", "PortSeen", "Tie", "name_template", "tie_rows"]

_FARTHEST_OFFSET: Final = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSeen:
    """A port. `position`: its place on the front, from 1; None: not known, for `up`, `optical`."""

    if_index: int
    name: str = ""
    descr: str = ""
    position: int = 0
    up: bool | None = None
    optical: bool | None = None
    spec: PmdSpec | None = None
    speed_mbps: int | None = None

    @property
    def label(self) -> str:
        """What a person calls it."""
        return self.name or self.descr or f"ifIndex {self.if_index}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Observations:
    """All that was seen of one switch.

    `polls`: the enterprise subtree walked, then the objects in question again; later polls may
    leave objects out. `entities`: entPhysicalIndex to ifIndex. `far_sent`: what the far end of a
    port's link says it sends, by the ifIndex here.
    """

    polls: tuple[Mapping[Oid, Value], ...]
    ports: tuple[PortSeen, ...] = ()
    entities: Mapping[int, int] = field(default_factory=dict)
    far_sent: Mapping[int, Dbm] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """Rows to ports; the rest is what the description of a table needs. `sure`: not by counting."""

    ports: Mapping[Oid, PortSeen]
    index: tuple[IndexArc, ...]
    sure: bool = False
    port_oid: Oid | None = None
    port_is: PortIs = PortIs.NAME
    port_offset: int = 0

    @property
    def several(self) -> bool:
        """Whether a column says that some port has more rows than one."""
        referred = [port.if_index for port in self.ports.values()]
        return self.port_oid is not None and len(set(referred)) < len(referred)


def name_template(tie: Tie, at: int) -> tuple[str, int] | None:
    """How a port's number makes its name ({port}) and what to add to it; else what makes ifIndex.

    `at`: which arc of the index is the number. None: neither fits all rows.
    """
    pairs = [(row[at], port) for row, port in tie.ports.items()]
    if not pairs:
        return None
    number, first = pairs[0][0] + tie.port_offset, pairs[0][1]
    head, found, tail = first.label.rpartition(str(number))
    if found:
        template = f"{head}{{port}}{tail}"
        made = [template.replace("{port}", str(n + tie.port_offset)) for n, _ in pairs]
        if made == [port.label for _, port in pairs]:
            return template, tie.port_offset
    apart = {port.if_index - n for n, port in pairs}
    return ("", apart.pop()) if len(apart) == 1 else None


def tie_rows(sheet: Sheet, seen: Observations, speaking: Sequence[Oid]) -> Tie:
    """The best way to tie rows to ports. `speaking`: the rows that hold figures at all."""
    ties = list(_ties(sheet, seen))
    if not ties:
        return Tie(ports={}, index=_index(sheet, None, IndexPart.ANY))
    ties += [replace(tie, sure=True) for tie in _only_ones(ties, speaking)]
    best = max(ties, key=lambda tie: _fit(tie, sheet.rows, speaking))
    plain = (t for t in ties if t.sure and t.port_oid is None and t.ports == best.ports)
    return next(plain, best) if best.port_oid is not None else best


def _only_ones(ties: Sequence[Tie], speaking: Sequence[Oid]) -> list[Tie]:
    """A way of counting is sure if it is the only one that puts every row on a port for modules."""
    counted = [tie for tie in ties if not tie.sure]
    fitting = [
        tie
        for tie in counted
        if all((p := tie.ports.get(row)) is not None and p.optical for row in speaking)
    ]
    return fitting if len(fitting) == 1 and len(counted) > 2 else []


def _fit(tie: Tie, rows: Sequence[Oid], speaking: Sequence[Oid]) -> float:
    """How many rows have a port, less those that speak of a port that cannot hold a module."""
    found = [tie.ports.get(row) for row in rows]
    wrong = sum(1 for row in speaking if (p := tie.ports.get(row)) and p.optical is False)
    right = sum(1 for row in speaking if (p := tie.ports.get(row)) and p.optical)
    known = sum(port is not None for port in found)
    told = (0.3 if tie.sure else 0.0) + (0.2 if tie.port_oid else 0.0)
    return known - 2 * wrong + 0.5 * right + told - 0.01 * abs(tie.port_offset)


def _ties(sheet: Sheet, seen: Observations) -> Iterator[Tie]:
    by_index = {port.if_index: port for port in seen.ports}
    by_entity = {e: by_index[i] for e, i in seen.entities.items() if i in by_index}
    yield from _by_columns(sheet, seen, by_index, by_entity)
    if sheet.shape is Shape.KIND_COLUMN:
        return
    named = _by_letters(sheet, seen)
    if named is not None:
        yield named
        return
    for at in range(len(sheet.rows[0])):
        arcs = {row: row[at] for row in sheet.rows}
        yield from _by_arc(sheet, at, arcs, by_index, IndexPart.IF_INDEX)
        yield from _by_arc(sheet, at, arcs, by_entity, IndexPart.ENTITY)
        yield from _by_position(sheet, at, arcs, seen)


def _by_letters(sheet: Sheet, seen: Observations) -> Tie | None:
    """Rows whose index is the name of a port, length and letters; the last is its number."""
    names = {n.encode(): p for p in reversed(seen.ports) for n in (p.descr, p.name) if n}
    ports = {
        row: port
        for row in sheet.rows
        if row[0] == len(row) - 1 and max(row) < 127 and (port := names.get(bytes(row[1:])))
    }
    if len(ports) < len(sheet.rows):
        return None
    index = _index(sheet, len(sheet.rows[0]) - 1, IndexPart.PORT)
    return Tie(ports=ports, index=index, sure=True, port_offset=-ord("0"))


def _by_arc(
    sheet: Sheet, at: int, arcs: Mapping[Oid, int], known: Mapping[int, PortSeen], part: IndexPart
) -> Iterator[Tie]:
    if sheet.shape is not Shape.SCALARS and all(arc in known for arc in arcs.values()):
        ports = {row: known[arc] for row, arc in arcs.items()}
        yield Tie(ports=ports, index=_index(sheet, at, part), sure=True)


def _by_position(
    sheet: Sheet, at: int, arcs: Mapping[Oid, int], seen: Observations
) -> Iterator[Tie]:
    by_position = {port.position: port for port in seen.ports if port.position}
    if sheet.shape is Shape.SCALARS or not by_position:
        return
    first, last = min(arcs.values()), max(arcs.values())
    for offset in range(min(by_position) - first, max(by_position) - last + 1):
        if abs(offset) <= _FARTHEST_OFFSET:
            ports = {r: p for r, arc in arcs.items() if (p := by_position.get(arc + offset))}
            index = _index(sheet, at, IndexPart.PORT)
            yield Tie(ports=ports, index=index, port_offset=offset)


def _by_columns(
    sheet: Sheet,
    seen: Observations,
    by_index: Mapping[int, PortSeen],
    by_entity: Mapping[int, PortSeen],
) -> Iterator[Tie]:
    names = {name: p for p in reversed(seen.ports) for name in (p.descr, p.name) if name}
    for oid, words in _told(sheet):
        ways: tuple[tuple[Mapping[str | int, PortSeen], PortIs], ...] = (
            (_any_key(names), PortIs.NAME),
            (_any_key(by_index), PortIs.IF_INDEX),
            (_any_key(by_entity), PortIs.ENTITY),
        )
        for known, port_is in ways:
            fits = words and all(word in known for word in words.values())
            if fits and _may_refer(sheet, words, port_is):
                ports = {row: known[word] for row, word in words.items()}
                index = _index(sheet, None, IndexPart.ANY)
                if len(index) > 1 and len(set(words.values())) < len(words):
                    index = (*index[:-1], IndexPart.LANE)
                yield Tie(ports=ports, index=index, sure=True, port_oid=oid, port_is=port_is)


def _may_refer(sheet: Sheet, words: Mapping[Oid, str | int], port_is: PortIs) -> bool:
    """Whether it is not by chance that all rows name a port: several may, if they are its lanes.

    Numbers of ports rise from row to row, which readings seldom do.
    """
    different = len(set(words.values()))
    if port_is is PortIs.NAME:
        return different > 1 or len(words) == 1
    if sheet.shape is Shape.KIND_COLUMN:
        return different == len(words)
    numbers = [words[row] for row in sorted(words)]
    rising = all(isinstance(n, int) for n in numbers) and numbers == sorted(numbers, key=int)
    return rising and different > 1 and (2 < different == len(words) or _by_lane(sheet, words))


def _by_lane(sheet: Sheet, ports: Mapping[Oid, str | int]) -> bool:
    """Whether a column counts the rows of each port from 0 or 1: its lanes."""
    for _, lanes in _told(sheet):
        by_port: dict[str | int, list[str | int]] = {}
        for row in sorted(ports):
            by_port.setdefault(ports[row], []).append(lanes[row])
        if all(n in (list(range(len(n))), list(range(1, len(n) + 1))) for n in by_port.values()):
            return True
    return False


def _any_key(
    known: Mapping[str, PortSeen] | Mapping[int, PortSeen],
) -> Mapping[str | int, PortSeen]:
    return {key: port for key, port in known.items()}  # widens the type of the key


def _told(sheet: Sheet) -> Iterator[tuple[Oid, Mapping[Oid, str | int]]]:
    """Columns that may tell the port of each row."""
    if sheet.shape is Shape.KIND_COLUMN:
        if sheet.key_column is not None and sheet.key_words is not None:
            yield sheet.key_column, sheet.key_words
        return
    if sheet.shape is not Shape.PLAIN:
        return
    for column in sheet.columns:
        words: dict[Oid, str | int] = {}
        for row, cells in sorted(column.cells.items()):
            if any(cell not in (None, cells[0]) for cell in cells):
                break
            if isinstance(cells[0], Word) and isinstance(cells[0].written, str):
                words[row] = cells[0].written
            elif isinstance(cells[0], Count):
                words[row] = cells[0].written or int(cells[0].value)
        if len(words) == len(sheet.rows):
            yield column.place.column, words


def _index(sheet: Sheet, at: int | None, part: IndexPart) -> tuple[IndexArc, ...]:
    """The words of the index; `at` is the arc that tells the port."""
    if sheet.shape is Shape.SCALARS:
        return (0,)
    if sheet.shape is Shape.KIND_COLUMN:
        return (IndexPart.ANY,)
    size = len(sheet.rows[0])
    parts: list[IndexArc] = [IndexPart.ANY] * size
    if at is not None:
        parts[at] = part
        if at + 1 < size and len({row[at + 1] for row in sheet.rows}) > 1:
            parts[at + 1] = IndexPart.LANE
    if sheet.shape is Shape.KIND_WITHIN:
        return (*parts[: sheet.kind_at], IndexPart.KIND, *parts[sheet.kind_at :])
    if sheet.shape is Shape.KIND_FIRST:
        return (IndexPart.KIND, *parts)
    return tuple(parts)
