"""The forms of a meter reading: what may be measured, and what a person typed of it. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.entry import StoredEntry
from strandkeeper.model.ledger import Strand
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper_dashboard import form_fields

__all__ = ["LOSS", "POWER", "SOURCES", "Target", "payload_of", "targets", "typed_before"]

SOURCES: Final = (
    ("laser", "stabilised laser source"),
    ("led", "LED source"),
    ("visual fault locator", "visual fault locator (red light)"),
)
LOSS: Final = {
    "of": "",
    "source": "laser",
    "source_nm": "1310",
    "meter_nm": "",
    "cords": "1",
    "reference": "",
    "reading": "",
    "end": "",
    "at": "",
    "by": "",
    "note": "",
}
POWER: Final = {"of": "", "meter_nm": "", "reading": "", "at": "", "by": "", "note": "", "sure": ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Something that can be measured: one direction of a link, or a strand of the ledger."""

    id: str
    words: str
    fields: Mapping[str, object]


def targets(links: Sequence[Link], strands: Sequence[Strand]) -> tuple[Target, ...]:
    """Every direction first, then every strand that carries none of them."""
    ways = [
        Target(
            id=f"way-{number}-{way}",
            words=f"{link.name}: {link.direction_name(way)}",
            fields={"link": str(link.name), "direction": way.value},
        )
        for number, link in enumerate(links)
        for way in Direction
    ]
    names = {link.name for link in links}
    spare = [
        Target(
            id=f"strand-{number}",
            words=f"{s.cable}: strand {s.number} {s.label} ({s.use.value})",
            fields={"cable": s.cable, "strand": s.number},
        )
        for number, s in enumerate(strands)
        if s.link not in names
    ]
    return (*ways, *spare)


def payload_of(
    kind: str, typed: Mapping[str, str], known: Sequence[Target], now_ms: int
) -> dict[str, object]:
    """The entry that asks for it. Raises InputError; what makes no sense the program refuses."""
    target = next((t for t in known if t.id == typed["of"]), None)
    if target is None:
        raise InputError("nothing is chosen", hint="say what was measured")
    asked: dict[str, object] = {
        "kind": kind,
        **target.fields,
        "meter_nm": form_fields.figure(typed["meter_nm"], "the meter's wavelength", "nm"),
        "reading_dbm": form_fields.figure(typed["reading"], "the reading", "dBm"),
        "at": form_fields.moment(typed["at"], "the time", now_ms),
        "by": typed["by"],
        "note": typed["note"],
    }
    if kind == "loss":
        asked |= {
            "source": typed["source"],
            "source_nm": form_fields.figure(typed["source_nm"], "the source's wavelength", "nm"),
            "cords": form_fields.whole(typed["cords"], "the count of cords", least=1, most=3),
            "reference_dbm": form_fields.figure(typed["reference"], "the reference", "dBm"),
            "end": typed["end"],
        }
    elif typed["sure"]:
        asked["sure"] = True
    return {name: value for name, value in asked.items() if value not in (None, "")}


def typed_before(
    stored: StoredEntry, known: Sequence[Target], empty: Mapping[str, str]
) -> dict[str, str]:
    """A refused reading back in its form, so that nobody types it twice; its time is not kept."""
    payload = stored.entry.payload
    target = next(
        (t for t in known if all(payload.get(name) == v for name, v in t.fields.items())), None
    )
    names = {"reference": "reference_dbm", "reading": "reading_dbm"}
    found = {}
    for name, usual in empty.items():
        value = payload.get(names.get(name, name))
        if name == "of":
            found[name] = "" if target is None else target.id
        elif isinstance(value, float):
            found[name] = f"{value:g}"
        else:
            found[name] = usual if value is None or name in ("at", "sure") else str(value)
    return found
