"""Work on a link in lines for a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from strandkeeper.alerts.wording_rework import (
    MAKE_TRAFFIC,
    acceptance_sentence,
    check_sentence,
    night_sentence,
    verdict_sentence,
)
from strandkeeper.analysis.acceptance import outcome_of
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.model.names import Direction
from strandkeeper.model.rework import CheckKind, DirectionReport, Outcome, Rework

__all__ = ["local_time", "work_lines"]


def local_time(time_ms: int) -> str:
    """Record time in this machine's zone, to the minute."""
    return datetime.fromtimestamp(time_ms / 1000, UTC).astimezone().strftime("%Y-%m-%d %H:%M")


def work_lines(work: Rework, ways: Mapping[Direction, str]) -> list[str]:
    """Head, verdict, and every line of the acceptance of each direction."""
    lines = [_head(work)]
    if work.why:
        lines.append(paragraph(f"Why: {work.why}", indent=2))
    if work.open:
        return [*lines, "  Under way: alerts of this link are held."]
    for way in work.directions:
        lines += _direction(ways[way], work.reports.get(way), work, way)
    checks = [c for r in work.reports.values() for c in r.checks]
    outcome = outcome_of(checks)
    lines.append(paragraph(acceptance_sentence(checks, outcome), indent=2))
    if any(c.outcome is Outcome.PENDING and c.kind is CheckKind.BITS for c in checks):
        lines.append(paragraph(MAKE_TRAFFIC, indent=2))
    if work.note:
        lines.append(paragraph(f"Note: {work.note}", indent=2))
    return lines


def _head(work: Rework) -> str:
    until = "" if work.finished_ms is None else f" to {local_time(work.finished_ms)}"
    strand = "" if work.strand is None else f", strand {work.strand} of {work.cable}"
    where = "" if work.end is None else f", end {work.end.name}"
    return (
        f"{work.id}  {work.link}: {work.what}{strand}{where}\n"
        f"  {local_time(work.started_ms)}{until}, by {work.who}"
    )


def _direction(
    name: str, report: DirectionReport | None, work: Rework, way: Direction
) -> list[str]:
    if report is None:
        return []
    head = name + ":" if work.commissioning else verdict_sentence(name, report.verdict)
    lines = [paragraph(head, indent=2, hang=2)]
    receiver = name.partition(" → ")[2] or "the receiving end"
    if night := night_sentence(receiver, report, work.coldest_before_c.get(way)):
        lines.append(paragraph(night, indent=4))
    lines += [paragraph(f"- {check_sentence(check)}", indent=4, hang=2) for check in report.checks]
    if report.counted.unknown:
        text = f"- {report.counted.unknown} readings could not be counted: the counters began anew"
        lines.append(paragraph(text, indent=4, hang=2))
    return lines
