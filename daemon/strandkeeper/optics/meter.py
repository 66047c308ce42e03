"""Insertion loss with light source and meter: 1, 2 or 3 cords at the reference, and acceptance."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal

from strandkeeper.errors import InputError
from strandkeeper.optics.budget import CableFigures, LossBudget, loss_budget
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "Acceptance",
    "Cords",
    "InsertionLoss",
    "MeterVerdict",
    "acceptance",
    "acceptance_limit",
    "check_source",
    "insertion_loss",
]

Cords = Literal[1, 2, 3]

# common practice, no source: a hand meter shows 'Lo' or noise below this
METER_FLOOR: Final = Dbm(-70.0)
_GAIN_ALLOWED: Final = Db(0.1)  # last digit of both readings: common practice, no source

_INCLUDES: Final = {
    1: "the cable and the connections at both its ends",
    2: "the cable and the connection at one of its ends",
    3: "the cable alone, without the connections at its ends",
}


class MeterVerdict(StrEnum):
    """What a measured loss means for the work."""

    ACCEPT = "accept"
    CLEAN_AND_RETEST = "clean-and-retest"
    REJECT = "reject"
    BAD_REFERENCE = "bad-reference"


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertionLoss:
    """A measured loss; `includes` says in words what it is the loss of. Never mix cord counts."""

    loss: Db
    cords: Cords
    includes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """A measured loss against its limit; `excess` is positive above the limit."""

    measured: InsertionLoss
    limit: Db
    excess: Db
    second_chance: Db
    verdict: MeterVerdict


def check_source(kind: str, *, source_nm: float, meter_nm: float, link_nm: float) -> None:
    """Refuse a light source that a loss cannot be measured with.

    Parameters
    ----------
    kind : str [-]
        What the person calls the source, such as 'laser', 'led', 'vfl'.
    source_nm : float [nm, > 0]
        What the source sends.
    meter_nm : float [nm, > 0]
        What the meter is set to.
    link_nm : float [nm, > 0]
        What the link runs at.

    Returns
    -------
    None [-]
        When the source will do.

    Raises
    ------
    InputError
        For a visual fault locator, for a meter set to another wavelength, or for a wavelength that
        tells nothing about the link's; the message says why.

    Notes
    -----
    A meter is right only at its calibrated wavelengths: its detector hardly answers at 650 nm
    (an error of the order of 10 dB), where single-mode fibre is multimode and loses several dB/km.
    Within 40 nm counts as the same wavelength.

    Source
    ------
    Purpose of a visual fault locator: test-set manuals; sizes: from memory, unconfirmed. 40 nm:
    common practice, no source.

    Example
    -------
    >>> check_source("laser", source_nm=1310, meter_nm=1310, link_nm=1310)
    """
    for what, value in (("source", source_nm), ("meter", meter_nm), ("link", link_nm)):
        if not value > 0:
            raise InputError(f"the {what}'s wavelength is {value} nm", hint="such as 1310")
    if "vfl" in kind.lower() or "fault" in kind.lower() or 600 <= source_nm <= 700:
        raise InputError(
            "a visual fault locator (red light, about 650 nm) cannot measure loss",
            hint=(
                "the meter is not calibrated for red, the fibre guides it differently and loses far"
                " more of it, and nobody knows how much was coupled in. It finds breaks and bends;"
                f" for loss use a stabilised source of {link_nm:g} nm. Do not look into it"
            ),
        )
    if abs(source_nm - meter_nm) > 40:
        raise InputError(
            f"the source sends {source_nm:g} nm but the meter is set to {meter_nm:g} nm",
            hint=f"set the meter to {source_nm:g} nm and take the reference again",
        )
    if abs(source_nm - link_nm) > 40:
        raise InputError(
            f"the source sends {source_nm:g} nm but the link runs at {link_nm:g} nm",
            hint=(
                f"a loss at {source_nm:g} nm is not the loss at {link_nm:g} nm: bends cost more at"
                " longer wavelengths. Measure at the link's own, or give its limit for the other"
            ),
        )


def insertion_loss(reference: Dbm, reading: Dbm, *, cords: Cords = 1) -> InsertionLoss:
    """Loss by comparison with a reference taken through 1, 2 or 3 cords.

    Parameters
    ----------
    reference : Dbm [dBm, >= -70]
        Meter's reading with the reference cords alone.
    reading : Dbm [dBm, >= -70]
        Meter's reading with the cable in between.
    cords : Literal[1, 2, 3] [-]
        Cords in the path at the reference.

    Returns
    -------
    InsertionLoss [dB, positive is loss]
        A negative one means a bad reference; see `acceptance`.

    Raises
    ------
    InputError
        When a figure is below what a meter shows, or the count of cords is not 1, 2 or 3.

    Notes
    -----
    Uncertainty about ±0.2 dB (one cord, single-mode, good cords) to ±0.5 dB and more (from memory,
    unconfirmed). The count of cords belongs to the result and must be written down with it.

    Source
    ------
    IEC 61280-4-2 (single-mode), IEC 61280-4-1 (multimode); TIA-526-7 and TIA-526-14.

    Example
    -------
    >>> print(insertion_loss(Dbm(-10.0), Dbm(-11.3)).loss)
    1.30 dB
    """
    if cords not in _INCLUDES:
        raise InputError(f"a reference through {cords} cords is none", hint="1, 2 or 3")
    for name, value in (("reference", reference), ("reading", reading)):
        if value < METER_FLOOR:
            raise InputError(
                f"the {name} of {value} is below what a meter can show (about -70 dBm)",
                hint="that is no light: check the source, the strand and the cords",
            )
    return InsertionLoss(loss=reference - reading, cords=cords, includes=_INCLUDES[cords])


def acceptance_limit(
    *,
    length_m: float,
    wavelength_nm: float,
    fibre: str = "G.652.D",
    matings: int = 2,
    splices: int = 0,
    cords: Cords = 1,
    figures: CableFigures | None = None,
) -> LossBudget:
    """The most a cable may lose when measured by that method.

    Parameters
    ----------
    length_m : float [m, >= 0]
        Length of the fibre.
    wavelength_nm : float [nm, > 0]
        Of the source.
    fibre : str [-]
        A name that `fibre.fibre_name` accepts.
    matings : int [-, >= 0]
        Mated pairs as installed, those at both ends counted.
    splices : int [-, >= 0]
        Splices.
    cords : Literal[1, 2, 3] [-]
        2 cords hide one end's connection, 3 cords both: those are not counted.
    figures : CableFigures | None [dB/km, dB]
        What outranks the tables.

    Returns
    -------
    LossBudget [dB, positive is loss]
        Its `limit` is the acceptance limit.

    Raises
    ------
    InputError
        When a figure is negative, or fewer matings are given than the method hides.

    Source
    ------
    ANSI/TIA-568.3-D: limit = length × dB/km + connections × 0.75 + splices × 0.3; MIL-STD-2042
    method 6E1 has the same form.

    Example
    -------
    >>> print(acceptance_limit(length_m=800, wavelength_nm=1310).limit)
    1.82 dB
    """
    hidden = cords - 1
    if matings < hidden:
        raise InputError(
            f"{matings} mated pairs are fewer than the {hidden} which {cords} reference cords hide",
            hint="count the connections at both ends of the cable as well",
        )
    return loss_budget(
        length_m=length_m,
        wavelength_nm=wavelength_nm,
        fibre=fibre,
        matings=matings - hidden,
        splices=splices,
        figures=figures,
    )


def acceptance(measured: InsertionLoss, limit: Db, *, second_chance: Db = Db(0.5)) -> Acceptance:
    """Judge a measured loss: accept, clean and measure again, reject, or distrust the reference.

    Parameters
    ----------
    measured : InsertionLoss [dB]
        What was measured.
    limit : Db [dB, >= 0]
        The most allowed; see `acceptance_limit`.
    second_chance : Db [dB, >= 0]
        Less than this above the limit, cleaning may mend it: 0.5 for a cable between two
        connectors, 1.0 for a link of several.

    Returns
    -------
    Acceptance [dB]
        With the verdict.

    Raises
    ------
    InputError
        When limit or second chance is negative.

    Notes
    -----
    More light than at the reference (beyond the last digit, 0.1 dB) cannot be: the reference cord
    was dirty or bad.

    Source
    ------
    MIL-STD-2042-6B, method 6E1: at or below: accept; less than 0.5 dB above (cable assembly; link:
    1.0 dB): clean all connections, retest, then re-terminate; more: reject; above the reference
    power: replace or clean the reference cord.

    Example
    -------
    >>> acceptance(insertion_loss(Dbm(-10), Dbm(-12)), Db(1.82)).verdict
    <MeterVerdict.CLEAN_AND_RETEST: 'clean-and-retest'>
    """
    for name, value in (("limit", limit), ("second chance", second_chance)):
        if not value.value >= 0:
            raise InputError(f"the {name} is {value}", hint="give a figure of 0 dB or more")
    excess = measured.loss - limit
    return Acceptance(
        measured=measured,
        limit=limit,
        excess=excess,
        second_chance=second_chance,
        verdict=_verdict(measured.loss, excess, second_chance),
    )


def _verdict(loss: Db, excess: Db, second_chance: Db) -> MeterVerdict:
    hundredths = round(excess.value, 2)  # a meter shows no more
    if loss < -_GAIN_ALLOWED:
        return MeterVerdict.BAD_REFERENCE
    if hundredths <= 0:
        return MeterVerdict.ACCEPT
    if hundredths < second_chance.value:
        return MeterVerdict.CLEAN_AND_RETEST
    return MeterVerdict.REJECT
