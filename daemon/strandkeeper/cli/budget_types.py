"""The module types that plans can be made with, as a table."""

from __future__ import annotations

from strandkeeper.cli.figure import figure
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.optics.pmd import PmdSpec, all_pmds
from strandkeeper.optics.receiver import receiver_limits
from strandkeeper.optics.source import Tag, worst
from strandkeeper.optics.units import Dbm

__all__ = ["types_text"]


def types_text() -> str:
    """One line a type, and what the columns mean."""
    head = (
        f"{'type':<18}{'fibre':<14}{'nm':>5}{'reach':>8}{'sends dBm':>16}{'can use dBm':>17}"
        "  figures"
    )
    rows = [_row(spec) for spec in all_pmds()]
    legend = paragraph(
        "One strand: both directions on one fibre, with unlike ends (-D sends the longer"
        " wavelength)."
        " Where a figure is missing, give it from the module's data sheet (--launch-min-dbm and so"
        " on). 'memory': from memory, unconfirmed. 'practice': no standard, common practice, no"
        " source; makers differ."
    )
    return "\n".join([head, *rows, "", legend])


def _row(spec: PmdSpec) -> str:
    limits = receiver_limits(spec)
    reach = f"{spec.reach_m / 1000:g} km" if spec.reach_m >= 1000 else f"{spec.reach_m} m"
    fibre = "one strand" if spec.single_strand else spec.medium
    sends = _range(spec.launch_min, spec.launch_max)
    uses = _range(limits.sensitivity, limits.overload)
    shown = ("wavelength_nm", "reach_m", "launch_min", "launch_max", "overload")
    least = worst(limits.tag, *(spec.tag_of(field) for field in shown))
    how = {Tag.MEMORY: "memory", Tag.PRACTICE: "practice"}.get(least, "standard")
    return (
        f"{spec.name:<18}{fibre:<14}{spec.wavelength_nm or '':>5}{reach:>8}{sends:>16}{uses:>17}"
        f"  {how}"
    )


def _range(low: Dbm | None, high: Dbm | None) -> str:
    if low is None and high is None:
        return "data sheet"
    return f"{_shown(low)} to {_shown(high)}"


def _shown(power: Dbm | None) -> str:
    return "?" if power is None else figure(power.value)
