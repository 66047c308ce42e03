"""The checklist of a new link as the page shows it, out of what the record already knows. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strandkeeper.alerts.wording_commission import advice_sentence, item_sentence
from strandkeeper.analysis.commissioning import checklist
from strandkeeper.model.link import DirectionFacts, Link, LinkFacts, PlannedLoss, ReceiverLimits
from strandkeeper.model.meter_reading import Bench
from strandkeeper.model.names import Direction
from strandkeeper.model.rework import Outcome
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.optics import pmd

__all__ = ["CheckLine", "check_lines", "facts_of"]

_SIGNS = {
    Outcome.PASSED: "well",
    Outcome.FAILED: "act",
    Outcome.PENDING: "unknown",
    Outcome.UNKNOWN: "unknown",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """One line: a sentence, how it stands, and what to do about it."""

    said: str
    standing: str
    failed: bool
    advice: str = ""


def check_lines(
    link: Link, settings: Settings, verdict: LinkVerdict, benches: Sequence[Bench]
) -> list[CheckLine]:
    """Every line, in the order in which a person would look."""
    bench = {b.direction: b.difference for b in benches if b.link == link.name}
    return [
        CheckLine(
            said=item_sentence(link, item),
            standing=_SIGNS[item.outcome],
            failed=item.outcome is Outcome.FAILED,
            advice=advice_sentence(item),
        )
        for item in checklist(facts_of(link, settings, verdict), verdict, bench=bench)
    ]


def facts_of(link: Link, settings: Settings, verdict: LinkVerdict) -> LinkFacts:
    """What the checklist needs to know beside the verdict, which holds the limits and the plan."""
    return LinkFacts(
        name=link.name,
        ab=_direction(link, verdict, Direction.AB),
        ba=_direction(link, verdict, Direction.BA),
        strands=link.strands,
        near=link.near,
        managed=(link.a.switch is not None, link.b.switch is not None),
        thresholds=settings.thresholds,
    )


def _direction(link: Link, verdict: LinkVerdict, way: Direction) -> DirectionFacts:
    mine, receiver = verdict.direction(way), link.end(way.receiver)
    named = receiver.pmd is not None and receiver.overload is None
    lenient = named and pmd.receiver_limits(pmd.by_name(receiver.pmd or "")).overload_needs_errors
    planned = None
    if mine.planned_loss is not None and mine.planned_limit is not None:
        planned = PlannedLoss(
            expected=mine.planned_loss, limit=mine.planned_limit, source="the record"
        )
    return DirectionFacts(
        limits=ReceiverLimits(
            sensitivity=mine.sensitivity,
            overload=mine.overload,
            origin=mine.limits_origin,
            overload_needs_errors=lenient,
        ),
        anchored=mine.anchored,
        planned=planned,
    )
