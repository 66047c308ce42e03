"""What happened on a link and what people did at it, one thing a line, each with its address."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.alerts import wording
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict import Event, EventKind
from strandkeeper.store import RecordReader
from strandkeeper_dashboard.window import Window

__all__ = ["Happening", "events_of", "story"]

_LIMIT: Final = 200
_AROUND_MS: Final = 1_800_000
# A finding that began says in words what the events beside it say as facts.
_NOT_MARKED: Final = frozenset({EventKind.FINDING_BEGAN, EventKind.FINDING_ENDED})
_TOLD: Final = {
    EntryKind.NOTE: "{who} noted",
    EntryKind.BASELINE: "{who} said that this is good from now on",
    EntryKind.REWORK_START: "{who} began work",
    EntryKind.REWORK_FINISH: "{who} ended the work",
    EntryKind.METER: "{who} wrote down a meter reading",
    EntryKind.COMMISSION: "{who} took the link into use",
    EntryKind.MUTE: "{who} muted the alerts of this link",
}
_SAID: Final = ("text", "what", "note", "why")


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """One thing; `id` names it on the page, `closer` is the hour around it as a range."""

    id: str
    time_ms: int
    kind: str
    text: str
    marked: bool
    by_a_person: bool = False

    @property
    def closer(self) -> dict[str, str]:
        """The hour around it, in an address."""
        return {
            "from": iso_utc(self.time_ms - _AROUND_MS),
            "to": iso_utc(self.time_ms + _AROUND_MS),
        }


def events_of(link: Link, record: RecordReader, window: Window) -> Sequence[Event]:
    """Events of `link` in `window`, newest first."""
    return record.events(link.name, from_ms=window.from_ms, to_ms=window.to_ms, limit=_LIMIT)


def story(link: Link, record: RecordReader, window: Window) -> list[Happening]:
    """Events and what people did, newest first."""
    told = [_event(link, event) for event in events_of(link, record, window)]
    told += [
        _entry(link, stored)
        for kind in _TOLD  # each by itself: who looks on live is entered every ten seconds
        for stored in record.entries(kind=kind, limit=_LIMIT)
        if stored.entry.payload.get("link") == link.name
        and window.from_ms <= stored.at_ms <= window.to_ms
    ]
    told.sort(key=lambda one: -one.time_ms)
    return _with_ids_of_their_own(told)


def _event(link: Link, event: Event) -> Happening:
    return Happening(
        id=f"at-{event.time_ms}-{event.kind.value}",
        time_ms=event.time_ms,
        kind=event.kind.value,
        text=wording.event_sentence(link, event),
        marked=event.kind not in _NOT_MARKED,
    )


def _entry(link: Link, stored: StoredEntry) -> Happening:
    entry = stored.entry
    said = _TOLD[entry.kind].format(who=entry.who)
    way = entry.payload.get("direction")
    if way in [direction.value for direction in Direction]:
        said = f"{said}, {link.direction_name(Direction(str(way)))}"
    text = next((str(entry.payload[key]) for key in _SAID if entry.payload.get(key)), "")
    told = f"{said}: {text}" if text else said
    if stored.refusal:
        told = f"{told} (refused: {stored.refusal})"
    return Happening(
        id=f"at-{stored.at_ms}-{entry.kind.value}",
        time_ms=stored.at_ms,
        kind=entry.kind.value,
        text=told if told.endswith((".", "!", "?")) else f"{told}.",
        marked=True,
        by_a_person=True,
    )


def _with_ids_of_their_own(told: Sequence[Happening]) -> list[Happening]:
    """The same; of two alike addresses the later one gets a number."""
    seen: dict[str, int] = {}
    found = []
    for one in reversed(told):
        count = seen[one.id] = seen.get(one.id, 0) + 1
        own = one.id if count == 1 else f"{one.id}-{count}"
        found.append(replace(one, id=own))
    return found[::-1]
