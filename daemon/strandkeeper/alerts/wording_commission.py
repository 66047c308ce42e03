"""The checklist of a new link in words."""

from __future__ import annotations

from typing import Final

from strandkeeper.alerts.wording_figures import counted, db
from strandkeeper.alerts.wording_rework import handwork_sentence, outcome_word
from strandkeeper.model.commissioning import ListItem, ListKind
from strandkeeper.model.link import Link
from strandkeeper.model.rework import Handwork, Outcome

__all__ = ["advice_sentence", "item_sentence"]


def item_sentence(link: Link, item: ListItem) -> str:
    """One line: what, where, with its figures, and how it stands."""
    return f"{_what(link, item)}: {outcome_word(item.outcome)}"


def _what(link: Link, item: ListItem) -> str:
    end = "" if item.end is None else link.end(item.end).name
    way = "" if item.direction is None else link.direction_name(item.direction)
    got, limit = item.got or 0.0, item.limit or 0.0
    known = item.got is not None
    match item.kind:
        case ListKind.ANSWERS:
            return f"the switch at {end} answers"
        case ListKind.MODULE:
            return f"the module at {end} is seen"
        case ListKind.LIGHT:
            return f"{way}: light arrives"
        case ListKind.CROSSED:
            return "the pair is crossed"
        case ListKind.UP:
            return "the link is up"
        case ListKind.OVERLOAD:
            text = f"{db(got)} to spare before too strong" if known else "not too strong"
        case ListKind.MARGIN:
            text = f"{db(got)} to spare, keep at least {db(limit)}" if known else "enough to spare"
        case ListKind.LOSS:
            planned = f"loses {db(got)}, planned at most {db(limit)}"
            text = planned if known else "loss within the plan"
        case ListKind.ERRORS:
            text = f"{counted(got, 'damaged frame')} in a day" if known else "no damaged frames"
    return f"{way}: {text}"


_ADVICE: Final[dict[ListKind, str]] = {
    ListKind.ANSWERS: "Look at the switch's power, its address and the credential: "
    "`strandkeeper check` says more.",
    ListKind.MODULE: "Push the module in until it clicks; is it one that reports its light?",
    ListKind.LIGHT: "Is the far port on, is the plug home, is it the right strand?",
    ListKind.UP: "Do both ends have the same speed, and is auto-negotiation alike?",
    ListKind.OVERLOAD: "Put a fixed attenuator in at the receiver.",
    ListKind.MARGIN: "Clean the plugs, look for tight bends, then measure with a meter.",
    ListKind.LOSS: "Clean first; then look for the connector or bend that loses it. The modules' "
    "own figures may be 3 dB off each: a bench reference or a meter decides.",
    ListKind.ERRORS: "Clean plugs and bores; then try another module.",
}


def advice_sentence(item: ListItem) -> str:
    """What to do about a line that is not passed; empty where there is nothing to do."""
    if item.outcome is not Outcome.FAILED:
        return ""
    if item.kind is ListKind.CROSSED:
        return handwork_sentence(Handwork.NOT_CROSSED)
    return _ADVICE[item.kind]
