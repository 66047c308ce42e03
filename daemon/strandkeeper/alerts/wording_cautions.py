"""What not to do to oneself or to the link while following advice; short, one sentence each.

Source: the safety chapters and guidelines gathered in the project's facts on optics: invisible
infrared, splinters, chemicals (IEC 60825-1 and -2 for the classes; makers' laser guidelines; a
trade body's safety page); NEC (NFPA 70) article 770 for metal in the cable; local code governs.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from strandkeeper.model.finding import NextStep

__all__ = ["Caution", "caution_text", "cautions_of"]


class Caution(StrEnum):
    """Which caution."""

    INVISIBLE_LIGHT = "invisible-light"
    DARK_FIRST = "dark-first"
    NOT_THROUGH_THE_LINK = "not-through-the-link"
    SPLINTERS = "splinters"
    SOLVENT = "solvent"
    VISIBLE_LASER = "visible-laser"
    NOBODY_AT_THE_FIBRE = "nobody-at-the-fibre"
    DIGGING = "digging"
    ARMOUR = "armour"
    THUNDERSTORM = "thunderstorm"
    PITS = "pits"
    MAINS = "mains"


TEXTS: Final[dict[Caution, str]] = {
    Caution.INVISIBLE_LIGHT: "Never look into a fibre, plug or port, least of all with a lens: "
    "the light is invisible and may be on.",
    Caution.DARK_FIRST: "Keep it dark while you handle it: both ports shut or both modules out, "
    "checked with a power meter.",
    Caution.NOT_THROUGH_THE_LINK: "Shut the far port on the spot, never through this link: "
    "it could not be opened again.",
    Caution.SPLINTERS: "Glass splinters pierce skin and eyes: safety glasses, dark mat, closed "
    "waste container, no food near.",
    Caution.SOLVENT: "Cleaning alcohol burns: a few drops, fresh air, no flame or splicing arc, "
    "let it dry.",
    Caution.VISIBLE_LASER: "Do not stare into the red light either, and keep it off people.",
    Caution.NOBODY_AT_THE_FIBRE: "First make sure that nobody has a fibre of this link in hand: "
    "the port lights it.",
    Caution.DIGGING: "Before digging have every buried utility located; dig by hand near the "
    "marks.",
    Caution.ARMOUR: "Metal in a cable can carry lightning and mains faults: bonding and earthing "
    "as local code says, by licensed people.",
    Caution.THUNDERSTORM: "Not in a thunderstorm, nor while one is near.",
    Caution.PITS: "Go into no manhole or pit without a gas test and someone at the top.",
    Caution.MAINS: "Leave mains wiring and large batteries to qualified people.",
}

_HANDLING: Final = (Caution.INVISIBLE_LIGHT, Caution.DARK_FIRST, Caution.NOT_THROUGH_THE_LINK)

OF_STEP: Final[dict[NextStep, tuple[Caution, ...]]] = {
    NextStep.WAIT_AND_SEE: (),
    NextStep.CHECK_FAR_POWER: (Caution.MAINS,),
    NextStep.CHECK_NEAR_POWER: (Caution.MAINS,),
    NextStep.CHECK_SWITCH_NETWORK: (),
    NextStep.PUSH_HOME: (Caution.INVISIBLE_LIGHT,),
    NextStep.CLEAN_PLUGS_AND_BORE: (*_HANDLING, Caution.SOLVENT),
    NextStep.CHANGE_CORD: _HANDLING,
    NextStep.SWAP_STRANDS: _HANDLING,
    NextStep.MOVE_TO_SPARE: _HANDLING,
    NextStep.CHANGE_MODULE_HERE: (Caution.INVISIBLE_LIGHT,),
    NextStep.CHANGE_MODULE_THERE: (Caution.INVISIBLE_LIGHT,),
    NextStep.RETERMINATE: (*_HANDLING, Caution.SPLINTERS, Caution.SOLVENT),
    NextStep.WALK_THE_ROUTE: (
        Caution.THUNDERSTORM,
        Caution.DIGGING,
        Caution.ARMOUR,
        Caution.PITS,
        Caution.INVISIBLE_LIGHT,
        Caution.SPLINTERS,
    ),
    NextStep.CHECK_BENDS: (Caution.INVISIBLE_LIGHT,),
    NextStep.SWAP_PLUGS_AT_ONE_END: _HANDLING,
    NextStep.ADD_ATTENUATOR: _HANDLING,
    NextStep.CHECK_COPPER_SIDE: (),
    NextStep.CHECK_COOLING: (),
    NextStep.CHECK_BATTERY: (Caution.MAINS,),
    NextStep.CHECK_SURGE_PROTECTION: (Caution.THUNDERSTORM, Caution.ARMOUR, Caution.MAINS),
    NextStep.REPLACE_WRONG_PART: _HANDLING,
    NextStep.ENABLE_PORT: (Caution.NOBODY_AT_THE_FIBRE, Caution.INVISIBLE_LIGHT),
    NextStep.PUT_MODULE_BACK: (Caution.INVISIBLE_LIGHT,),
    NextStep.ACCEPT_NEW_BASELINE: (),
    NextStep.CHECK_DISK: (),
    NextStep.CHECK_CLOCK: (),
    NextStep.LOCATE_FAULT_WITH_VISIBLE_LIGHT: (*_HANDLING, Caution.VISIBLE_LASER),
}


def caution_text(caution: Caution) -> str:
    """The sentence of one caution."""
    return TEXTS[caution]


def cautions_of(*steps: NextStep) -> tuple[str, ...]:
    """The cautions that belong to these steps, each once, in the order met."""
    return tuple(dict.fromkeys(TEXTS[c] for step in steps for c in OF_STEP[step]))
