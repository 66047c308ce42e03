"""What happened, for the record and the marks on a chart.

What `value` and `text` of an event hold: link-up, answers-again and light-back: how long it had
lasted [s]; restarted: up since [s]; step: [dB]; baseline-set: the loss [dB]; finding-began and
finding-ended: the finding's kind as text; baseline-set: `firm` as text when it became so;
baseline-broken: by what as text; module events: the module's name as text.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from strandkeeper.alerts.wording_figures import db, duration
from strandkeeper.alerts.wording_headlines import kind_headline
from strandkeeper.alerts.wording_places import Place
from strandkeeper.model.finding import FindingKind
from strandkeeper.model.link import Link
from strandkeeper.model.verdict import Event, EventKind

__all__ = ["event_sentence"]


def event_sentence(link: Link, event: Event) -> str:
    """One event in the owner's names, with how exactly its time is known where that is coarse."""
    said = EVENTS[event.kind](Place(link, event.direction, event.end), event)
    if event.uncertainty_ms >= 1000:
        return f"{said} (to within {duration(event.uncertainty_ms / 1000)})."
    return f"{said}."


def _after(what: str, event: Event, how: str) -> str:
    return what if event.value is None else f"{what} {how} {duration(event.value)}"


def _named(what: str, event: Event) -> str:
    return f"{what}: {event.text}" if event.text else what


def _step(place: Place, event: Event) -> str:
    if event.value is None:
        return f"{place.way}: the loss jumped"
    return f"{place.way}: the loss jumped {'up' if event.value > 0 else 'down'} by " + db(
        abs(event.value)
    )


def _baseline_set(place: Place, event: Event) -> str:
    loss = "" if event.value is None else f": {db(event.value)} lost"
    if event.text == "firm":
        return f"{place.way}: a week bears out what counts as good{loss}"
    return f"{place.way}: from here on this counts as good{loss}"


def _finding(prefix: str) -> Callable[[Place, Event], str]:
    def say(place: Place, event: Event) -> str:
        if event.text not in {k.value for k in FindingKind}:
            return f"{prefix}: {event.text or 'a finding'}"
        return f"{prefix}: {kind_headline(FindingKind(event.text), place)}"

    return say


EVENTS: Final[dict[EventKind, Callable[[Place, Event], str]]] = {
    EventKind.LINK_DOWN: lambda p, e: "The link went down",
    EventKind.LINK_UP: lambda p, e: _after("The link came up", e, "after"),
    EventKind.FLAP_BETWEEN_POLLS: lambda p, e: (
        f"The link went down and up between two questions, as the switch at {p.here} remembers"
    ),
    EventKind.NO_ANSWER: lambda p, e: f"The switch at {p.here} stopped answering",
    EventKind.ANSWERS_AGAIN: lambda p, e: _after(
        f"The switch at {p.here} answers again", e, "after"
    ),
    EventKind.RESTARTED: lambda p, e: f"The switch at {p.here} restarted",
    EventKind.LIGHT_LOST: lambda p, e: f"The light to {_at(p)} went out",
    EventKind.LIGHT_BACK: lambda p, e: _after(f"The light to {_at(p)} came back", e, "after"),
    EventKind.MODULE_CHANGED: lambda p, e: _named(f"The module at {p.here} was changed", e),
    EventKind.MODULE_REMOVED: lambda p, e: _named(f"The module at {p.here} was pulled out", e),
    EventKind.MODULE_INSERTED: lambda p, e: _named(f"A module was put in at {p.here}", e),
    EventKind.PORT_OFF: lambda p, e: f"The port at {p.here} was shut by somebody",
    EventKind.PORT_ON: lambda p, e: f"The port at {p.here} was switched on by somebody",
    EventKind.STEP: _step,
    EventKind.BASELINE_SET: _baseline_set,
    EventKind.BASELINE_BROKEN: lambda p, e: _named(
        f"{p.way}: what counted as good no longer does", e
    ),
    EventKind.FINDING_BEGAN: _finding("Began"),
    EventKind.FINDING_ENDED: _finding("Over"),
}


def _at(place: Place) -> str:
    return place.receiver if place.direction is not None else place.here
