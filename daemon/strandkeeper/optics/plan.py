"""A link by the book: both directions' budgets from its owner's words, and plan against fact."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.optics.budget import CableFigures, LossBudget, loss_budget
from strandkeeper.optics.fibre import carries, fibre_name
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.power_budget import (
    PowerBudget,
    Receiver,
    Sender,
    power_budget,
    receiver_of,
    sender_of,
)
from strandkeeper.optics.reach import reach_sentence
from strandkeeper.optics.source import Tag
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.optics.wrong_parts import Part, WrongPart, part_from_pmd, wrong_parts

__all__ = [
    "CablePlan",
    "Comparison",
    "ComparisonVerdict",
    "EndPlan",
    "LinkPlan",
    "compare",
    "plan_direction",
    "plan_for",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndPlan:
    """One end as its owner describes it. Figures given outrank the class's [dBm, nm].

    `part` is what the module's own data say, where they were read.
    """

    name: str
    pmd: str | None = None
    launch_min: Dbm | None = None
    launch_max: Dbm | None = None
    sensitivity: Dbm | None = None
    overload: Dbm | None = None
    wavelength_nm: float | None = None
    part: Part | None = None

    @property
    def spec(self) -> PmdSpec | None:
        """The class named. Raises InputError for a name that is none."""
        return None if self.pmd is None else by_name(self.pmd)


@dataclass(frozen=True, slots=True, kw_only=True)
class CablePlan:
    """The cable as its owner describes it [m, dB]. `length_m` None: not known."""

    length_m: float | None
    fibre: str = "G.652.D"
    matings: int = 2
    splices: int = 0
    extra: Db = Db(0.0)
    extra_note: str = ""
    strands: int | None = None
    figures: CableFigures | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkPlan:
    """Both directions by the book, and what does not fit together.

    A direction is None where its wavelength or the cable's length is not known; `missing` says so.
    `beyond` are sentences on a cable longer than a class reaches.
    """

    a: EndPlan
    b: EndPlan
    ab: PowerBudget | None
    ba: PowerBudget | None
    missing: tuple[str, ...]
    wrong: tuple[WrongPart, ...]
    beyond: tuple[str, ...] = ()


class ComparisonVerdict(StrEnum):
    """A measured loss beside the planned one."""

    AS_PLANNED = "as-planned"
    ABOVE_EXPECTED = "above-expected"
    ABOVE_LIMIT = "above-limit"
    TOO_GOOD = "too-good"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Measured loss against the plan [dB]; `accuracy` is how far the measured one may be off."""

    measured: Db
    expected: Db
    limit: Db
    accuracy: Db
    verdict: ComparisonVerdict


def plan_for(a: EndPlan, b: EndPlan, cable: CablePlan, *, reserve: Db = Db(3.0)) -> LinkPlan:
    """Both directions of a link by the book.

    Parameters
    ----------
    a, b : EndPlan [dBm, nm]
        The two ends.
    cable : CablePlan [m, dB]
        What lies between them.
    reserve : Db [dB, >= 0]
        What should be left over.

    Returns
    -------
    LinkPlan [dB, dBm]
        With what is missing for a direction that cannot be planned.

    Raises
    ------
    InputError
        When a class or fibre is not known, or a figure is negative.

    Source
    ------
    `budget.loss_budget`, `power_budget.power_budget`, `wrong_parts.wrong_parts`.

    Example
    -------
    >>> lab, pump = EndPlan(name="Lab", pmd="1000BASE-LX10"), EndPlan(name="Pump house")
    >>> plan = plan_for(lab, pump, CablePlan(length_m=900))
    >>> print(plan.ab.loss.limit, plan.ab.margin)
    1.86 dB None
    """
    ab, missing_ab = plan_direction(a, b, cable, reserve=reserve)
    ba, missing_ba = plan_direction(b, a, cable, reserve=reserve)
    wrong = wrong_parts(_part(a), _part(b), fibre=cable.fibre, strands=cable.strands)
    missing = tuple(dict.fromkeys(m for m in (missing_ab, missing_ba) if m))
    beyond = _beyond((a, b), cable)
    return LinkPlan(a=a, b=b, ab=ab, ba=ba, missing=missing, wrong=wrong, beyond=beyond)


def _part(end: EndPlan) -> Part | None:
    if end.part is not None or end.spec is None:
        return end.part
    return part_from_pmd(end.name, end.spec)


def _beyond(ends: tuple[EndPlan, EndPlan], cable: CablePlan) -> tuple[str, ...]:
    if cable.length_m is None:
        return ()
    specs = [end.spec for end in ends]
    told = [reach_sentence(s, cable.fibre, cable.length_m) for s in specs if s is not None]
    return tuple(dict.fromkeys(sentence for sentence in told if sentence))


def plan_direction(
    sender: EndPlan, receiver: EndPlan, cable: CablePlan, *, reserve: Db = Db(3.0)
) -> tuple[PowerBudget | None, str]:
    """One direction by the book.

    Parameters
    ----------
    sender, receiver : EndPlan [dBm, nm]
        The two ends of the direction.
    cable : CablePlan [m, dB]
        What lies between them.
    reserve : Db [dB, >= 0]
        What should be left over.

    Returns
    -------
    tuple[PowerBudget | None, str] [dB, dBm]
        None and a sentence when the wavelength or the length is not known.

    Raises
    ------
    InputError
        When a class or fibre is not known, or a figure is negative.

    Source
    ------
    As `plan_for`. An end without a wavelength of its own is taken to send what its class does.

    Example
    -------
    >>> plan_direction(EndPlan(name="A"), EndPlan(name="B"), CablePlan(length_m=None))[1]
    "the cable's length is not known"
    """
    if cable.length_m is None:
        return None, "the cable's length is not known"
    transmitter = _sender(sender)
    if transmitter.wavelength_nm is None:
        return None, f"{sender.name}: neither module type nor wavelength is known"
    fibre = fibre_name(cable.fibre)
    if not carries(fibre, transmitter.wavelength_nm):
        light = f"the {transmitter.wavelength_nm:g} nm light of {sender.name}"
        return None, f"{light} is not for {fibre} fibre: nothing is known of its loss"
    loss = loss_budget(
        length_m=cable.length_m,
        wavelength_nm=transmitter.wavelength_nm,
        fibre=fibre,
        matings=cable.matings,
        splices=cable.splices,
        extra=cable.extra,
        extra_note=cable.extra_note,
        figures=cable.figures,
    )
    least = _min_path_loss(sender, receiver)
    return (
        power_budget(transmitter, _receiver(receiver), loss, reserve=reserve, min_path_loss=least),
        "",
    )


def _sender(end: EndPlan) -> Sender:
    by_class = (
        sender_of(end.spec)
        if end.spec
        else Sender(launch_min=None, launch_max=None, wavelength_nm=None, source="not known")
    )
    own = end.launch_min is not None or end.launch_max is not None
    whole = end.launch_min is not None and end.launch_max is not None
    return Sender(
        launch_min=end.launch_min if end.launch_min is not None else by_class.launch_min,
        launch_max=end.launch_max if end.launch_max is not None else by_class.launch_max,
        wavelength_nm=end.wavelength_nm or by_class.wavelength_nm,
        source="the figures given" if whole else _source(own, by_class.source),
        tag=Tag.STANDARD if whole else by_class.tag,
    )


def _receiver(end: EndPlan) -> Receiver:
    by_class = (
        receiver_of(end.spec)
        if end.spec
        else Receiver(sensitivity=None, overload=None, source="not known")
    )
    own = end.sensitivity is not None or end.overload is not None
    whole = end.sensitivity is not None and end.overload is not None
    return Receiver(
        sensitivity=end.sensitivity if end.sensitivity is not None else by_class.sensitivity,
        overload=end.overload if end.overload is not None else by_class.overload,
        source="the figures given" if whole else _source(own, by_class.source),
        tag=Tag.STANDARD if whole else by_class.tag,
    )


def _source(own: object, by_class: str) -> str:
    return f"the figures given, the rest from {by_class}" if own else by_class


def _min_path_loss(sender: EndPlan, receiver: EndPlan) -> Db:
    """The class states it for two ends of its own kind only; figures given speak for themselves."""
    spec, other = sender.spec, receiver.spec
    if spec is None or other is None or other.name not in (spec.name, spec.partner):
        return Db(0.0)
    return Db(0.0) if receiver.overload or sender.launch_max else spec.min_path_loss


def compare(measured: Db, loss: LossBudget, *, accuracy: Db) -> Comparison:
    """A measured loss beside the planned one, allowing for how exact the measurement is.

    Parameters
    ----------
    measured : Db [dB]
        Far transmit power - near receive power, or by meter.
    loss : LossBudget [dB]
        The plan.
    accuracy : Db [dB, >= 0]
        How far `measured` may be from the truth: 6 for two modules' own readings, 0.5 after a
        bench baseline or by meter.

    Returns
    -------
    Comparison [dB]
        ABOVE_LIMIT only when the limit is passed by more than the accuracy.

    Source
    ------
    SFF-8472 Rev 12.2, section 9.2: ±3 dB each of the two readings. Comparison: own design, no
    source.

    Example
    -------
    >>> plan = loss_budget(length_m=900, wavelength_nm=1310)
    >>> compare(Db(2.4), plan, accuracy=Db(0.5)).verdict
    <ComparisonVerdict.ABOVE_LIMIT: 'above-limit'>
    """
    verdict = ComparisonVerdict.AS_PLANNED
    if measured - accuracy > loss.limit:
        verdict = ComparisonVerdict.ABOVE_LIMIT
    elif measured - accuracy > loss.expected:
        verdict = ComparisonVerdict.ABOVE_EXPECTED
    elif (measured + accuracy).value < 0:
        verdict = ComparisonVerdict.TOO_GOOD
    return Comparison(
        measured=measured,
        expected=loss.expected,
        limit=loss.limit,
        accuracy=accuracy,
        verdict=verdict,
    )
