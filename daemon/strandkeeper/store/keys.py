"""Numbers of links, ends, directions and modules in the file; never seen outside store/."""

from __future__ import annotations

import sqlite3
from typing import Final

from strandkeeper.errors import StoreError
from strandkeeper.model.names import Direction, End, LinkName

__all__ = [
    "END_SLOTS",
    "LinkNumbers",
    "ModuleNumbers",
    "direction_number",
    "direction_of",
    "end_number",
    "row_id",
]

END_SLOTS: Final = 65536
MOST_LINKS: Final = 32767


def end_number(link_id: int, end: End) -> int:
    """The number of one end of a link."""
    return link_id * 2 + end


def row_id(time_ms: int, number: int = 0) -> int:
    """The key of an end's row in the tables clustered by time; without a number, the first."""
    return time_ms * END_SLOTS + number


def direction_number(link_id: int, direction: Direction) -> int:
    """The number of one direction of a link."""
    return link_id * 2 + (direction is Direction.BA)


def direction_of(number: int) -> Direction:
    """The direction of a number of `direction_number`, or of a column `direction`."""
    return Direction.BA if number & 1 else Direction.AB


class LinkNumbers:
    """Link names to numbers and back, remembered; new names get a number inside a transaction."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._ids: dict[LinkName, int] = {}
        self._names: dict[int, LinkName] = {}

    def forget(self) -> None:
        """After a rollback: numbers given in it are void."""
        self._ids.clear()
        self._names.clear()

    def _read(self) -> None:
        for number, name in self._connection.execute("SELECT id, name FROM link"):
            self._remember(number, LinkName(name))

    def _remember(self, number: int, name: LinkName) -> int:
        self._ids[name] = number
        self._names[number] = name
        return number

    def find(self, name: LinkName) -> int | None:
        """The link's number, None if the file has never heard of it."""
        if name in self._ids:
            return self._ids[name]
        row = self._connection.execute("SELECT id FROM link WHERE name = ?", (name,)).fetchone()
        return None if row is None else self._remember(row[0], name)

    def name(self, number: int) -> LinkName:
        """The link of a number. Raises KeyError."""
        if number not in self._names:
            self._read()
        return self._names[number]

    def all(self) -> tuple[LinkName, ...]:
        """Every link in the file, oldest first."""
        self._read()
        return tuple(self._names[number] for number in sorted(self._names))

    def get(self, name: LinkName) -> int:
        """The link's number, given now if it has none."""
        found = self.find(name)
        if found is not None:
            return found
        newest = self._connection.execute("SELECT max(id) FROM link").fetchone()[0] or 0
        if newest >= MOST_LINKS:
            raise StoreError(
                f"one record holds {MOST_LINKS} links at most; {name!r} is one more",
                hint="Split the station over two configurations, each with its own [store] path.",
            )
        self._connection.execute("INSERT INTO link (id, name) VALUES (?, ?)", (newest + 1, name))
        return self._remember(newest + 1, name)


class ModuleNumbers:
    """Module identities to numbers, remembered: a row holds the number, not the text."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._ids: dict[str, int] = {}

    def forget(self) -> None:
        """After a rollback: numbers given in it are void."""
        self._ids.clear()

    def get(self, text: str | None) -> int | None:
        """The number of an identity, given now if it has none."""
        if text is None:
            return None
        known = self._ids.get(text)
        if known is None:
            self._connection.execute(
                "INSERT INTO module (text) VALUES (?) ON CONFLICT DO NOTHING", (text,)
            )
            known = self._connection.execute(
                "SELECT id FROM module WHERE text = ?", (text,)
            ).fetchone()[0]
            self._ids[text] = known
        return known
