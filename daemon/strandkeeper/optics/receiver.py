"""The limits of a receiver by its class, with the sentence that says where they come from."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.errors import InputError
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.source import Tag, worst
from strandkeeper.optics.units import Db, Dbm, Milliwatt

__all__ = ["PmdLimits", "average_from_oma", "oma_from_average", "receiver_limits"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PmdLimits:
    """Weakest and strongest average light [dBm]; None: the class does not say.

    `source` is a sentence for people. `overload_needs_errors`: the strongest transmitter of the
    class only just reaches overload, so that a reading beyond it means nothing without errors.
    """

    sensitivity: Dbm | None
    overload: Dbm | None
    source: str
    overload_needs_errors: bool
    tag: Tag


def average_from_oma(oma: Dbm, *, extinction_ratio: Db) -> Dbm:
    """Average power of a signal of that optical modulation amplitude.

    Parameters
    ----------
    oma : Dbm [dBm OMA]
        Optical modulation amplitude.
    extinction_ratio : Db [dB, > 0]
        Power of a one over power of a zero.

    Returns
    -------
    Dbm [dBm average]
        Falls towards OMA - 3.01 dB as the extinction ratio grows.

    Raises
    ------
    InputError
        When the extinction ratio is not above 0 dB.

    Notes
    -----
    The lower the extinction ratio, the more average power the same OMA needs.

    Source
    ------
    P_avg = (OMA/2)·(ER+1)/(ER-1), ER linear: Fibre Channel FC-PI, as quoted in a mainframe link
    specification.

    Example
    -------
    >>> print(average_from_oma(Dbm(-12.6), extinction_ratio=Db(3.5)))
    -11.44 dBm
    """
    return oma + _oma_offset(extinction_ratio)


def oma_from_average(average: Dbm, *, extinction_ratio: Db) -> Dbm:
    """Optical modulation amplitude of a signal of that average power.

    Parameters
    ----------
    average : Dbm [dBm average]
        Average power.
    extinction_ratio : Db [dB, > 0]
        Power of a one over power of a zero.

    Returns
    -------
    Dbm [dBm OMA]
        The inverse of `average_from_oma`.

    Raises
    ------
    InputError
        When the extinction ratio is not above 0 dB.

    Source
    ------
    P_avg = (OMA/2)·(ER+1)/(ER-1), solved for OMA; Fibre Channel FC-PI.

    Example
    -------
    >>> print(oma_from_average(Dbm(-17), extinction_ratio=Db(9)))
    -15.09 dBm
    """
    return average - _oma_offset(extinction_ratio)


def _oma_offset(extinction_ratio: Db) -> Db:
    """What to add to a power in dBm OMA to have the average."""
    if not extinction_ratio.value > 0:
        raise InputError(
            f"an extinction ratio of {extinction_ratio} is none",
            hint="give the power of a one over that of a zero in dB, above 0; 3.5 to 12 is usual",
        )
    zero_over_one = 10 ** (-extinction_ratio.value / 10)
    average = Milliwatt(0.5 * (1 + zero_over_one) / (1 - zero_over_one))
    return average.to_dbm() - Dbm(0.0)


def receiver_limits(spec: PmdSpec, *, extinction_ratio: Db | None = None) -> PmdLimits:
    """Weakest and strongest average power a receiver of that class can use.

    Parameters
    ----------
    spec : PmdSpec [dBm, dB]
        The class.
    extinction_ratio : Db | None [dB, > 0]
        Of the light it gets, where known; used only by classes whose sensitivity is stated in
        OMA. None: the class's lowest, which asks for the most light.

    Returns
    -------
    PmdLimits [dBm average]
        None where the class states no limit that an average power can be compared with.

    Raises
    ------
    InputError
        When the extinction ratio is not above 0 dB.

    Notes
    -----
    Figures are worst case at end of life; the module's own data sheet outranks them. The 'average
    receive power (min)' of clause 52 is informative and is never used here as sensitivity.

    Source
    ------
    The clause in the class's row; OMA to average as in `average_from_oma`.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> print(receiver_limits(by_name("100BASE-LX10")).sensitivity)
    -25.00 dBm
    """
    sensitivity, how, tag = _average_sensitivity(spec, extinction_ratio)
    tags = [tag] if spec.overload is None else [tag, spec.tag_of("overload")]
    overall = worst(*tags)
    remark = "" if overall is Tag.STANDARD else f" ({overall})"
    return PmdLimits(
        sensitivity=sensitivity,
        overload=spec.overload,
        source=f"{spec.name}, {spec.where}{remark}{how}",
        overload_needs_errors=_reaches_overload(spec),
        tag=overall,
    )


def _average_sensitivity(spec: PmdSpec, extinction_ratio: Db | None) -> tuple[Dbm | None, str, Tag]:
    if spec.sensitivity is not None:
        return spec.sensitivity, "", spec.tag_of("sensitivity")
    if spec.sensitivity_oma is None:
        only = "it states sensitivity only as stressed OMA, which no average reading compares with"
        why = only if spec.stressed is not None else "it states no sensitivity"
        return None, f"; {why}: take the module's data sheet", Tag.STANDARD
    ratio = extinction_ratio or spec.extinction_ratio_min
    if ratio is None:
        return None, "; its sensitivity is stated in OMA only", Tag.STANDARD
    average = average_from_oma(spec.sensitivity_oma, extinction_ratio=ratio)
    given = "given" if extinction_ratio else "the class's lowest"
    how = (
        f"; stated as {_shown(spec.sensitivity_oma)} OMA, taken as {_shown(average)}"
        f" average at an extinction ratio of {ratio.value:.1f} dB ({given})"
    )
    own = Tag.STANDARD if extinction_ratio else spec.tag_of("extinction_ratio_min")
    return average, how, worst(own, spec.tag_of("sensitivity_oma"))


def _shown(power: Dbm) -> str:
    return f"{power.value:.1f} dBm".replace("-", "−")


def _reaches_overload(spec: PmdSpec) -> bool:
    """Launch max of the class does not pass overload: no attenuator is ever due."""
    if spec.launch_max is None or spec.overload is None:
        return False
    return spec.launch_max <= spec.overload
