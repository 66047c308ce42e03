"""What is known of a link apart from its readings: limits, plan, wavelength, and their origin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.link import (
    DirectionFacts,
    LimitOrigin,
    Link,
    LinkFacts,
    Misfit,
    PlannedLoss,
    PortEnd,
    ReceiverLimits,
)
from strandkeeper.model.names import Direction, End
from strandkeeper.model.settings import Settings
from strandkeeper.optics import pmd
from strandkeeper.optics.budget import loss_budget
from strandkeeper.optics.pmd import PmdSpec
from strandkeeper.optics.recognise import Sureness
from strandkeeper.optics.units import Dbm
from strandkeeper.optics.wrong_parts import Part, WrongPartKind, part_from_pmd, wrong_parts

__all__ = ["link_facts", "receiver_limits_of"]


MAY_WORK: Final = (WrongPartKind.UNLIKE_WAVELENGTHS, WrongPartKind.SINGLE_MODE_ON_MULTIMODE)


def link_facts(
    link: Link, settings: Settings, mau_types: Mapping[End, int | None] | None = None
) -> LinkFacts:
    """Everything the analysis may know of a link; `mau_types` is what the switches said so far."""
    recognised = {end: _recognised(arc) for end, arc in (mau_types or {}).items()}
    return LinkFacts(
        name=link.name,
        ab=_direction_facts(link, Direction.AB, recognised),
        ba=_direction_facts(link, Direction.BA, recognised),
        strands=link.strands,
        near=link.near,
        managed=(link.a.switch is not None, link.b.switch is not None),
        thresholds=settings.thresholds,
        misfits=_misfits(link, recognised),
    )


def _misfits(link: Link, recognised: Mapping[End, PmdSpec | None]) -> tuple[Misfit, ...]:
    """What does not fit together, by the owner's word and by what the switches call the modules."""
    parts = [_part(link.end(end), recognised.get(end)) for end in End]
    try:
        found = wrong_parts(*parts, fibre=link.fibre, strands=link.strands)
    except InputError:  # a fibre that is not known is refused where the configuration is read
        found = ()
    said = [
        Misfit(sentence=f.sentence, certain=f.sure is Sureness.CERTAIN and f.kind not in MAY_WORK)
        for f in found
    ]
    for end in End:
        said += _unlike_its_name(link.end(end), recognised.get(end))
    return tuple(said)


def _part(end: PortEnd, recognised: PmdSpec | None) -> Part | None:
    spec, origin = _spec(end, recognised)
    if spec is None:
        return None
    part = part_from_pmd(end.name, spec)
    sure = Sureness.CERTAIN if origin is LimitOrigin.PMD_NAMED else Sureness.LIKELY
    wavelength_nm = end.wavelength_nm or part.wavelength_nm
    return replace(part, sure=sure, wavelength_nm=wavelength_nm)


def _unlike_its_name(end: PortEnd, recognised: PmdSpec | None) -> list[Misfit]:
    """A module that its switch calls of another speed or for another fibre than the owner does."""
    if end.pmd is None or recognised is None:
        return []
    named = pmd.by_name(end.pmd)
    if (named.medium, named.line_rate_bd) == (recognised.medium, recognised.line_rate_bd):
        return []
    text = f"{end.name}: described as {named.name}, but the switch calls it {recognised.name}"
    return [Misfit(sentence=text)]


def receiver_limits_of(end: PortEnd, recognised: PmdSpec | None = None) -> ReceiverLimits:
    """Sensitivity and overload of one end's receiver: first found wins (design, section 3)."""
    spec, origin = _spec(end, recognised)
    by_class = None if spec is None else pmd.receiver_limits(spec)
    if end.sensitivity is not None or end.overload is not None:
        return ReceiverLimits(
            sensitivity=end.sensitivity or (by_class.sensitivity if by_class else None),
            overload=end.overload or (by_class.overload if by_class else None),
            origin=LimitOrigin.OWNER,
            source=_owner_source(end.sensitivity, end.overload, by_class),
            overload_needs_errors=by_class is not None
            and end.overload is None
            and by_class.overload_needs_errors,
        )
    if by_class is None:
        return ReceiverLimits()
    told = "" if origin is LimitOrigin.PMD_NAMED else ", as the switch names the module"
    return ReceiverLimits(
        sensitivity=by_class.sensitivity,
        overload=by_class.overload,
        origin=origin,
        source=by_class.source + told,
        overload_needs_errors=by_class.overload_needs_errors,
    )


def _owner_source(
    sensitivity: Dbm | None, overload: Dbm | None, by_class: pmd.PmdLimits | None
) -> str:
    if by_class is None or (sensitivity is not None and overload is not None):
        return "your figure from the data sheet"
    mine, other = ("sensitivity", "overload") if overload is None else ("overload", "sensitivity")
    return f"{mine}: your figure from the data sheet; {other}: {by_class.source}"


def _direction_facts(
    link: Link, direction: Direction, recognised: Mapping[End, PmdSpec | None]
) -> DirectionFacts:
    sender, receiver = link.end(direction.sender), link.end(direction.receiver)
    sending, _ = _spec(sender, recognised.get(direction.sender))
    receiving, _ = _spec(receiver, recognised.get(direction.receiver))
    wavelength_nm = sender.wavelength_nm or (sending.wavelength_nm if sending else None)
    return DirectionFacts(
        limits=receiver_limits_of(receiver, recognised.get(direction.receiver)),
        planned=_planned(link, wavelength_nm),
        wavelength_nm=wavelength_nm,
        ber_objective=receiving.ber_objective if receiving else 1e-12,
        line_rate_bd=receiving.line_rate_bd if receiving else None,
    )


def _spec(end: PortEnd, recognised: PmdSpec | None) -> tuple[PmdSpec | None, LimitOrigin]:
    if end.pmd is not None:
        return pmd.by_name(end.pmd), LimitOrigin.PMD_NAMED
    origin = LimitOrigin.UNKNOWN if recognised is None else LimitOrigin.PMD_RECOGNISED
    return recognised, origin


def _recognised(mau_type: int | None) -> PmdSpec | None:
    return None if mau_type is None else pmd.by_mau_type(mau_type)


def _planned(link: Link, wavelength_nm: int | None) -> PlannedLoss | None:
    if link.length_m is None or wavelength_nm is None:
        return None
    try:
        budget = loss_budget(
            length_m=link.length_m,
            wavelength_nm=wavelength_nm,
            fibre=link.fibre,
            matings=link.matings,
            splices=link.splices,
            extra=link.extra,
            extra_note=link.extra_note,
        )
    except InputError:  # light that this fibre is not made for has no plan; the watch goes on
        return None
    return PlannedLoss(expected=budget.expected, limit=budget.limit, source=budget.source)
