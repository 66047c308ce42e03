"""A plan as the table a technician would write, with the verdict in words."""

from __future__ import annotations

from collections.abc import Sequence

from strandkeeper.cli.budget_details import details_lines
from strandkeeper.cli.budget_plan import PlannedLink
from strandkeeper.cli.figure import figure
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.optics.budget import LossBudget, LossLine
from strandkeeper.optics.budget_words import (
    comparison_sentence,
    sureness_sentence,
    verdict_sentences,
)
from strandkeeper.optics.plan import Comparison, EndPlan
from strandkeeper.optics.power_budget import PowerBudget
from strandkeeper.optics.units import Db, Dbm

__all__ = ["WORDS", "link_text", "loss_table"]

WORDS = paragraph(
    "Words: dB is how many times weaker light gets (3 dB: half, 10 dB: a tenth). dBm is a strength"
    " of light: the more below zero, the weaker. A mated pair is two plugs meeting in one adapter."
)


def link_text(link: PlannedLink, *, details: bool) -> str:
    """The whole answer for one link."""
    plan = link.plan
    lines = [_title(link), ""]
    lines += [paragraph(f"Note: {remark}.", hang=2) for remark in link.remarks]
    lines += [paragraph(f"WRONG PART ({w.sure}): {w.sentence}.", hang=2) for w in plan.wrong]
    lines += [paragraph(f"BEYOND ITS REACH: {text}.", hang=2) for text in plan.beyond]
    lines += [""] if link.remarks or plan.wrong or plan.beyond else []
    alone = ", by light alone" if plan.wrong or plan.beyond else ""
    if plan.ab and plan.ba and plan.ab.says_the_same_as(plan.ba) and not {*link.measured} - {"ab"}:
        lines += _direction(
            plan.ab, f"Both directions alike{alone}", link.measured.get("ab"), details
        )
    else:
        for budget, sender, receiver, key in (
            (plan.ab, plan.a, plan.b, "ab"),
            (plan.ba, plan.b, plan.a, "ba"),
        ):
            if budget is not None:
                title = f"{sender.name} → {receiver.name}{alone}"
                lines += [*_direction(budget, title, link.measured.get(key), details), ""]
    lines += [f"Not planned: {why}." for why in plan.missing]
    return "\n".join([*lines, *([] if link.name else ["", WORDS])]).rstrip()


def _title(link: PlannedLink) -> str:
    cable = link.cable
    length = "of unknown length" if cable.length_m is None else f"{cable.length_m / 1000:g} km"
    ends = f"{_end(link.plan.a)} and {_end(link.plan.b)}"
    name = f"{link.name}: " if link.name else ""
    return paragraph(f"{name}{length} of {cable.fibre} fibre between {ends}", hang=2)


def _end(end: EndPlan) -> str:
    return f"{end.name} ({end.spec.name if end.spec else 'module type not given'})"


def _direction(
    budget: PowerBudget, title: str, measured: Comparison | None, details: bool
) -> list[str]:
    verdict, *more = verdict_sentences(budget)
    lines = [
        paragraph(f"{title}: {verdict}.", hang=2),
        *(paragraph(f"Also: {sentence}.", indent=2, hang=2) for sentence in more),
        "",
        *loss_table(budget.loss),
        "",
        *_light(budget),
    ]
    if measured is not None:
        lines += ["", paragraph(f"{comparison_sentence(measured)}.", indent=2, hang=2)]
    doubt = sureness_sentence(budget)
    if doubt:
        care = f"Take with care: {doubt}. Your modules' and cable's data sheets outrank it."
        lines += ["", paragraph(care, indent=2, hang=2)]
    return lines + (["", *details_lines(budget, measured)] if details else [])


def loss_table(loss: LossBudget) -> list[str]:
    """The rows of a loss budget, expected and at most, with their sum."""
    head = f"  {'what the light passes':<34}{'how many':>10}{'each':>16}{'together':>18}"
    under = f"  {'':<34}{'':>10}{'good  at most':>16}{'good   at most':>18}"
    rows = [_row(line) for line in loss.lines if line.count]
    total = f"  {'together':<34}{'':>10}{'':>16}{_pair(loss.expected, loss.limit):>18}"
    return [head, under, *rows, f"  {'-' * 78}", total]


def _row(line: LossLine) -> str:
    count = f"{line.count:g} {line.unit}".strip()
    each = f"{line.each_expected.value:.2f}    {line.each_limit.value:.2f}"
    return f"  {line.item:<34}{count:>10}{each:>16}{_pair(line.expected, line.limit):>18}"


def _pair(expected: Db, limit: Db) -> str:
    return f"{expected.value:.1f}   {limit.value:.1f} dB"


def _light(budget: PowerBudget) -> list[str]:
    sender, receiver = budget.sender, budget.receiver
    lines = [
        ("the transmitter sends", sender.launch_min, sender.launch_max),
        ("so the receiver sees", budget.weakest, budget.strongest),
        ("the receiver can use", receiver.sensitivity, receiver.overload),
    ]
    shown = [f"  {what:<34}{_range(low, high)}" for what, low, high in lines]
    spare = [_spare(budget.margin, "weak"), _spare(budget.headroom, "strong")]
    known = ", ".join(text for text in spare if text)
    return [*shown, f"  {'in the worst case':<34}{known or 'unknown'}"]


def _range(low: Dbm | None, high: Dbm | None) -> str:
    if low is None and high is None:
        return " unknown"
    return f"{_dbm(low):>8} to {_dbm(high)} dBm"


def _dbm(power: Dbm | None) -> str:
    return "unknown" if power is None else figure(power.value)


def _spare(value: Db | None, side: str) -> str:
    if value is None:
        return ""
    tenths = round(value.value, 1) + 0.0
    return (
        f"{tenths:.1f} dB before too {side}"
        if tenths >= 0
        else f"{-tenths:.1f} dB TOO {side.upper()}"
    )


def blocks(texts: Sequence[str]) -> str:
    """Several links one under the other, and the words once."""
    return f"\n\n{'=' * 80}\n\n".join([*texts, WORDS])
