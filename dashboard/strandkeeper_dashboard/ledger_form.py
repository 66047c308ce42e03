"""The ledger's forms: what a strand or a cable is like now, and what a person changes of it. Pure.

Only what differs from the ledger is asked for, so that two people do not undo each other's entries.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.ledger import Cable, Strand, StrandUse
from strandkeeper.model.ledger_files import cable_to_json, strand_to_json
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper_dashboard import form_fields

__all__ = [
    "Use",
    "cable_change",
    "cable_fields",
    "move",
    "strand_change",
    "strand_fields",
    "uses",
]

_STRAND_TEXTS: Final = ("label", "note")
_CABLE_TEXTS: Final = ("fibre", "a", "b", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What a strand may be for: one line of a choice."""

    id: str
    words: str
    use: StrandUse
    link: Link | None = None
    direction: Direction | None = None


def uses(links: Sequence[Link]) -> tuple[Use, ...]:
    """Spare, broken, in use for something else, or one direction of a link that is watched."""
    plain = (
        Use(id="spare", words="spare", use=StrandUse.SPARE),
        Use(id="broken", words="broken: do not use", use=StrandUse.BROKEN),
        Use(id="in-use", words="in use for something that is not watched", use=StrandUse.IN_USE),
    )
    return plain + tuple(_carrying(links))


def _carrying(links: Sequence[Link]) -> list[Use]:
    found = []
    for number, link in enumerate(links):
        ways: Sequence[Direction | None] = tuple(Direction) if link.strands != 1 else (None,)
        for way in ways:
            name = "both ways" if way is None else link.direction_name(way)
            found.append(
                Use(
                    id=f"{number}-{way or 'both'}",
                    words=f"{link.name}: {name}",
                    use=StrandUse.IN_USE,
                    link=link,
                    direction=way,
                )
            )
    return found


def use_of(strand: Strand, choices: Sequence[Use]) -> Use:
    """What the ledger says it is for; a link that is no longer configured is 'something else'."""
    mine = (c for c in choices if c.link is not None and c.link.name == strand.link)
    for choice in mine:
        if choice.direction is strand.direction:
            return choice
    return next(c for c in choices if c.id == strand.use.value)


def strand_fields(strand: Strand, choices: Sequence[Use], *, feet: bool) -> dict[str, str]:
    """A filled-in form."""
    a, b = strand.ends
    loss = "" if strand.tested_loss is None else f"{strand.tested_loss.value:g}"
    return {
        "label": strand.label,
        "use": use_of(strand, choices).id,
        "slack_a": form_fields.length_text(a.slack_m, feet=feet),
        "slack_b": form_fields.length_text(b.slack_m, feet=feet),
        "attempts_a": str(a.attempts),
        "attempts_b": str(b.attempts),
        "tested": form_fields.day_text(strand.tested_ms),
        "tested_loss": loss,
        "note": strand.note,
    }


def strand_change(
    strand: Strand, fields: Mapping[str, str], choices: Sequence[Use], *, now_ms: int, feet: bool
) -> dict[str, object]:
    """What to ask for; empty if nothing differs. Raises InputError."""
    before = strand_fields(strand, choices, feet=feet)
    typed = {**before, **fields}
    asked: dict[str, object] = {}
    if typed["use"] != before["use"]:
        asked |= _serving(_choice(typed["use"], choices))
    for letter, name in (("a", "here"), ("b", "there")):
        slack, attempts = f"slack_{letter}", f"attempts_{letter}"
        if typed[slack] != before[slack]:
            asked[f"{slack}_m"] = form_fields.length(typed[slack], f"slack {name}", feet=feet)
        asked[attempts] = form_fields.whole(typed[attempts], "plugs made", most=9999) or 0
    if typed["tested"] != before["tested"]:
        asked["tested"] = form_fields.moment(typed["tested"], "the day it was tried", now_ms)
    if typed["tested_loss"] != before["tested_loss"]:
        loss = form_fields.figure(typed["tested_loss"], "the loss then", "dB")
        asked["tested_loss_db"] = loss
    asked |= {name: typed[name] for name in _STRAND_TEXTS}
    return _differing(asked, strand_to_json(strand), {"cable": strand.cable}, strand.number)


def _choice(text: str, choices: Sequence[Use]) -> Use:
    for choice in choices:
        if choice.id == text:
            return choice
    raise InputError(f"a strand cannot be {text!r}", hint="choose one of the list")


def _serving(choice: Use) -> dict[str, object]:
    link = None if choice.link is None else str(choice.link.name)
    way = None if choice.direction is None else choice.direction.value
    return {"use": choice.use.value, "link": link, "direction": way}


def _differing(
    asked: Mapping[str, object], now: Mapping[str, object], key: dict[str, object], number: int
) -> dict[str, object]:
    changed = {name: value for name, value in asked.items() if now.get(name) != value}
    if changed.keys() & {"use", "link", "direction"}:  # they are decided on together
        changed |= {n: asked[n] for n in ("use", "link", "direction") if n in asked}
    return {**key, "number": number, **changed} if changed else {}


def move(strand: Strand, to: Strand, *, broken: bool) -> list[dict[str, object]]:
    """What a strand carries goes to another one; it is itself a spare or broken from then on."""
    left = StrandUse.BROKEN if broken else StrandUse.SPARE
    way = None if strand.direction is None else strand.direction.value
    return [
        {"cable": strand.cable, "number": strand.number, "use": left.value, "link": None},
        {
            "cable": to.cable,
            "number": to.number,
            "use": StrandUse.IN_USE.value,
            "link": strand.link,
            "direction": way,
        },
    ]


def cable_fields(cable: Cable | None, *, feet: bool) -> dict[str, str]:
    """A filled-in form, or an empty one."""
    if cable is None:
        return {
            **dict.fromkeys(("name", "length", "a", "b", "note"), ""),
            "strands": "12",
            "fibre": "G.652.D",
        }
    return {
        "name": cable.name,
        "strands": str(cable.strands),
        "length": form_fields.length_text(cable.length_m, feet=feet),
        "fibre": cable.fibre,
        "a": cable.a,
        "b": cable.b,
        "note": cable.note,
    }


def cable_change(
    cable: Cable | None, fields: Mapping[str, str], *, feet: bool
) -> dict[str, object]:
    """What to ask for; empty if nothing differs. Raises InputError."""
    before = cable_fields(cable, feet=feet)
    typed = {**before, **fields}
    if cable is not None:
        typed["name"] = cable.name
    if not typed["name"]:
        raise InputError("a cable needs a name", hint="such as 'shore cable'")
    asked: dict[str, object] = {name: typed[name] for name in _CABLE_TEXTS}
    asked["strands"] = form_fields.whole(typed["strands"], "the number of strands", least=1)
    if cable is None or typed["length"] != before["length"]:
        asked["length_m"] = form_fields.length(typed["length"], "the length", feet=feet)
    now = {} if cable is None else cable_to_json(cable)
    changed = {name: value for name, value in asked.items() if now.get(name) != value}
    return {"name": typed["name"], **changed} if changed else {}
