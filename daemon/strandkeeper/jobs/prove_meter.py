"""Meter readings, anchors and bench references: worked out, or refused with the reason.

Loss of a strand:  {"kind": "loss", "link" or "cable" and "strand", "direction", "source",
                    "source_nm", "meter_nm", "cords": 1, "reference_dbm", "reading_dbm", "note",
                    "by": who measured, "at": TIME, where that is not who enters it, and now}
Power at the receiver's own cord, which anchors its module:
                   {"kind": "power", "link", "direction", "meter_nm", "reading_dbm", "sure", "note",
                    "by", "at"}
Both modules joined by one short cord in one room:
                   {"kind": "bench", "link"}
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import Final, cast

from strandkeeper.errors import InputError
from strandkeeper.jobs.payload import Fields
from strandkeeper.jobs.prove import Known, Ruling, link_of, strand_of
from strandkeeper.model.entry import StoredEntry
from strandkeeper.model.ledger import Cable
from strandkeeper.model.link import Link
from strandkeeper.model.meter_reading import Anchor, Bench, MeterKind, MeterReading
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import EndRow
from strandkeeper.model.times import ms_from_iso
from strandkeeper.optics import pmd
from strandkeeper.optics.meter import (
    Cords,
    MeterVerdict,
    acceptance,
    acceptance_limit,
    check_source,
    insertion_loss,
)
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store.changes import Changes

__all__ = ["measure", "measured_ms"]

_FIELDS: Final = (
    "kind",
    "link",
    "direction",
    "end",
    "cable",
    "strand",
    "source",
    "source_nm",
    "meter_nm",
    "cords",
    "reference_dbm",
    "reading_dbm",
    "sure",
    "note",
    "by",
    "at",
)
_ONE_CORD: Final = Db(0.2)  # IEC TR 61282-14 has the method; sizes from memory, unconfirmed
_MORE_CORDS: Final = Db(0.5)
_ANCHOR_UNCERTAINTY: Final = Db(0.5)
_OFF_AT_MOST: Final = 3.5  # SFF-8472: a module within ±3 dB; half a dB for the meter
_LINK_SECOND_CHANCE: Final = Db(1.0)  # MIL-STD-2042-6B, 6E1: a link of several connectors
_LOOK_BACK_MS: Final = 30 * 60_000
_TOGETHER_MS: Final = 5 * 60_000
_BENCH_MS: Final = 2 * 60_000
_DAY_MS: Final = 86_400_000


def measured_ms(stored: StoredEntry) -> int:
    """When it was measured: as the entry says, else when it was entered. Raises InputError."""
    text = Fields(stored.entry.payload, _FIELDS).text("at")
    at_ms = ms_from_iso(text) if text else stored.at_ms
    if at_ms > stored.at_ms + 60_000:
        raise InputError(f"{text} is still to come", hint="say when it was measured")
    return min(at_ms, stored.at_ms)


def measure(stored: StoredEntry, known: Known) -> Ruling:
    """What a reading is worth. Raises InputError with the reason for wrong practice."""
    fields = Fields(stored.entry.payload, _FIELDS)
    match fields.text("kind", "loss"):
        case "loss":
            return _loss(stored, fields, known)
        case "power":
            return _power(stored, fields, known)
        case "bench":
            return _bench(stored, known)
        case other:
            raise InputError(f"there is no measurement {other!r}", hint="loss, power or bench")


def _loss(stored: StoredEntry, fields: Fields, known: Known) -> Ruling:
    link = link_of(stored, known) if "link" in fields else None
    direction, end = fields.direction(), fields.end()
    strand = strand_of(
        known,
        fields.text("cable"),
        fields.whole("strand"),
        None if link is None else link.name,
        direction,
    )
    cable = next((c for c in known.cables if strand is not None and c.name == strand.cable), None)
    if link is None and strand is None:
        raise InputError("a loss needs the link, or the cable and the strand, that it is of")
    source_nm = fields.needed(fields.number("source_nm", least=1), *_NO_WAVELENGTH)
    meter_nm = fields.number("meter_nm", least=1) or source_nm
    link_nm = _wavelength(link, direction, known) or source_nm
    source = fields.needed(fields.text("source"), "say what the light source is: laser or led")
    check_source(source, source_nm=source_nm, meter_nm=meter_nm, link_nm=link_nm)
    cords = cast("Cords", fields.whole("cords", least=1, most=3) or 1)
    measured = insertion_loss(
        Dbm(fields.needed(fields.number("reference_dbm"), *_NO_REFERENCE)),
        Dbm(fields.needed(fields.number("reading_dbm"), "a reading needs its figure in dBm")),
        cords=cords,
    )
    limit = _limit(link, cable, source_nm, cords)
    judged = acceptance(measured, limit or Db(1000.0), second_chance=_LINK_SECOND_CHANCE)
    if judged.verdict is MeterVerdict.BAD_REFERENCE:
        raise InputError(
            f"a loss of {measured.loss} is a gain: the cable cannot give light",
            hint="clean and inspect the reference cords and take the reference again",
        )
    reading = MeterReading(
        id=stored.id,
        at_ms=measured_ms(stored),
        who=fields.text("by") or stored.entry.who,
        kind=MeterKind.LOSS,
        reading=Dbm(fields.number("reading_dbm") or 0.0),
        wavelength_nm=round(source_nm),
        source=source,
        link=None if link is None else link.name,
        direction=direction,
        end=end,
        cable=None if strand is None else strand.cable,
        strand=None if strand is None else strand.number,
        cords=cords,
        reference=Dbm(fields.number("reference_dbm") or 0.0),
        loss=measured.loss,
        limit=limit,
        verdict=None if limit is None else judged.verdict,
        uncertainty=_ONE_CORD if cords == 1 else _MORE_CORDS,
        note=fields.text("note"),
    )
    return Ruling(changes=Changes(readings=[reading]))


_NO_WAVELENGTH: Final = ("a reading needs the wavelength of the source", "such as 1310")
_NO_REFERENCE: Final = (
    "a loss without a reference is none",
    "measure the source through the reference cords alone first, and do not unplug the launch "
    "cord from the source afterwards",
)


def _wavelength(link: Link | None, direction: Direction | None, known: Known) -> float | None:
    """What the link runs at that way; None where that is not known."""
    facts = None if link is None else known.facts.get(link.name)
    if facts is None:
        return None
    ways = Direction if direction is None else (direction,)
    found = {facts.direction(way).wavelength_nm for way in ways}
    if len(found) > 1 and direction is None:
        raise InputError(
            "the two directions of this link have different wavelengths",
            hint="say which direction was measured",
        )
    return found.pop()


def _limit(link: Link | None, cable: Cable | None, wavelength_nm: float, cords: Cords) -> Db | None:
    """The most it may lose by that method, None where the length is not known."""
    if link is not None and link.length_m is not None:
        return acceptance_limit(
            length_m=link.length_m,
            wavelength_nm=wavelength_nm,
            fibre=link.fibre,
            matings=link.matings,
            splices=link.splices,
            cords=cords,
        ).limit
    if cable is None or cable.length_m is None:
        return None
    return acceptance_limit(
        length_m=cable.length_m, wavelength_nm=wavelength_nm, fibre=cable.fibre, cords=cords
    ).limit


def _power(stored: StoredEntry, fields: Fields, known: Known) -> Ruling:
    link = link_of(stored, known)
    direction = fields.needed(fields.direction(), "say which direction was measured: ab or ba")
    link_nm = _wavelength(link, direction, known)
    meter_nm = fields.needed(
        fields.number("meter_nm", least=1), "say which wavelength the meter is set to"
    )
    if link_nm is not None:
        check_source("the link's own", source_nm=link_nm, meter_nm=meter_nm, link_nm=link_nm)
    power = Dbm(fields.needed(fields.number("reading_dbm"), "a reading needs its figure in dBm"))
    at_ms = measured_ms(stored)
    if stored.at_ms - at_ms > _DAY_MS:
        raise InputError(
            "a power anchors a module as it is now, and this one was measured more than a day ago",
            hint="measure again, and enter it within a day",
        )
    reported = _before_unplugging(known.rows, direction, at_ms)
    correction = power - reported
    if abs(correction.value) > _OFF_AT_MOST and stored.entry.payload.get("sure") is not True:
        raise InputError(
            f"the meter reads {power}, the module reported {reported}: {correction} apart, more "
            "than a module may be off (3 dB)",
            hint=(
                "measure where the receiver's own cord ends, at the link's wavelength, with the "
                "far port on; if it is so all the same, enter it as sure"
            ),
        )
    reading = MeterReading(
        id=stored.id,
        at_ms=measured_ms(stored),
        who=fields.text("by") or stored.entry.who,
        kind=MeterKind.POWER,
        reading=power,
        wavelength_nm=round(meter_nm),
        link=link.name,
        direction=direction,
        end=direction.receiver,
        reported=reported,
        uncertainty=_ANCHOR_UNCERTAINTY,
        note=fields.text("note"),
    )
    anchor = Anchor(
        link=link.name,
        direction=direction,
        at_ms=at_ms,
        correction=correction,
        module_id=_module(known, direction.receiver),
    )
    return Ruling(changes=Changes(readings=[reading], anchors=[anchor]))


def _module(known: Known, end: End) -> str | None:
    return None if known.verdict is None else known.verdict.end(end).module_id


def _before_unplugging(rows: Sequence[EndRow], direction: Direction, at_ms: int) -> Dbm:
    """What the module last reported: its cord is out while the meter is in."""
    lit = [
        (row.time_ms, row.optics.rx.power.value)
        for row in rows
        if row.end is direction.receiver
        and row.optics is not None
        and isinstance(row.optics.rx, Measured)
        and at_ms - _LOOK_BACK_MS <= row.time_ms <= at_ms
    ]
    if not lit:
        raise InputError(
            "the module reported no light in the half hour before, so there is nothing to anchor",
            hint="plug the cord in, wait for a reading, then measure at once",
        )
    return Dbm(median(p for t, p in lit if lit[-1][0] - t <= _TOGETHER_MS))


def _bench(stored: StoredEntry, known: Known) -> Ruling:
    link = link_of(stored, known)
    for end in End:
        _refuse_overload(link, end)
    benches = [
        Bench(
            link=link.name,
            direction=way,
            at_ms=stored.at_ms,
            difference=_difference(known.rows, link.name, way, stored.at_ms),
            module_ids=(_module(known, End.A), _module(known, End.B)),
        )
        for way in Direction
    ]
    return Ruling(changes=Changes(benches=benches))


def _refuse_overload(link: Link, end: End) -> None:
    """Only classes that stand each other's light undimmed may be joined by a short cord."""
    name = link.end(end).pmd
    if name is None:
        raise InputError(
            f"the class of the module at {link.end(end).name} is not known, so neither is whether "
            "a short cord would blind it",
            hint="name it in the configuration (pmd)",
        )
    least = pmd.by_name(name).min_path_loss
    if least > Db(0.0):
        raise InputError(
            f"modules of {name} must lose at least {least} between them: a short cord blinds or "
            "harms the receiver",
            hint="put a fixed attenuator in, or do without a bench reference",
        )


def _difference(rows: Sequence[EndRow], link: LinkName, way: Direction, at_ms: int) -> Db:
    near = [r for r in rows if r.optics is not None and at_ms - _BENCH_MS <= r.time_ms <= at_ms]
    sent = [
        r.optics.tx.power.value
        for r in near
        if r.optics is not None and r.end is way.sender and isinstance(r.optics.tx, Measured)
    ]
    got = [
        r.optics.rx.power.value
        for r in near
        if r.optics is not None and r.end is way.receiver and isinstance(r.optics.rx, Measured)
    ]
    if not sent or not got:
        raise InputError(
            f"no transmit or receive power of {link!r} {way.value} in the last two minutes",
            hint="join the modules by one short cord, wait a minute, then enter it",
        )
    return Db(median(sent) - median(got))
