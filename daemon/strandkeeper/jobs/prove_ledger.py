"""The ledger's entries: cables and strands merged field by field; seeded from the configuration.

    {"cables": [{"name": ..., "strands": 12, "length_m": ..., "fibre": ..., "a": ..., "b": ...,
                 "note": ...}],
     "strands": [{"cable": ..., "number": 3, "label": ..., "use": "in-use" | "spare" | "broken",
                  "link": ..., "direction": "ab" | "ba", "slack_a_m": ..., "slack_b_m": ...,
                  "attempts_a": ..., "attempts_b": ..., "tested": TIME, "tested_loss_db": ...,
                  "note": ...}]}

A field that is left out stays as it was; null empties it. A new cable has all its strands, spare,
in the colours of TIA-598.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from strandkeeper.errors import InputError
from strandkeeper.jobs.payload import Fields
from strandkeeper.jobs.prove import Known, Ruling
from strandkeeper.model.ledger import TIA_598, Cable, Strand, StrandEnd, StrandUse, default_label
from strandkeeper.model.ledger_files import CABLE_FIELDS, STRAND_FIELDS
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.times import ms_from_iso
from strandkeeper.optics.units import Db
from strandkeeper.store.changes import Changes

__all__ = ["merge", "seed"]

_MOST_STRANDS: Final = 9999


def merge(payload: Mapping[str, object], known: Known) -> Ruling:
    """Cables and strands as they will be. Raises InputError."""
    cables = {c.name: c for c in known.cables}
    strands = {(s.cable, s.number): s for s in known.strands}
    changed: dict[str, Cable] = {}
    touched: dict[tuple[str, int], Strand] = {}
    for item in _items(payload, "cables"):
        cable = _cable(item, cables)
        cables[cable.name] = changed[cable.name] = cable
        for number in range(1, cable.strands + 1):
            key = (cable.name, number)
            if key not in strands:
                strands[key] = touched[key] = _spare(cable, number)
        _refuse_fewer(cable, strands)
    for item in _items(payload, "strands"):
        strand = _strand(item, cables, strands, known)
        key = (strand.cable, strand.number)
        strands[key] = touched[key] = strand
    _refuse_two_for_one(strands, touched)
    if not (changed or touched):
        raise InputError("the entry names no cable and no strand")
    return Ruling(changes=Changes(cables=[*changed.values()], strands=[*touched.values()]))


def _items(payload: Mapping[str, object], name: str) -> Sequence[Mapping[str, object]]:
    value = payload.get(name, [])
    if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
        raise InputError(f"{name} must be a list of objects")
    return value


def _spare(cable: Cable, number: int) -> Strand:
    return Strand(cable=cable.name, number=number, label=default_label(number, cable.strands))


def _cable(item: Mapping[str, object], cables: Mapping[str, Cable]) -> Cable:
    fields = Fields(item, CABLE_FIELDS)
    name = fields.needed(fields.text("name"), "a cable needs a name")
    old = cables.get(name)
    count = fields.whole("strands", least=1, most=_MOST_STRANDS)
    if old is None:
        old = Cable(name=name, strands=fields.needed(count, f"cable {name!r} needs its strands"))
    changes: dict[str, Any] = {
        key: fields.text(key) for key in ("fibre", "a", "b", "note") if key in fields
    }
    if "length_m" in item:
        changes["length_m"] = fields.number("length_m", least=0)
    return replace(old, strands=count or old.strands, **changes)


def _refuse_fewer(cable: Cable, strands: Mapping[tuple[str, int], Strand]) -> None:
    beyond = [n for name, n in strands if name == cable.name and n > cable.strands]
    if beyond:
        raise InputError(
            f"cable {cable.name!r} cannot have {cable.strands} strands: the ledger knows strand "
            f"{max(beyond)}",
            hint="mark strands as broken instead of taking them away",
        )


def _strand(
    item: Mapping[str, object],
    cables: Mapping[str, Cable],
    strands: Mapping[tuple[str, int], Strand],
    known: Known,
) -> Strand:
    fields = Fields(item, STRAND_FIELDS)
    cable = fields.needed(fields.text("cable"), "a strand needs its cable")
    if cable not in cables:
        raise InputError(f"there is no cable {cable!r} in the ledger", hint="enter it first")
    number = fields.needed(
        fields.whole("number", least=1, most=_MOST_STRANDS), "a strand needs its number"
    )
    old = strands.get((cable, number))
    if old is None:
        raise InputError(f"cable {cable!r} has {cables[cable].strands} strands, not {number}")
    changes = _serves(item, fields, old, known)
    if "label" in fields:
        changes["label"] = fields.text("label")
    if "note" in fields:
        changes["note"] = fields.text("note")
    if "tested" in item:
        changes["tested_ms"] = ms_from_iso(fields.text("tested")) if "tested" in fields else None
    if "tested_loss_db" in item:
        loss = fields.number("tested_loss_db")
        changes["tested_loss"] = None if loss is None else Db(loss)
    return replace(old, ends=(_end(item, old, "a"), _end(item, old, "b")), **changes)


def _end(item: Mapping[str, object], old: Strand, letter: str) -> StrandEnd:
    fields, end = Fields(item, STRAND_FIELDS), old.ends["ab".index(letter)]
    slack, attempts = f"slack_{letter}_m", f"attempts_{letter}"
    if slack in item:
        end = replace(end, slack_m=fields.number(slack, least=0))
    if attempts in fields:
        end = replace(end, attempts=fields.whole(attempts) or 0)
    return end


def _serves(
    item: Mapping[str, object], fields: Fields, old: Strand, known: Known
) -> dict[str, Any]:
    """Use, link and direction: a strand that carries a link is in use, another carries none."""
    if not {"use", "link", "direction"} & item.keys():
        return {}
    word = fields.text("use", StrandUse.IN_USE if "link" in fields else old.use)
    if word not in {u.value for u in StrandUse}:
        words = ", ".join(u.value for u in StrandUse)
        raise InputError(f"a strand cannot be {word!r}", hint=f"write one of {words}")
    use = StrandUse(word)
    link = fields.text("link") if "link" in item else (old.link or "")
    if use is not StrandUse.IN_USE:
        if fields.text("link"):
            raise InputError(f"strand {old.number} cannot be {word} and carry {link!r}")
        link = ""
    if link and LinkName(link) not in known.links:
        raise InputError(f"there is no link {link!r} in the configuration")
    direction = fields.direction() if "direction" in item else old.direction
    return {
        "use": use,
        "link": LinkName(link) if link else None,
        "direction": direction if link else None,
    }


def _refuse_two_for_one(
    strands: Mapping[tuple[str, int], Strand], touched: Mapping[tuple[str, int], Strand]
) -> None:
    """A strand newly put to a direction must not find another of the same cable there."""
    for key, strand in touched.items():
        for other_key, other in strands.items():
            same = (other.link, other.direction, other.cable)
            if other_key != key and strand.link and same == _carries(strand):
                raise InputError(
                    f"strand {other.number} of {other.cable!r} already carries that direction of "
                    f"{strand.link!r}",
                    hint="make it a spare or broken in the same entry",
                )


def _carries(strand: Strand) -> tuple[LinkName | None, Direction | None, str]:
    return (strand.link, strand.direction, strand.cable)


def seed(links: Sequence[Link], known: Known) -> Changes:
    """A cable for every link of which the ledger knows no strand, as the configuration has it.

    It is named after the link; a strand whose label is a colour of TIA-598 gets that number. It has
    as many strands as must be there for it; the owner says how many there are.
    """
    served = {s.link for s in known.strands}
    taken = {c.name for c in known.cables}
    cables, strands = [], []
    for link in links:
        if link.name in served or link.name in taken:
            continue
        mine = _configured(link)
        count = max(s.number for s in mine)
        cable = Cable(
            name=link.name,
            strands=count,
            length_m=link.length_m,
            fibre=link.fibre,
            a=link.a.name,
            b=link.b.name,
            note="as the configuration has it",
        )
        cables.append(cable)
        used = {s.number: s for s in mine}
        strands += [used.get(n, _spare(cable, n)) for n in range(1, count + 1)]
    return Changes(cables=cables, strands=strands)


def _configured(link: Link) -> list[Strand]:
    """The strands that carry a link, numbered by their colours where those are colours."""
    wanted: list[tuple[str, Direction | None]] = (
        [(link.strand_ab or link.strand_ba, None)]
        if link.strands == 1
        else [(link.strand_ab, Direction.AB), (link.strand_ba, Direction.BA)]
    )
    numbers = [TIA_598.index(label) + 1 if label in TIA_598 else 0 for label, _ in wanted]
    if 0 in numbers or len(set(numbers)) < len(numbers):
        numbers = list(range(1, len(wanted) + 1))
    return [
        Strand(
            cable=link.name,
            number=number,
            label=label or default_label(number, 12),
            use=StrandUse.IN_USE,
            link=link.name,
            direction=direction,
        )
        for number, (label, direction) in zip(numbers, wanted, strict=True)
    ]
