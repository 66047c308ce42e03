"""Readings tied to a power meter: limits in the module's own figures, and when a tie is void."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.meter_reading import Anchor, Bench
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.optics.units import Db

__all__ = ["ANCHORED_ACCURACY", "anchored", "void_anchors", "void_benches"]

# design: ±1 dB where a calibrated reading anchors the module (meter, mating and repeatability)
ANCHORED_ACCURACY: Final = Db(1.0)


def anchored(facts: LinkFacts, anchors: Sequence[Anchor]) -> LinkFacts:
    """The facts with every anchored direction's limits in what its module reports.

    A module that reads 0.7 dB too much reaches its sensitivity at a reading 0.7 dB higher: the
    margin is then true although the readings stay as reported.
    """
    for anchor in anchors:
        if anchor.link != facts.name:
            continue
        way = anchor.direction
        tied = _tied(facts.direction(way), anchor)
        facts = replace(facts, ab=tied) if way is Direction.AB else replace(facts, ba=tied)
    return facts


def _tied(known: DirectionFacts, anchor: Anchor) -> DirectionFacts:
    limits, by = known.limits, anchor.correction
    shifted = ReceiverLimits(
        sensitivity=None if limits.sensitivity is None else limits.sensitivity - by,
        overload=None if limits.overload is None else limits.overload - by,
        origin=limits.origin,
        source=f"{limits.source}; shown {abs(by.value):.1f} dB {_way(by)}: in the figures of this "
        "module, which a power meter tied down",
        overload_needs_errors=limits.overload_needs_errors,
    )
    accuracy = min(known.accuracy, ANCHORED_ACCURACY)
    return replace(known, limits=shifted, accuracy=accuracy, anchored=True)


def _way(correction: Db) -> str:
    return "lower" if correction.value > 0 else "higher"


def void_anchors(
    anchors: Sequence[Anchor], verdicts: Sequence[LinkVerdict]
) -> list[tuple[LinkName, Direction]]:
    """The ties whose module is another now."""
    modules = {(v.link, e): v.end(e).module_id for v in verdicts for e in End}
    return [
        (a.link, a.direction)
        for a in anchors
        if _another(a.module_id, modules.get((a.link, a.direction.receiver)))
    ]


def void_benches(benches: Sequence[Bench], verdicts: Sequence[LinkVerdict]) -> list[LinkName]:
    """The links of which one module or the other is another now."""
    by_link = {v.link: v for v in verdicts}
    gone = [
        b.link
        for b in benches
        if b.link in by_link
        and any(_another(b.module_ids[e], by_link[b.link].end(e).module_id) for e in End)
    ]
    return list(dict.fromkeys(gone))


def _another(before: str | None, now: str | None) -> bool:
    return before is not None and now is not None and before != now
