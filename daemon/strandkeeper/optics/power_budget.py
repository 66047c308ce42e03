"""The power budget: does the light that one class sends fit what the other can use."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.errors import InputError
from strandkeeper.optics.budget import LossBudget
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.receiver import PmdLimits, receiver_limits
from strandkeeper.optics.source import Tag, worst
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "BudgetVerdict",
    "PowerBudget",
    "Receiver",
    "Sender",
    "power_budget",
    "receiver_of",
    "sender_of",
]


class BudgetVerdict(StrEnum):
    """What the planner should know; several may hold at once."""

    FITS = "fits"
    RESERVE_SHORT = "reserve-short"
    TOO_WEAK = "too-weak"
    NEEDS_ATTENUATOR = "needs-attenuator"
    MIN_LOSS = "min-loss-stated"
    UNKNOWN_WEAK = "unknown-weak-side"
    UNKNOWN_STRONG = "unknown-strong-side"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """Average power a transmitter launches [dBm]; None: not known. `source`: for people."""

    launch_min: Dbm | None
    launch_max: Dbm | None
    wavelength_nm: float | None
    source: str
    tag: Tag = Tag.STANDARD


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver:
    """Average power a receiver can use [dBm]; None: not known. `source`: for people."""

    sensitivity: Dbm | None
    overload: Dbm | None
    source: str
    tag: Tag = Tag.STANDARD


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerBudget:
    """One direction. Every figure None where a figure that it needs is not known.

    `weakest` and `strongest` are the receive powers to expect: weakest transmitter through the
    limit loss, strongest through the least loss (fibre and attenuators alone, connectors perfect).
    `margin` is the worst case, `margin_expected` the weakest transmitter through the expected
    loss; `headroom` the worst case at the strong end. `attenuator` is the least that is missing in
    the path, 0 for none.
    """

    sender: Sender
    receiver: Receiver
    loss: LossBudget
    least_loss: Db
    penalties: Db
    reserve: Db
    power_budget: Db | None
    weakest: Dbm | None
    strongest: Dbm | None
    margin: Db | None
    margin_expected: Db | None
    headroom: Db | None
    attenuator: Db | None
    verdicts: tuple[BudgetVerdict, ...]
    tag: Tag

    def says_the_same_as(self, other: PowerBudget) -> bool:
        """Whether both have the same figures for a reader, so that one table serves for both."""
        return (self.weakest, self.strongest, self.margin, self.headroom, self.loss) == (
            other.weakest,
            other.strongest,
            other.margin,
            other.headroom,
            other.loss,
        )


def sender_of(spec: PmdSpec) -> Sender:
    """The transmitter of a class.

    Parameters
    ----------
    spec : PmdSpec [dBm, nm]
        The class.

    Returns
    -------
    Sender [dBm, nm]
        With its clause as source.

    Source
    ------
    The class's own row.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> print(sender_of(by_name("1000BASE-LX10")).launch_min)
    -9.00 dBm
    """
    tag = worst(spec.tag_of("launch_min"), spec.tag_of("launch_max"))
    return Sender(
        launch_min=spec.launch_min,
        launch_max=spec.launch_max,
        wavelength_nm=spec.wavelength_nm,
        source=f"{spec.name}, {spec.where}",
        tag=tag,
    )


def receiver_of(spec: PmdSpec, *, extinction_ratio: Db | None = None) -> Receiver:
    """The receiver of a class.

    Parameters
    ----------
    spec : PmdSpec [dBm]
        The class.
    extinction_ratio : Db | None [dB, > 0]
        See `receiver.receiver_limits`.

    Returns
    -------
    Receiver [dBm average]
        With its clause as source.

    Raises
    ------
    InputError
        When the extinction ratio is not above 0 dB.

    Source
    ------
    The class's own row.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> print(receiver_of(by_name("1000BASE-LX10")).sensitivity)
    -19.50 dBm
    """
    limits: PmdLimits = receiver_limits(spec, extinction_ratio=extinction_ratio)
    return Receiver(
        sensitivity=limits.sensitivity,
        overload=limits.overload,
        source=limits.source,
        tag=limits.tag,
    )


def power_budget(
    sender: Sender,
    receiver: Receiver,
    loss: LossBudget,
    *,
    penalties: Db = Db(0.0),
    reserve: Db = Db(3.0),
    min_path_loss: Db = Db(0.0),
) -> PowerBudget:
    """Margin and headroom of one direction at both ends of the launch range.

    Parameters
    ----------
    sender, receiver : Sender, Receiver [dBm average]
        Of the two ends.
    loss : LossBudget [dB]
        Of the strand between them.
    penalties : Db [dB, >= 0]
        Dispersion and the like, taken off the margin; 0 where the class's sensitivity allows for
        them or the link is short.
    reserve : Db [dB, >= 0]
        What should be left over for ageing and repairs.
    min_path_loss : Db [dB, >= 0]
        What the class states the path must lose at least, 0 if it states nothing.

    Returns
    -------
    PowerBudget [dB, dBm]
        With its verdicts.

    Raises
    ------
    InputError
        When penalties, reserve or minimum loss are negative, or a weakest light is stronger than
        its strongest.

    Notes
    -----
    Power budget = launch min - sensitivity; margin = power budget - limit loss - penalties;
    headroom = overload - (launch max - least loss). An attenuator is sought with perfect
    connectors, because the link has to work on its best day as well.

    Source
    ------
    Arithmetic of every link budget: Keiser, Optical Communications Essentials (2004), table 16.2.
    Reserve 3 dB: common practice, no source.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> from strandkeeper.optics.budget import loss_budget
    >>> spec = by_name("1000BASE-LX10")
    >>> plan = power_budget(sender_of(spec), receiver_of(spec),
    ...                     loss_budget(length_m=900, wavelength_nm=1310))
    >>> print(plan.margin)
    8.64 dB
    """
    _check(penalties=penalties, reserve=reserve, minimum_path_loss=min_path_loss)
    _in_order("transmitter's weakest and strongest light", sender.launch_min, sender.launch_max)
    _in_order(
        "receiver's weakest and strongest usable light", receiver.sensitivity, receiver.overload
    )
    least = _least_loss(loss)
    weakest = _less(sender.launch_min, loss.limit)
    strongest = _less(sender.launch_max, least)
    margin = _spare(weakest, receiver.sensitivity, penalties)
    headroom = None if strongest is None else _over(receiver.overload, strongest)
    attenuator = _attenuator(headroom, least, min_path_loss)
    return PowerBudget(
        sender=sender,
        receiver=receiver,
        loss=loss,
        least_loss=least,
        penalties=penalties,
        reserve=reserve,
        power_budget=_spare(sender.launch_min, receiver.sensitivity, Db(0.0)),
        weakest=weakest,
        strongest=strongest,
        margin=margin,
        margin_expected=_spare(
            _less(sender.launch_min, loss.expected), receiver.sensitivity, penalties
        ),
        headroom=headroom,
        attenuator=attenuator,
        verdicts=_verdicts(margin, headroom, attenuator, reserve),
        tag=worst(sender.tag, receiver.tag, loss.tag),
    )


def _least_loss(loss: LossBudget) -> Db:
    """Fibre as expected and what was put in on purpose; perfect connectors lose nothing."""
    return Db(math.fsum(line.expected.value for line in loss.lines if line.always))


def _less(power: Dbm | None, loss: Db) -> Dbm | None:
    return None if power is None else power - loss


def _spare(power: Dbm | None, sensitivity: Dbm | None, penalties: Db) -> Db | None:
    if power is None or sensitivity is None:
        return None
    return power - sensitivity - penalties


def _over(overload: Dbm | None, strongest: Dbm) -> Db | None:
    return None if overload is None else overload - strongest


def _attenuator(headroom: Db | None, least: Db, min_path_loss: Db) -> Db | None:
    """The larger of what overload and what the class's own minimum loss ask for."""
    by_class = min_path_loss - least
    if headroom is None:
        return max(by_class, Db(0.0)) if min_path_loss.value else None
    return max(-headroom, by_class, Db(0.0))


def _verdicts(
    margin: Db | None, headroom: Db | None, attenuator: Db | None, reserve: Db
) -> tuple[BudgetVerdict, ...]:
    found: list[BudgetVerdict] = []
    if margin is None:
        found.append(BudgetVerdict.UNKNOWN_WEAK)
    elif _tenths(margin) < 0:
        found.append(BudgetVerdict.TOO_WEAK)
    elif _tenths(margin) < _tenths(reserve):
        found.append(BudgetVerdict.RESERVE_SHORT)
    if attenuator is not None and _tenths(attenuator) > 0:
        strong = headroom is None or _tenths(headroom) >= 0
        found.append(BudgetVerdict.MIN_LOSS if strong else BudgetVerdict.NEEDS_ATTENUATOR)
    elif headroom is None:
        found.append(BudgetVerdict.UNKNOWN_STRONG)
    return tuple(found) or (BudgetVerdict.FITS,)


def _tenths(value: Db) -> float:
    """Compared as shown, in tenths: a float's last digit must not turn a verdict."""
    return round(value.value, 1) + 0.0


def _in_order(what: str, low: Dbm | None, high: Dbm | None) -> None:
    if low is not None and high is not None and low > high:
        raise InputError(
            f"the {what} are {low} and {high}, which is the wrong way round",
            hint="dBm below zero: -20 is weaker than -3; are two figures swapped?",
        )


def _check(**figures: Db) -> None:
    for name, value in figures.items():
        if not (math.isfinite(value.value) and value.value >= 0):
            raise InputError(
                f"the {name.replace('_', ' ')} is {value}", hint="give a figure of 0 dB or more"
            )
