"""What to do next, as an order a person can follow, with the cautions that belong to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from strandkeeper.alerts.wording_cautions import cautions_of
from strandkeeper.alerts.wording_places import Place
from strandkeeper.model.finding import Finding, NextStep
from strandkeeper.model.link import Link

__all__ = ["StepWords", "next_step_text", "next_step_words", "next_steps_words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWords:
    """One step: the order, and the cautions that must stand beside it."""

    step: NextStep
    order: str
    cautions: tuple[str, ...]


def _swap_strands(place: Place) -> str:
    if place.link.strands == 1:
        return "Move the link to a spare strand at both ends and see whether it stays."
    return (
        "Swap the two strands at both ends and see whether the fault moves to the other "
        "direction: then it is the strand, else a module."
    )


ORDERS: Final[dict[NextStep, Callable[[Place], str]]] = {
    NextStep.WAIT_AND_SEE: lambda _: "Wait and see; nothing needs a hand now.",
    NextStep.CHECK_FAR_POWER: lambda p: f"Look at the power of {p.far} first: is its switch on?",
    NextStep.CHECK_NEAR_POWER: lambda p: f"Look at the power of {p.near}: is its switch on?",
    NextStep.CHECK_SWITCH_NETWORK: lambda p: (
        "Look at the way from this computer to the switch at "
        f"{p.here}: address, cable, its own network, who may ask it."
    ),
    NextStep.PUSH_HOME: lambda p: (
        f"Push the plugs at {p.here} and {p.there} home until they click."
    ),
    NextStep.CLEAN_PLUGS_AND_BORE: lambda p: (
        f"Clean the plugs of {p.strand} and the bores of both modules, at both ends."
    ),
    NextStep.CHANGE_CORD: lambda _: "Change the cords between panel and module, one end at a time.",
    NextStep.SWAP_STRANDS: _swap_strands,
    NextStep.MOVE_TO_SPARE: lambda _: "Move the link to a spare strand at both ends.",
    NextStep.CHANGE_MODULE_HERE: lambda p: f"Change the module at {p.here}.",
    NextStep.CHANGE_MODULE_THERE: lambda p: f"Change the module at {p.there}.",
    NextStep.RETERMINATE: lambda p: f"Put new plugs on {p.strand}; the last thing to try.",
    NextStep.WALK_THE_ROUTE: lambda _: (
        "Walk the route of the cable and look for digging, pulling, crushing, teeth, open closures."
    ),
    NextStep.CHECK_BENDS: lambda _: (
        "Look for tight bends, ties and doors on cords and trays at "
        "both ends, then along the cable."
    ),
    NextStep.SWAP_PLUGS_AT_ONE_END: lambda _: "Swap the two plugs at ONE end only.",
    NextStep.ADD_ATTENUATOR: lambda p: (
        f"Put a fixed attenuator at {p.receiver}, made for this "
        "wavelength and plug, and add its loss to the configuration."
    ),
    NextStep.CHECK_COPPER_SIDE: lambda _: (
        "Look at the copper side: cables, speed and duplex of "
        "what is plugged into the two switches."
    ),
    NextStep.CHECK_COOLING: lambda p: (
        f"Look at the cooling at {p.here}: fan, dust, sun, heat from neighbours."
    ),
    NextStep.CHECK_BATTERY: lambda p: f"Look at the battery and charger at {p.here}.",
    NextStep.CHECK_SURGE_PROTECTION: lambda _: (
        "Look at surge protection and earthing at both ends and at whatever else was hit."
    ),
    NextStep.REPLACE_WRONG_PART: lambda _: (
        "Compare modules, cords and plugs of both ends with the "
        "plan and replace the one that does not belong."
    ),
    NextStep.ENABLE_PORT: lambda p: f"Switch the port at {p.here} on again, if it is meant to be.",
    NextStep.PUT_MODULE_BACK: lambda p: f"Put the module at {p.here} back in until it clicks.",
    NextStep.ACCEPT_NEW_BASELINE: lambda _: (
        "If all is well as it is now, accept it as the new 'last good'."
    ),
    NextStep.CHECK_DISK: lambda _: (
        "Look at the disk of this computer: full, worn out or not writable."
    ),
    NextStep.CHECK_CLOCK: lambda _: "Set the clock of this computer, or let it fetch the time.",
    NextStep.LOCATE_FAULT_WITH_VISIBLE_LIGHT: lambda p: (
        f"Send visible red light into {p.strand} and look where it leaks out."
    ),
}


def next_step_words(link: Link, finding: Finding, step: NextStep) -> StepWords:
    """One step of a finding in the owner's names."""
    order = ORDERS[step](Place(link, finding.direction, finding.end))
    return StepWords(step=step, order=order, cautions=cautions_of(step))


def next_step_text(link: Link, finding: Finding, step: NextStep) -> str:
    """The step and its cautions as running text; never the one without the other."""
    words = next_step_words(link, finding, step)
    return " ".join([words.order, *words.cautions])


def next_steps_words(link: Link, finding: Finding) -> tuple[StepWords, ...]:
    """Every step of a finding, in the order of trying; a caution stands where it is first needed.

    For a list that is read from the top; a single step out of it needs `next_step_words`.
    """
    said: set[str] = set()
    steps = []
    for step in finding.next_steps:
        words = next_step_words(link, finding, step)
        fresh = tuple(c for c in words.cautions if c not in said)
        said.update(fresh)
        steps.append(StepWords(step=step, order=words.order, cautions=fresh))
    return tuple(steps)
