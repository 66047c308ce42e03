"""What becomes of what people did at the fibre: pure decisions on what is known.

An entry is applied with what it changes in the record, or refused with the reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from strandkeeper.errors import InputError
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.link import Link, LinkFacts
from strandkeeper.model.mark import Mark
from strandkeeper.model.meter_reading import Anchor, Bench
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.rework import Rework
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.store.changes import Changes

__all__ = ["KINDS", "Known", "Quiet", "Ruling", "link_of", "strand_of"]

KINDS = frozenset(
    {
        EntryKind.METER,
        EntryKind.LEDGER,
        EntryKind.COMMISSION,
        EntryKind.REWORK_START,
        EntryKind.REWORK_FINISH,
        EntryKind.LIVE,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What a decision may rest on. `rows` are the newest of the entry's link, both ends."""

    links: Mapping[LinkName, Link] = field(default_factory=dict)
    facts: Mapping[LinkName, LinkFacts] = field(default_factory=dict)
    verdict: LinkVerdict | None = None
    rows: Sequence[EndRow] = ()
    cables: Sequence[Cable] = ()
    strands: Sequence[Strand] = ()
    works: Sequence[Rework] = ()  # of the entry's link, not closed, newest first
    anchors: Sequence[Anchor] = ()
    benches: Sequence[Bench] = ()
    coldest_c: Mapping[Direction, float] = field(default_factory=dict)
    swing_c: Mapping[Direction, float] = field(default_factory=dict)

    @property
    def open_work(self) -> Rework | None:
        """The work that somebody is at."""
        return next((w for w in self.works if w.open), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quiet:
    """Alerts of a link held until then; a time that is not ahead ends it."""

    link: LinkName
    who: str
    until_ms: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """Refused with a sentence, or what follows."""

    refusal: str = ""
    changes: Changes = field(default_factory=Changes)
    mark: tuple[LinkName, Mark] | None = None
    quiet: Quiet | None = None


def link_of(stored: StoredEntry, known: Known) -> Link:
    """The link that an entry names. Raises InputError."""
    name = stored.entry.payload.get("link")
    if not isinstance(name, str) or not name:
        raise InputError("this needs the link it is for")
    link = known.links.get(LinkName(name))
    if link is None:
        raise InputError(f"there is no link {name!r} in the configuration")
    return link


def strand_of(
    known: Known,
    cable: str,
    number: int | None,
    link: LinkName | None = None,
    direction: Direction | None = None,
) -> Strand | None:
    """The strand that was named, else the one the ledger knows to carry that direction.

    Raises InputError for a strand that is not in the ledger.
    """
    if cable or number is not None:
        for strand in known.strands:
            if strand.number == number and cable in (strand.cable, ""):
                return strand
        raise InputError(
            f"strand {number} of cable {cable!r} is not in the ledger",
            hint="`strandkeeper cable CONFIG show` lists it",
        )
    mine = [s for s in known.strands if link is not None and s.link == link]
    either = [s for s in mine if direction is not None and s.direction in (direction, None)]
    return either[0] if len(either) == 1 else None
