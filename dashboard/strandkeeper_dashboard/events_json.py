"""One event as JSON: the facts, and the sentence that the pages show."""

from __future__ import annotations

from typing import Any

from strandkeeper.alerts import wording
from strandkeeper.model.link import Link
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict import Event

__all__ = ["event_to_json"]


def event_to_json(link: Link, event: Event) -> dict[str, Any]:
    """`end` is a|b|null, `direction` ab|ba|null, `value` in the unit of its kind or null."""
    return {
        "time": iso_utc(event.time_ms),
        "kind": event.kind.value,
        "end": None if event.end is None else event.end.name.lower(),
        "direction": None if event.direction is None else event.direction.value,
        "value": event.value,
        "uncertainty_s": event.uncertainty_ms / 1000,
        "text": wording.event_sentence(link, event),
    }
