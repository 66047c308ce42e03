"""What people asked for, applied by the daemon alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.names import Direction, LinkName

__all__ = ["Asked", "Decision", "decide"]

LONGEST_MUTE_S: Final = 30 * 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person asks of the alerts: one of them or a whole link.

    Without `until_ms` an alert is acknowledged; with it, it or the link is muted until then, a link
    with a time that is not ahead is muted no longer. `why` a link is muted: `mute`, `rework`.
    """

    who: str
    alert: int | None = None
    link: str | None = None
    until_ms: int | None = None
    why: str = "mute"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What becomes of an entry: refused with a sentence, or applied, with a mark for a link.

    `asked` is for the alerts, which may refuse it still.
    """

    refusal: str = ""
    asked: Asked | None = None
    link: LinkName | None = None
    mark: Mark | None = None


def decide(stored: StoredEntry, links: frozenset[LinkName], now_ms: int) -> Decision:
    """Decide on one entry. Its payload names the link, and for a baseline may name a direction."""
    entry = stored.entry
    link = entry.payload.get("link")
    if link is not None and not (isinstance(link, str) and link in links):
        return Decision(refusal=f"there is no link {link!r} in the configuration")
    match entry.kind:
        case EntryKind.NOTE | EntryKind.BACKUP:  # told by the entry itself
            return Decision()
        case EntryKind.BASELINE:
            return _baseline(entry.payload, now_ms)
        case EntryKind.ACKNOWLEDGE:
            return _acknowledge(entry)
        case EntryKind.MUTE:
            return _mute(entry, now_ms)
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


def _acknowledge(entry: Entry) -> Decision:
    number = entry.payload.get("alert")
    if not _is_number(number):
        return Decision(refusal="to acknowledge needs the number of an alert")
    return Decision(asked=Asked(who=entry.who, alert=int(str(number))))


def _mute(entry: Entry, now_ms: int) -> Decision:
    number, link = entry.payload.get("alert"), entry.payload.get("link")
    span = entry.payload.get("for_s")
    if not _is_number(span) or not 0 <= int(str(span)) <= LONGEST_MUTE_S:
        return Decision(refusal=f"a mute lasts 0 to {LONGEST_MUTE_S} seconds")
    until_ms = now_ms + int(str(span)) * 1000
    if _is_number(number) and link is None:
        return Decision(asked=Asked(who=entry.who, alert=int(str(number)), until_ms=until_ms))
    if isinstance(link, str) and number is None:
        return Decision(asked=Asked(who=entry.who, link=link, until_ms=until_ms))
    return Decision(refusal="a mute needs the number of an alert, or a link")


def _is_number(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
