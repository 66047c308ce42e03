"""What `--details` adds: error ratio, time to prove it, what a gap would have to be, sources."""

from __future__ import annotations

from strandkeeper.cli.paragraph import paragraph
from strandkeeper.optics.confidence import seconds_needed
from strandkeeper.optics.error_ratio import error_ratio_at
from strandkeeper.optics.fibre import medium
from strandkeeper.optics.gap import explain_by_gap
from strandkeeper.optics.plan import Comparison
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.power_budget import PowerBudget
from strandkeeper.optics.units import Db

__all__ = ["details_lines", "gap_sentence"]


def details_lines(budget: PowerBudget, measured: Comparison | None) -> list[str]:
    """Lines for whoever wants to know more."""
    lines: list[str] = []
    if budget.power_budget is not None:
        lines.append(f"power budget (weakest sent - weakest usable): {budget.power_budget}")
    lines += _errors(budget)
    if measured is not None:
        lines += _gap(budget, measured.measured - budget.loss.expected)
    lines += [
        f"transmitter: {budget.sender.source}",
        f"receiver: {budget.receiver.source}",
        f"cable, {budget.loss.source}",
    ]
    return ["  Details", *(paragraph(line, indent=4, hang=2) for line in lines)]


def _errors(budget: PowerBudget) -> list[str]:
    name = budget.sender.source.split(",")[0]
    if budget.margin is None or not name.replace("-", "").isalnum():
        return []
    spec = by_name(name)
    ratio = error_ratio_at(budget.margin, objective=spec.ber_objective)
    words = f"{ratio:.0e}" if ratio > 1e-18 else "less than 1 in 10^18"
    needed = seconds_needed(spec.ber_objective, rate_bd=spec.line_rate_bd)
    return [
        f"bit errors at the worst margin: {words} (model; real receivers do worse)",
        f"{needed / 60:.1f} min without a single bit error show, 95 % sure, a ratio under"
        f" {spec.ber_objective:g}",
    ]


def _gap(budget: PowerBudget, excess: Db) -> list[str]:
    sentence = gap_sentence(budget.loss.fibre, budget.loss.wavelength_nm, excess)
    return [sentence] if sentence else []


def gap_sentence(fibre: str, wavelength_nm: float, excess: Db) -> str:
    """What a gap in one connector would have to be to lose that much; empty where it cannot."""
    if excess.value <= 0.05 or medium(fibre) != "single-mode":
        return ""
    found = explain_by_gap(excess, wavelength_nm=wavelength_nm)
    if found.likely_um is None:
        return (
            f"{excess.value:.1f} dB more than expected is less than one open air gap loses: dirt, a"
            " small shift or a tight bend rather than a gap"
        )
    return (
        f"if one connector alone loses the {excess.value:.1f} dB more than expected: an air gap of"
        f" about {found.likely_um:.0f} µm ({found.shortest_um:.0f} to {found.longest_um:.0f}), such"
        " as a fibre that stops short in its plug; dirt, a shift or a tight bend can do the same"
        f" (mode field {found.mode_field_um:.1f} µm: {found.tag})"
    )
