"""The verdicts of a budget in sentences a person can act on."""

from __future__ import annotations

import math

from strandkeeper.optics.plan import Comparison, ComparisonVerdict
from strandkeeper.optics.power_budget import BudgetVerdict, PowerBudget
from strandkeeper.optics.source import Tag
from strandkeeper.optics.units import Db

__all__ = ["comparison_sentence", "sureness_sentence", "verdict_sentences"]


def verdict_sentences(budget: PowerBudget) -> tuple[str, ...]:
    """What one direction's budget means, a sentence for each verdict.

    Parameters
    ----------
    budget : PowerBudget [dB, dBm]
        One direction.

    Returns
    -------
    tuple[str, ...] [-]
        In the order of the verdicts.

    Notes
    -----
    Attenuators are named in whole dB, rounded up, as they are sold.

    Source
    ------
    Own design, no source. The attenuator belongs at the receiver: a switch maker's hardware guide.

    Example
    -------
    >>> from strandkeeper.optics.plan import CablePlan, EndPlan, plan_for
    >>> er = EndPlan(name="A", pmd="10GBASE-ER")
    >>> plan = plan_for(er, er, CablePlan(length_m=100))
    >>> verdict_sentences(plan.ab)[0].split(":")[0]
    'needs an attenuator of at least 5 dB at the receiver'
    """
    return tuple(_sentence(verdict, budget) for verdict in budget.verdicts)


def _sentence(verdict: BudgetVerdict, budget: PowerBudget) -> str:
    match verdict:
        case BudgetVerdict.FITS:
            return f"fits: in the worst case {_db(budget.margin)} to spare before too weak"
        case BudgetVerdict.RESERVE_SHORT:
            return (
                f"works, but in the worst case only {_db(budget.margin)} are to spare where"
                f" {_db(budget.reserve)} should be kept: nothing is left for ageing and repairs"
            )
        case BudgetVerdict.TOO_WEAK:
            return f"does not fit: in the worst case {_missing(budget)} of light are missing"
        case BudgetVerdict.NEEDS_ATTENUATOR:
            return (
                f"needs an attenuator of at least {_whole(budget.attenuator)} dB at the receiver:"
                f" the strongest transmitter would overload it{_with_attenuator(budget)}"
            )
        case BudgetVerdict.MIN_LOSS:
            return (
                f"put an attenuator of at least {_whole(budget.attenuator)} dB at the receiver:"
                " this class of module asks for more loss than this cable has"
                f"{_with_attenuator(budget)}"
            )
        case BudgetVerdict.UNKNOWN_WEAK:
            return (
                "whether there is enough light cannot be told: weakest transmitter or weakest"
                " usable light is not known. Take both from the modules' data sheets"
            )
        case BudgetVerdict.UNKNOWN_STRONG:
            return (
                "whether there is too much light cannot be told: strongest transmitter or strongest"
                " usable light is not known. Take both from the modules' data sheets"
            )


def _with_attenuator(budget: PowerBudget) -> str:
    """An attenuator takes from the weak end as well; say what is left there."""
    if budget.margin is None or budget.attenuator is None:
        return ""
    left = budget.margin - Db(float(_whole(budget.attenuator)))
    if left.value < 0:
        return ". With it the weakest transmitter would be too weak: this class does not suit"
    return f". With it {_db(left)} are still to spare at the weak end"


def _whole(value: Db | None) -> int:
    return 0 if value is None else math.ceil(round(value.value, 1))


def _missing(budget: PowerBudget) -> str:
    return _db(None if budget.margin is None else -budget.margin)


def _db(value: Db | None) -> str:
    return "an unknown number of dB" if value is None else f"{value.value:.1f} dB"


def sureness_sentence(budget: PowerBudget) -> str:
    """How sure the figures are that the verdict rests on; empty when they are all in print.

    Parameters
    ----------
    budget : PowerBudget [-]
        One direction.

    Returns
    -------
    str [-]
        Names each group of figures that is not from a standard or in print.

    Source
    ------
    The rows' own tags.

    Example
    -------
    >>> from strandkeeper.optics.plan import CablePlan, EndPlan, plan_for
    >>> lx = EndPlan(name="A", pmd="100BASE-LX10")
    >>> sureness_sentence(plan_for(lx, lx, CablePlan(length_m=100, fibre="G.657.A1")).ab)
    ''
    """
    groups = (
        ("what the transmitter sends", budget.sender.tag),
        ("what the receiver needs", budget.receiver.tag),
        ("what the cable may lose", budget.loss.tag),
    )
    doubtful: dict[Tag, list[str]] = {}
    for what, tag in groups:
        if tag.doubtful:
            doubtful.setdefault(tag, []).append(what)
    return "; ".join(f"{', '.join(what)} ({tag})" for tag, what in doubtful.items())


def comparison_sentence(comparison: Comparison) -> str:
    """A measured loss beside the planned one, in words.

    Parameters
    ----------
    comparison : Comparison [dB]
        From `plan.compare`.

    Returns
    -------
    str [-]
        One sentence.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> from strandkeeper.optics.budget import loss_budget
    >>> from strandkeeper.optics.plan import compare
    >>> plan = loss_budget(length_m=900, wavelength_nm=1310)
    >>> comparison_sentence(compare(Db(1.2), plan, accuracy=Db(0.5)))
    'Measured 1.2 dB (±0.5): as planned'
    """
    match comparison.verdict:
        case ComparisonVerdict.AS_PLANNED:
            said = "as planned" + _as_far_as(comparison)
        case ComparisonVerdict.ABOVE_EXPECTED:
            said = "more than expected, within the limit" + _as_far_as(comparison)
        case ComparisonVerdict.ABOVE_LIMIT:
            excess = comparison.measured - comparison.limit
            said = f"{excess.value:.1f} dB above the limit: clean the connectors and look again"
        case ComparisonVerdict.TOO_GOOD:
            said = "less than nothing: one of the two readings is wrong"
    return f"Measured {_signed(comparison.measured)} dB (±{comparison.accuracy.value:g}): {said}"


def _as_far_as(comparison: Comparison) -> str:
    """Two modules' own readings prove little; saying 'as planned' of them alone would mislead."""
    if comparison.accuracy < Db(3.0):
        return ""
    return ", as far as the modules' own readings can tell"


def _signed(value: Db) -> str:
    return f"{round(value.value, 1) + 0.0:.1f}".replace("-", "−")
