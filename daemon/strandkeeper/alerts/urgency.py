"""How soon someone must act, at this hour: not the same as how much it matters.

Own design, no source: what a person can do at night is little, and an outage over a cable in the
ground is mended by daylight.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from strandkeeper.model.finding import Finding, FindingKind, NextStep, Severity

__all__ = ["Urgency", "to_bring", "urgency_of", "urgency_sentence"]


class Urgency(StrEnum):
    """When to act."""

    NOW = "now"
    IF_NEEDED_TONIGHT = "if-needed-tonight"
    TODAY = "today"
    TOMORROW = "tomorrow"
    SOON = "soon"
    NOTHING = "nothing"


_DOWN: Final = frozenset(
    {FindingKind.LINK_DOWN, FindingKind.LIGHT_LOST, FindingKind.MODULE_MISSING}
)
_CAN_BURN: Final = frozenset({FindingKind.TEMPERATURE, FindingKind.SUPPLY})

_WORDS: Final[dict[Urgency, str]] = {
    Urgency.NOW: "Now",
    Urgency.IF_NEEDED_TONIGHT: "Tonight only if the link is needed before morning",
    Urgency.TODAY: "Today",
    Urgency.TOMORROW: "Nothing to do tonight; tomorrow",
    Urgency.SOON: "In the next days",
    Urgency.NOTHING: "Nothing to do",
}

# the first thing to do, short enough for the second line of a message
_FIRST: Final[dict[NextStep, str]] = {
    NextStep.CHECK_FAR_POWER: "look at the far power first",
    NextStep.CHECK_NEAR_POWER: "look at the power here first",
    NextStep.CHECK_SWITCH_NETWORK: "look at the way to the switch first",
    NextStep.PUSH_HOME: "push the plugs home first",
    NextStep.CLEAN_PLUGS_AND_BORE: "bring the cleaning things",
    NextStep.CHANGE_CORD: "bring spare cords",
    NextStep.CHANGE_MODULE_HERE: "bring a spare module",
    NextStep.CHANGE_MODULE_THERE: "bring a spare module",
    NextStep.WALK_THE_ROUTE: "walk the route",
    NextStep.CHECK_COOLING: "look at the cooling",
    NextStep.CHECK_BATTERY: "look at the battery",
    NextStep.ENABLE_PORT: "open the port again",
    NextStep.PUT_MODULE_BACK: "put the module back",
}


def urgency_of(finding: Finding, *, night: bool) -> Urgency:
    """When to act on a finding, by day or in quiet hours."""
    if finding.severity is Severity.NOTE or finding.next_steps[:1] == (NextStep.WAIT_AND_SEE,):
        return Urgency.NOTHING
    if finding.kind in _CAN_BURN and finding.severity is Severity.URGENT:
        return Urgency.NOW
    if finding.kind in _DOWN:
        return Urgency.IF_NEEDED_TONIGHT if night else Urgency.NOW
    if finding.severity is Severity.URGENT:
        return Urgency.TOMORROW if night else Urgency.TODAY
    return Urgency.TOMORROW if night else Urgency.SOON


def to_bring(finding: Finding) -> str:
    """The first thing to do or to take along, in a few words; empty where nothing is known."""
    return next((_FIRST[step] for step in finding.next_steps if step in _FIRST), "")


def urgency_sentence(finding: Finding, *, night: bool) -> str:
    """How urgent it is at this hour, and what comes first."""
    urgency = urgency_of(finding, night=night)
    first = "" if urgency is Urgency.NOTHING else to_bring(finding)
    return f"{_WORDS[urgency]}: {first}." if first else f"{_WORDS[urgency]}."
