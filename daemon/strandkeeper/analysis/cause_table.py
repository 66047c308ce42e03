"""Why it is so: the decision table. One row a rule, the first that fits is taken.

A rule fits when every fact it `needs` is so and none it `bars`. Confidence by rule: certain where
what is seen leaves no other part to blame; likely where one thing is far more usual than the
others named beside it; cannot tell otherwise. Own design, after the trade's fault signatures
(facts on connectors, bends and freezing: common practice, no single source).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto
from typing import Final

from strandkeeper.model.finding import Cause, Confidence, FindingKind, NextStep

__all__ = ["RULES", "Fact", "Rule"]


class Fact(Enum):
    """What can be so about a finding; analysis.cause_facts says when."""

    PORT_OFF = auto()  # a port of the link is off by a person's doing
    MODULE_GONE = auto()
    MISFIT = auto()  # parts do not fit together by what is said of them
    MISFIT_SURE = auto()
    NEVER_UP = auto()
    NEVER_LIT = auto()  # neither end has ever seen light
    BOTH_DARK = auto()
    RECEIVER_DARK = auto()  # the direction's receiver, or the near end, sees no light
    LIGHT_ARRIVES = auto()  # and was seen to move since
    FAR_SILENT = auto()
    SUPPLY_IN_NEED = auto()  # an end that is silent or restarts said that its supply may soon end
    BOTH_ANSWER = auto()
    SENDER_LIT = auto()  # the direction's sender says that its laser is on
    SENDER_OFF = auto()
    BEHIND_LINK = auto()
    ONE_WAY = auto()
    BOTH_WAYS = auto()
    SENT_LESS = auto()  # the light sent fell as well
    SINGLE_STRAND = auto()
    WORSE_LONGER = auto()
    ALIKE = auto()
    COLD = auto()
    SWINGS = auto()
    MODULES_MAY = auto()  # the swing is no steeper than the two modules' own may be
    REPEATED = auto()
    RESTLESS = auto()
    OVERLOADED = auto()
    LIGHT_WEAK = auto()  # so weak that errors are to be expected
    SAME_MINUTE = auto()  # both ends restarted within a minute
    BEFORE_DAWN = auto()
    HAS_ERRORS = auto()
    TOO_SMALL = auto()  # within what the modules themselves may move


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One row of the table."""

    kinds: frozenset[FindingKind]
    needs: frozenset[Fact] = frozenset()
    bars: frozenset[Fact] = frozenset()
    cause: Cause
    confidence: Confidence
    alternatives: tuple[Cause, ...] = ()
    steps: tuple[NextStep, ...] = ()


K, C, S, F = FindingKind, Cause, NextStep, Fact
CERTAIN, LIKELY, CANNOT_TELL = Confidence.CERTAIN, Confidence.LIKELY, Confidence.CANNOT_TELL
DARK: Final = frozenset({K.LINK_DOWN, K.LIGHT_LOST})
COLD_LOSS: Final = frozenset(
    {K.ADDED_LOSS, K.STEP, K.MARGIN_LOW, K.REPEATED_STEPS, K.FREEZING, K.DAILY_SWING}
)
LOSS: Final = frozenset({K.ADDED_LOSS, K.STEP, K.MARGIN_LOW, K.DRIFT, K.REPEATED_STEPS})


def _rule(
    kinds: frozenset[FindingKind] | FindingKind,
    facts: str,
    cause: Cause,
    confidence: Confidence,
    alternatives: tuple[Cause, ...] = (),
    steps: tuple[NextStep, ...] = (),
) -> Rule:
    """A row; `facts` are names, with a minus before those that bar it."""
    words = facts.split()
    return Rule(
        kinds=kinds if isinstance(kinds, frozenset) else frozenset({kinds}),
        needs=frozenset(F[word] for word in words if not word.startswith("-")),
        bars=frozenset(F[word[1:]] for word in words if word.startswith("-")),
        cause=cause,
        confidence=confidence,
        alternatives=alternatives,
        steps=steps,
    )


CLEANING: Final = (S.PUSH_HOME, S.CLEAN_PLUGS_AND_BORE, S.CHANGE_CORD)
ROUTE: Final = (S.WALK_THE_ROUTE, S.LOCATE_FAULT_WITH_VISIBLE_LIGHT)

RULES: Final[tuple[Rule, ...]] = (
    # no light, or no link
    _rule(DARK, "PORT_OFF", C.SWITCHED_OFF_BY_A_PERSON, CERTAIN, (), (S.ENABLE_PORT,)),
    _rule(DARK, "MODULE_GONE", C.MODULE_REMOVED, CERTAIN, (C.SURGE,), (S.PUT_MODULE_BACK,)),
    _rule(
        DARK,
        "MISFIT NEVER_UP",
        C.WRONG_PART,
        LIKELY,
        (C.PAIR_NOT_CROSSED, C.CABLE),
        (S.REPLACE_WRONG_PART,),
    ),
    _rule(
        DARK,
        "NEVER_LIT BOTH_DARK BOTH_ANSWER",
        C.PAIR_NOT_CROSSED,
        LIKELY,
        (C.CABLE, C.WRONG_PART),
        (S.SWAP_PLUGS_AT_ONE_END, S.PUSH_HOME),
    ),
    _rule(DARK, "BOTH_DARK BOTH_ANSWER SENDER_LIT", C.CABLE, CERTAIN, (), ROUTE),
    _rule(
        DARK,
        "RECEIVER_DARK BOTH_ANSWER SENDER_OFF",
        C.TRANSMITTER,
        LIKELY,
        (C.SWITCHED_OFF_BY_A_PERSON,),
        (S.CHANGE_MODULE_THERE, S.ENABLE_PORT),
    ),
    _rule(
        DARK,
        "RECEIVER_DARK BOTH_ANSWER SENDER_LIT",
        C.STRAND,
        CERTAIN,
        (C.CONNECTOR, C.RECEIVER),
        (*CLEANING, S.SWAP_STRANDS),
    ),
    _rule(
        DARK,
        "RECEIVER_DARK FAR_SILENT SUPPLY_IN_NEED",
        C.FAR_END_OFF_OR_RESTARTED,
        LIKELY,
        (C.CABLE, C.MODULE),
        (S.CHECK_FAR_POWER, S.CHECK_BATTERY, *ROUTE),
    ),
    _rule(
        DARK,
        "RECEIVER_DARK FAR_SILENT",
        C.UNKNOWN,
        CANNOT_TELL,
        (C.FAR_END_OFF_OR_RESTARTED, C.CABLE, C.MODULE),
        (S.CHECK_FAR_POWER, *ROUTE),
    ),
    _rule(
        DARK,
        "LIGHT_ARRIVES",
        C.OTHER_STRAND_OR_FAR_RECEIVER,
        LIKELY,
        (C.WRONG_PART, C.RECEIVER),
        (*CLEANING, S.SWAP_STRANDS),
    ),
    _rule(DARK, "", C.UNKNOWN, CANNOT_TELL, (C.CABLE, C.MODULE), (S.CHECK_FAR_POWER, S.PUSH_HOME)),
    # silence
    _rule(K.NO_ANSWER, "BEHIND_LINK", C.BEHIND_A_LINK_THAT_IS_DOWN, CERTAIN, (), ()),
    _rule(
        K.NO_ANSWER,
        "SUPPLY_IN_NEED",
        C.FAR_END_OFF_OR_RESTARTED,
        LIKELY,
        (C.WAY_TO_SWITCH,),
        (S.CHECK_FAR_POWER, S.CHECK_BATTERY, S.CHECK_SWITCH_NETWORK),
    ),
    _rule(
        K.NO_ANSWER,
        "",
        C.UNKNOWN,
        CANNOT_TELL,
        (C.WAY_TO_SWITCH, C.FAR_END_OFF_OR_RESTARTED),
        (S.CHECK_SWITCH_NETWORK, S.CHECK_FAR_POWER),
    ),
    # more loss than when it was good
    _rule(LOSS, "SENT_LESS", C.TRANSMITTER, LIKELY, (C.CONNECTOR,), (S.CHANGE_MODULE_THERE,)),
    _rule(LOSS, "TOO_SMALL", C.UNKNOWN, CANNOT_TELL, (C.MODULE, C.CONNECTOR), (S.WAIT_AND_SEE,)),
    _rule(
        K.DAILY_SWING,
        "SWINGS MODULES_MAY",
        C.UNKNOWN,
        CANNOT_TELL,
        (C.MODULE, C.WEATHER_ON_CONNECTOR),
        (S.WAIT_AND_SEE,),
    ),
    _rule(
        COLD_LOSS,
        "COLD SINGLE_STRAND WORSE_LONGER -MODULES_MAY",
        C.FREEZING_WATER,
        LIKELY,
        (C.BEND_OR_CRUSH, C.WEATHER_ON_CONNECTOR),
        ROUTE,
    ),
    _rule(
        COLD_LOSS,
        "COLD BOTH_WAYS -SINGLE_STRAND -MODULES_MAY",
        C.FREEZING_WATER,
        LIKELY,
        (C.WEATHER_ON_CONNECTOR,),
        ROUTE,
    ),
    _rule(
        COLD_LOSS,
        "COLD SINGLE_STRAND -ALIKE -MODULES_MAY",
        C.WEATHER_ON_CONNECTOR,
        CANNOT_TELL,
        (C.FREEZING_WATER,),
        (S.CLEAN_PLUGS_AND_BORE, *ROUTE),
    ),
    _rule(
        COLD_LOSS,
        "COLD -MODULES_MAY",
        C.WEATHER_ON_CONNECTOR,
        LIKELY,
        (C.FREEZING_WATER,),
        (S.CLEAN_PLUGS_AND_BORE, S.MOVE_TO_SPARE, S.RETERMINATE),
    ),
    _rule(
        COLD_LOSS,
        "SWINGS -MODULES_MAY",
        C.WEATHER_ON_CONNECTOR,
        LIKELY,
        (C.MODULE,),
        (S.PUSH_HOME, S.CLEAN_PLUGS_AND_BORE, S.RETERMINATE),
    ),
    _rule(
        LOSS,
        "SINGLE_STRAND WORSE_LONGER",
        C.BEND_OR_CRUSH,
        LIKELY,
        (C.CABLE,),
        (S.CHECK_BENDS, *ROUTE),
    ),
    _rule(LOSS, "SINGLE_STRAND ALIKE BOTH_WAYS", C.CONNECTOR, LIKELY, (C.HANDLING,), CLEANING),
    _rule(LOSS, "REPEATED ONE_WAY", C.CONNECTOR, LIKELY, (C.STRAND,), (*CLEANING, S.RETERMINATE)),
    _rule(LOSS, "RESTLESS ONE_WAY", C.CONNECTOR, LIKELY, (C.STRAND,), CLEANING),
    _rule(
        LOSS,
        "BOTH_WAYS -SINGLE_STRAND",
        C.CABLE,
        LIKELY,
        (C.HANDLING, C.BEND_OR_CRUSH),
        (S.CHECK_BENDS, S.PUSH_HOME, *ROUTE),
    ),
    _rule(
        LOSS,
        "ONE_WAY -SINGLE_STRAND",
        C.CONNECTOR,
        LIKELY,
        (C.STRAND, C.RECEIVER),
        (*CLEANING, S.SWAP_STRANDS),
    ),
    _rule(LOSS, "", C.UNKNOWN, CANNOT_TELL, (C.CONNECTOR, C.STRAND, C.MODULE), CLEANING),
    # loss that moves
    _rule(K.FLICKER, "", C.CONNECTOR, LIKELY, (C.STRAND, C.MODULE), CLEANING),
    _rule(K.DAMAGE_IN_PROGRESS, "", C.DAMAGE_IN_PROGRESS, LIKELY, (C.HANDLING,), ROUTE),
    # errors
    _rule(K.ERRORS, "OVERLOADED", C.OVERLOAD, LIKELY, (C.MODULE,), (S.ADD_ATTENUATOR,)),
    _rule(K.ERRORS, "LIGHT_WEAK", C.STRAND, LIKELY, (C.CONNECTOR, C.TRANSMITTER), CLEANING),
    _rule(K.ERRORS, "RESTLESS", C.CONNECTOR, LIKELY, (C.MODULE,), CLEANING),
    _rule(
        K.ERRORS,
        "",
        C.DIRTY_OR_REFLECTIVE_CONNECTOR,
        CANNOT_TELL,
        (C.MODULE, C.COPPER_SIDE),
        (S.CLEAN_PLUGS_AND_BORE, S.CHANGE_CORD, S.CHANGE_MODULE_HERE, S.CHECK_COPPER_SIDE),
    ),
    _rule(K.OVERLOAD, "", C.OVERLOAD, CERTAIN, (), (S.ADD_ATTENUATOR,)),
    # modules and switches
    _rule(K.TRANSMIT_LOW, "", C.TRANSMITTER, LIKELY, (C.MODULE,), (S.CHANGE_MODULE_HERE,)),
    _rule(K.LASER_AGEING, "", C.TRANSMITTER, LIKELY, (C.MODULE,), (S.CHANGE_MODULE_HERE,)),
    _rule(K.TEMPERATURE, "", C.UNKNOWN, CANNOT_TELL, (C.MODULE,), (S.CHECK_COOLING,)),
    _rule(K.SUPPLY, "", C.UNKNOWN, CANNOT_TELL, (C.MODULE, C.BATTERY), (S.CHECK_NEAR_POWER,)),
    _rule(K.MODULE_MISSING, "", C.MODULE_REMOVED, CERTAIN, (), (S.PUT_MODULE_BACK,)),
    _rule(K.RESTARTS, "SAME_MINUTE", C.SURGE, LIKELY, (C.BATTERY,), (S.CHECK_SURGE_PROTECTION,)),
    _rule(K.RESTARTS, "BEFORE_DAWN", C.BATTERY, LIKELY, (C.SWITCH_RESTARTED,), (S.CHECK_BATTERY,)),
    _rule(
        K.RESTARTS,
        "SUPPLY_IN_NEED",
        C.BATTERY,
        LIKELY,
        (C.SWITCH_RESTARTED,),
        (S.CHECK_BATTERY, S.CHECK_FAR_POWER),
    ),
    _rule(
        K.RESTARTS,
        "",
        C.SWITCH_RESTARTED,
        CANNOT_TELL,
        (C.BATTERY, C.SWITCHED_OFF_BY_A_PERSON),
        (S.CHECK_FAR_POWER, S.CHECK_BATTERY),
    ),
    _rule(K.FLAPPING, "LIGHT_WEAK", C.STRAND, LIKELY, (C.CONNECTOR, C.TRANSMITTER), CLEANING),
    _rule(K.FLAPPING, "RESTLESS", C.CONNECTOR, LIKELY, (C.MODULE,), CLEANING),
    _rule(
        K.FLAPPING,
        "",
        C.UNKNOWN,
        CANNOT_TELL,
        (C.CONNECTOR, C.SWITCH_RESTARTED, C.MODULE),
        (S.PUSH_HOME, S.CLEAN_PLUGS_AND_BORE, S.CHECK_FAR_POWER),
    ),
    _rule(
        K.PAIR_NOT_CROSSED,
        "",
        C.PAIR_NOT_CROSSED,
        LIKELY,
        (C.CABLE, C.WRONG_PART),
        (S.SWAP_PLUGS_AT_ONE_END,),
    ),
    _rule(K.WRONG_PART, "MISFIT_SURE", C.WRONG_PART, CERTAIN, (), (S.REPLACE_WRONG_PART,)),
    _rule(K.WRONG_PART, "", C.WRONG_PART, LIKELY, (C.MODULE_CHANGED,), (S.REPLACE_WRONG_PART,)),
)
