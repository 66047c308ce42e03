"""What people asked for, applied by the daemon alone."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.names import Direction, LinkName

__all__ = ["Decision", "decide"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What becomes of an entry: refused with a sentence, or applied, with a mark for a link."""

    refusal: str = ""
    link: LinkName | None = None
    mark: Mark | None = None


def decide(stored: StoredEntry, links: frozenset[LinkName], now_ms: int) -> Decision:
    """Decide on one entry. Its payload names the link, and for a baseline may name a direction."""
    entry = stored.entry
    link = entry.payload.get("link")
    if link is not None and link not in links:
        return Decision(refusal=f"there is no link {link!r} in the configuration")
    match entry.kind:
        case EntryKind.NOTE:
            return Decision()
        case EntryKind.BASELINE:
            return _baseline(entry.payload, now_ms)
        case _:
            return Decision(refusal=f"this release cannot do {entry.kind.value!r} yet")


def _baseline(payload: dict[str, object], now_ms: int) -> Decision:
    link = payload.get("link")
    if not isinstance(link, str):
        return Decision(refusal="a new baseline needs the link it is for")
    wanted = payload.get("direction")
    if wanted not in (None, *(d.value for d in Direction)):
        return Decision(refusal=f"there is no direction {wanted!r}; write 'ab', 'ba' or neither")
    direction = None if wanted is None else Direction(str(wanted))
    mark = Mark(time_ms=now_ms, kind=MarkKind.BASELINE, direction=direction)
    return Decision(link=LinkName(link), mark=mark)
