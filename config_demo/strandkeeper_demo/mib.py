"""What the tables of a simulated switch are made of: OID, syntax, and how to find the value."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

from strandkeeper_demo.switch_now import SwitchNow

__all__ = ["Cell", "Mib", "Oid", "Row", "Syntax", "Value", "at", "counter32", "dotted", "fixed"]

Oid = tuple[int, ...]
Value = int | str | bytes | Oid


class Syntax(Enum):
    """The SMIv2 types in use (RFC 2578)."""

    INTEGER = "Integer32"
    TEXT = "OctetString"
    OID = "ObjectIdentifier"
    TICKS = "TimeTicks"
    COUNTER32 = "Counter32"
    COUNTER64 = "Counter64"
    GAUGE = "Gauge32"


@dataclass(frozen=True, slots=True)
class Cell:
    """One object instance."""

    syntax: Syntax
    read: Callable[[SwitchNow], Value]


Row = tuple[Oid, Cell]


def dotted(text: str) -> Oid:
    """An OID from its dotted text."""
    return tuple(int(arc) for arc in text.split("."))


def at(column: str, *index: int) -> Oid:
    """The OID of one instance of a column."""
    return (*dotted(column), *index)


def fixed(syntax: Syntax, value: Value) -> Cell:
    """A cell that never changes."""
    return Cell(syntax, lambda _: value)


def counter32(read: Callable[[SwitchNow], int]) -> Cell:
    """A counter that wraps at 32 bits."""
    return Cell(Syntax.COUNTER32, lambda now: read(now) % 2**32)


class Mib:
    """All instances a switch has, in lexicographic order (RFC 3416)."""

    def __init__(self, rows: Iterable[Row]) -> None:
        self._cells = dict(rows)
        self._order = sorted(self._cells)
        self._columns = {oid[:-1] for oid in self._order}

    def __len__(self) -> int:
        return len(self._order)

    def __iter__(self) -> Iterator[Row]:
        return ((oid, self._cells[oid]) for oid in self._order)

    def get(self, oid: Oid) -> Cell | None:
        """The instance with exactly that OID."""
        return self._cells.get(oid)

    def knows(self, oid: Oid) -> bool:
        """Whether there is such an object, with some other instance perhaps."""
        return any(oid[:n] in self._columns for n in range(len(oid), 6, -1))

    def after(self, oid: Oid) -> Row | None:
        """The first instance after an OID, None at the end of the view."""
        place = bisect_right(self._order, oid)
        if place == len(self._order):
            return None
        found = self._order[place]
        return found, self._cells[found]
