"""Sentences of this dashboard itself: how a page stands. What a finding means is said elsewhere.

Everything about findings, causes, steps, trends and events comes from strandkeeper.alerts.wording.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.model.link import Link
from strandkeeper.model.power import Measured, NoLight
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper_dashboard import figures
from strandkeeper_dashboard.health import Standing

__all__ = ["STANDING_WORDS", "direction_summary", "overall"]

STANDING_WORDS: Final = {
    Standing.ACT: "Act now",
    Standing.WATCH: "Look at this",
    Standing.UNKNOWN: "Not known",
    Standing.WELL: "All right",
}

_SAID: Final = (
    (Standing.ACT, "needs you now", "need you now"),
    (Standing.WATCH, "wants looking at", "want looking at"),
    (Standing.UNKNOWN, "is not known", "are not known"),
    (Standing.WELL, "is all right", "are all right"),
)


def overall(links: Sequence[tuple[str, Standing]]) -> str:
    """The first screen in a sentence or two: the worst link by name if it is alone, then counts."""
    if not links:
        return "No link is configured yet."
    if all(standing is Standing.WELL for _name, standing in links):
        return f"{links[0][0]} is all right." if len(links) == 1 else "All links are all right."
    said: list[str] = []
    for standing, one, many in _SAID:
        names = [name for name, own in links if own is standing]
        if names:
            count = "1 link" if len(names) == 1 else f"{len(names)} links"
            who = names[0] if not said and len(names) == 1 else count
            said.append(f"{who} {one if len(names) == 1 else many}")
    rest = f" {figures.sentence(', '.join(said[1:]))}" if len(said) > 1 else ""
    return f"{said[0]}.{rest}"


def direction_summary(link: Link, verdict: DirectionVerdict) -> str:
    """One direction's level diagram in words: the text alternative, and what stands below it."""
    sender = link.end(verdict.direction.sender).name
    receiver = link.end(verdict.direction.receiver).name
    return f"{_way(sender, receiver, verdict)}{_planned(verdict)} {_limits(verdict)}"


def _way(sender: str, receiver: str, verdict: DirectionVerdict) -> str:
    match verdict.tx, verdict.rx:
        case Measured(power=sent), Measured(power=received):
            return (
                f"{sender} sends {figures.dbm(sent)}, {receiver} receives"
                f" {figures.dbm(received)}: {figures.db(sent - received)} lost on the way"
            )
        case _, Measured(power=received):
            return (
                f"{receiver} receives {figures.dbm(received)};"
                f" how much {sender} sends is not reported"
            )
        case Measured(power=sent), NoLight():
            return f"{sender} sends {figures.dbm(sent)}; no light arrives at {receiver}"
        case _, NoLight():
            return f"No light arrives at {receiver}; how much {sender} sends is not reported"
        case Measured(power=sent), _:
            return (
                f"{sender} sends {figures.dbm(sent)}; {receiver} does not report what it receives"
            )
        case _:
            return f"Neither {sender} nor {receiver} reports its light"


def _planned(verdict: DirectionVerdict) -> str:
    if verdict.planned_loss is None:
        return "."
    limit = verdict.planned_limit
    most = "" if limit is None else f", at most {figures.db(limit)}"
    return f" (planned {figures.db(verdict.planned_loss)}{most})."


def _limits(verdict: DirectionVerdict) -> str:
    if verdict.sensitivity is None:
        return "The weakest light it can use is not known, so there is no margin to show."
    weak = figures.spare(verdict.margin, anchored=verdict.anchored)
    strong = figures.spare(verdict.headroom, anchored=verdict.anchored)
    said = f"To spare before too weak: {weak}; before too strong: {strong}."
    if isinstance(verdict.rx, Measured):
        said += f" Readings are good to ±{verdict.accuracy.value:g}{figures.THIN}dB."
    return said
