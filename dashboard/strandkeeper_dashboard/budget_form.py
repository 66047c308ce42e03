"""What a person asks of the budget page, read out of its address, and the plan of it. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.link import Link
from strandkeeper.optics.budget import LossLine
from strandkeeper.optics.budget_words import (
    comparison_sentence,
    sureness_sentence,
    verdict_sentences,
)
from strandkeeper.optics.length import length_m
from strandkeeper.optics.plan import CablePlan, EndPlan, LinkPlan, compare, plan_for
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.power_budget import BudgetVerdict, PowerBudget
from strandkeeper.optics.units import Db, Dbm
from strandkeeper_dashboard import figures

__all__ = ["DEFAULTS", "FITTING", "BudgetSheet", "Way", "fields_of_link", "sheets", "usual_fields"]

DEFAULTS: Final = {
    "length": "900m",
    "fibre": "G.652.D",
    "matings": "4",
    "splices": "0",
    "extra": "0",
    "pmd": "1000BASE-LX10",
    "far_pmd": "",
    "reserve": "3",
    "measured": "",
    "accuracy": "6",
}
FITTING: Final = frozenset({BudgetVerdict.FITS, BudgetVerdict.MIN_LOSS})
_MOST: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One direction, or both where they are alike: the verdict, the rows, the light.

    `expected` and `limit` are figures in dB without their unit, as the rows of the table are.
    """

    title: str
    fits: bool
    verdict: str
    also: tuple[str, ...]
    rows: tuple[LossLine, ...]
    expected: str
    limit: str
    light: tuple[tuple[str, str], ...]
    care: str
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetSheet:
    """The whole answer: what is wrong first, then the ways."""

    wrong: tuple[str, ...]
    missing: tuple[str, ...]
    ways: tuple[Way, ...] = field(default_factory=tuple)


def usual_fields(*, feet: bool) -> dict[str, str]:
    """The fields of an empty form, the length in the owner's unit."""
    return {**DEFAULTS, **({"length": "3000ft"} if feet else {})}


def fields_of_link(link: Link, *, feet: bool) -> dict[str, str]:
    """The fields as a configured link has them, the length in the owner's unit."""
    return {
        **DEFAULTS,
        "length": "" if link.length_m is None else _length(link.length_m, feet=feet),
        "fibre": link.fibre,
        "matings": str(link.matings),
        "splices": str(link.splices),
        "extra": f"{link.extra.value:g}",
        "pmd": link.a.pmd or "",
        "far_pmd": link.b.pmd or "",
    }


def _length(metres: float, *, feet: bool) -> str:
    return f"{metres / 0.3048:.6g}ft" if feet else f"{metres:g}m"


def sheets(fields: Mapping[str, str], names: tuple[str, str]) -> BudgetSheet:
    """The plan of the fields. Raises InputError for what cannot be read or cannot be."""
    plan = _plan(fields, names)
    reach = tuple(f"{text}, beyond what its type is made for" for text in plan.beyond)
    return BudgetSheet(
        wrong=(*(f"{one.sentence}" for one in plan.wrong), *reach),
        missing=plan.missing,
        ways=tuple(_ways(plan, fields)),
    )


def _plan(fields: Mapping[str, str], names: tuple[str, str]) -> LinkPlan:
    length = fields["length"].strip()
    cable = CablePlan(
        length_m=length_m(length) if length else None,
        fibre=fields["fibre"],
        matings=_count(fields, "matings", "mated pairs"),
        splices=_count(fields, "splices", "splices"),
        extra=Db(_number(fields, "extra", "what is lost elsewhere")),
    )
    near = fields["pmd"].strip() or None
    far = fields["far_pmd"].strip() or (near and by_name(near).partner)
    return plan_for(
        EndPlan(name=names[0], pmd=near),
        EndPlan(name=names[1], pmd=far),
        cable,
        reserve=Db(_number(fields, "reserve", "what to keep")),
    )


def _count(fields: Mapping[str, str], name: str, what: str) -> int:
    text = fields[name].strip()
    if not (text.isascii() and text.isdigit() and int(text) <= _MOST):
        raise InputError(
            f"the number of {what} is {text!r}", hint=f"give a whole number from 0 to {_MOST}"
        )
    return int(text)


def _number(fields: Mapping[str, str], name: str, what: str) -> float:
    text = fields[name].strip().replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not 0 <= value <= _MOST:
        raise InputError(f"{what} is {text!r}", hint=f"give dB as a number from 0 to {_MOST}")
    return value


def _ways(plan: LinkPlan, fields: Mapping[str, str]) -> list[Way]:
    if plan.ab and plan.ba and plan.ab.says_the_same_as(plan.ba):
        return [_way("Both ways alike", plan.ab, fields)]
    each = ((plan.ab, plan.a, plan.b), (plan.ba, plan.b, plan.a))
    return [
        _way(f"{sender.name} → {receiver.name}", budget, fields)
        for budget, sender, receiver in each
        if budget is not None
    ]


def _way(title: str, budget: PowerBudget, fields: Mapping[str, str]) -> Way:
    verdict, *also = verdict_sentences(budget)
    sender, receiver = budget.sender, budget.receiver
    return Way(
        title=title,
        fits=FITTING.issuperset(budget.verdicts),
        verdict=figures.sentence(verdict),
        also=tuple(figures.sentence(one) for one in also),
        rows=tuple(line for line in budget.loss.lines if line.count),
        expected=figures.number(budget.loss.expected.value),
        limit=figures.number(budget.loss.limit.value),
        light=(
            ("The transmitter sends", _range(sender.launch_min, sender.launch_max)),
            ("So the receiver gets", _range(budget.weakest, budget.strongest)),
            ("The receiver can use", _range(receiver.sensitivity, receiver.overload)),
            ("To spare before too weak, at worst", figures.db(budget.margin)),
            ("To spare before too strong, at worst", figures.db(budget.headroom)),
        ),
        care=sureness_sentence(budget),
        measured=_measured(budget, fields),
    )


def _measured(budget: PowerBudget, fields: Mapping[str, str]) -> str:
    if not fields["measured"].strip():
        return ""
    got = Db(_number(fields, "measured", "the measured loss"))
    accuracy = Db(_number(fields, "accuracy", "how far the measurement may be off"))
    return figures.sentence(comparison_sentence(compare(got, budget.loss, accuracy=accuracy)))


def _range(low: Dbm | None, high: Dbm | None) -> str:
    if low is None and high is None:
        return figures.UNKNOWN
    known = [figures.UNKNOWN if v is None else figures.number(v.value) for v in (low, high)]
    return f"{known[0]} to {known[1]}{figures.THIN}dBm"
