"""Why it is so: causes as phrases, joined to a sentence by how sure they are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from strandkeeper.alerts.wording_places import Place
from strandkeeper.model.finding import Cause, Confidence, Finding
from strandkeeper.model.link import Link

__all__ = ["cause_phrase", "cause_sentence", "confidence_word"]

CONFIDENCE: Final[dict[Confidence, str]] = {
    Confidence.CERTAIN: "certain",
    Confidence.LIKELY: "likely",
    Confidence.CANNOT_TELL: "cannot tell",
}

PHRASES: Final[dict[Cause, Callable[[Place], str]]] = {
    Cause.UNKNOWN: lambda _: "something that the readings do not show",
    Cause.CABLE: lambda _: "the cable: cut, crushed or pulled",
    Cause.STRAND: lambda p: f"{p.strand}, or a plug on it",
    Cause.CONNECTOR: lambda p: f"a plug on {p.strand}: dirty, knocked or not home",
    Cause.BEND_OR_CRUSH: lambda _: "a bend that is too tight, or a crushed spot",
    Cause.HANDLING: lambda _: "somebody's hands at a plug, a cord or a tray",
    Cause.DAMAGE_IN_PROGRESS: lambda _: "damage that goes on: teeth, frost, or weight on the cable",
    Cause.WEATHER_ON_CONNECTOR: lambda p: (
        f"a plug or field joint on {p.strand} that feels the weather"
    ),
    Cause.FREEZING_WATER: lambda _: "water that freezes in a duct or a closure",
    Cause.DIRTY_OR_REFLECTIVE_CONNECTOR: lambda p: (
        f"a plug on {p.strand} that is dirty or reflects, or dirt in a module's bore"
    ),
    Cause.PAIR_NOT_CROSSED: lambda _: "the two plugs of a pair are the wrong way round at one end",
    Cause.TRANSMITTER: lambda p: f"the transmitter at {p.sender}",
    Cause.RECEIVER: lambda p: f"the receiver at {p.receiver}",
    Cause.MODULE: lambda p: f"a module, at {p.here} first of all",
    Cause.MODULE_REMOVED: lambda p: f"the module at {p.here} was pulled out",
    Cause.MODULE_CHANGED: lambda p: f"the module at {p.here} was changed",
    Cause.WRONG_PART: lambda _: (
        "a part of the wrong kind: multimode on single-mode, an angled "
        "plug in a flat one, or two modules that do not belong together"
    ),
    Cause.OVERLOAD: lambda p: f"too much light for {p.receiver}: modules made for a longer cable",
    Cause.COPPER_SIDE: lambda _: "the copper side of a switch, not the fibre",
    Cause.SWITCHED_OFF_BY_A_PERSON: lambda p: f"somebody shut the port at {p.here}",
    Cause.FAR_END_SILENT: lambda p: (
        f"while {p.far} does not answer, its power, its module and the cable look alike"
    ),
    Cause.FAR_END_OFF_OR_RESTARTED: lambda p: (
        f"{p.far} was off or restarted: supply, a person or a crash"
    ),
    Cause.SWITCH_RESTARTED: lambda p: f"the switch at {p.here} restarted",
    Cause.SURGE: lambda _: "a surge, from lightning or the mains",
    Cause.BATTERY: lambda p: f"the battery at {p.here} that does not last the night",
    Cause.WAY_TO_SWITCH: lambda p: f"the network between this computer and {p.here}, not the fibre",
    Cause.BEHIND_A_LINK_THAT_IS_DOWN: lambda _: "it is reached through a link that is down",
    Cause.OTHER_STRAND_OR_FAR_RECEIVER: lambda p: (
        f"the strand {p.here} → {p.there}, the receiver "
        f"at {p.there}, or a port set to another speed"
    ),
}


def confidence_word(confidence: Confidence) -> str:
    """How sure, in the words of every screen."""
    return CONFIDENCE[confidence]


def cause_phrase(link: Link, finding: Finding, cause: Cause) -> str:
    """One cause in the owner's names, to stand inside a sentence."""
    return PHRASES[cause](Place(link, finding.direction, finding.end))


def cause_sentence(link: Link, finding: Finding) -> str:
    """Why, and how sure; what else it could be where it is not certain."""
    main = cause_phrase(link, finding, finding.cause)
    others = [cause_phrase(link, finding, c) for c in finding.alternatives if c != finding.cause]
    if finding.cause is Cause.UNKNOWN:
        return f"Cannot tell why: it could be {_or(others)}." if others else "Cannot tell why."
    if finding.cause is Cause.FAR_END_SILENT:
        return f"Cannot tell: {main}."
    match finding.confidence:
        case Confidence.CERTAIN:
            return f"Certain: {main}."
        case Confidence.LIKELY:
            return f"Likely: {main}." + (f" It could also be {_or(others)}." if others else "")
        case Confidence.CANNOT_TELL:
            return f"Cannot tell: it could be {_or([main, *others])}."


def _or(phrases: Sequence[str]) -> str:
    if len(phrases) == 1:
        return phrases[0]
    return f"{'; '.join(phrases[:-1])}; or {phrases[-1]}"
