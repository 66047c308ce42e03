"""How many objects fit into one request to one switch, learned; requests packed to that size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from strandkeeper.model.oid import Oid

__all__ = ["START", "Group", "RequestSize", "pack"]

START = 28  # facts of UDP over 1472 octets: 20 to 30 varbinds stay below a fragment
_FIRST_WAIT = 360
_LONGEST_WAIT = 20_000


@dataclass(frozen=True, slots=True)
class Group:
    """Objects of one row; `key` is asked with each piece of it, to prove whose values they are."""

    key: Oid | None
    oids: tuple[Oid, ...]


class RequestSize:
    """The size that works: halved when it did not, tried larger again after a long while."""

    def __init__(self, start: int = START) -> None:
        self.limit = start
        self._largest = start
        self._wait = _FIRST_WAIT
        self._good = 0

    def shrink(self, tried: int) -> None:
        """A request of `tried` objects was too much."""
        self.limit = max(1, min(self.limit, tried // 2))
        self._good = 0
        self._wait = min(_LONGEST_WAIT, self._wait * 2)

    def worked(self) -> None:
        """A request went well; after many of them the size is doubled once."""
        self._good += 1
        if self._good >= self._wait and self.limit < self._largest:
            self.limit = min(self._largest, self.limit * 2)
            self._good = 0


def pack(groups: Sequence[Group], each: tuple[Oid, ...], limit: int) -> list[tuple[Oid, ...]]:
    """Requests of at most `limit` objects where that is possible, `each` leading every one.

    A group stays together if it can; if it cannot, its key goes with each piece.
    """
    if limit <= len(each):  # an agent that takes next to nothing: one thing after another
        groups, each = [Group(None, each), *groups], ()
    requests: list[tuple[Oid, ...]] = []
    current: list[Oid] = []
    room = max(1, limit - len(each))
    for group in groups:
        for piece in _pieces(group, room):
            if current and len(current) + len(piece) > room:
                requests.append((*each, *current))
                current = []
            current.extend(piece)
    if current or (each and not requests):
        requests.append((*each, *current))
    return requests


def _pieces(group: Group, room: int) -> Iterator[tuple[Oid, ...]]:
    lead = () if group.key is None else (group.key,)
    oids = group.oids
    if lead and room == 1:
        lead, oids = (), (*lead, *oids)
    step = max(1, room - len(lead))
    for start in range(0, max(1, len(oids)), step):
        piece = (*lead, *oids[start : start + step])
        if piece:
            yield piece
