"""Readings tied to a power meter: limits in the module's own figures, and when a tie is void."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from strandkeeper.analysis.anchoring import ANCHORED_ACCURACY, tied
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.meter_reading import Anchor, Bench
from strandkeeper.model.module import another_module
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["ANCHORED_ACCURACY", "anchored", "void_anchors", "void_benches"]


def anchored(facts: LinkFacts, anchors: Sequence[Anchor]) -> LinkFacts:
    """The facts with every anchored direction's limits in what its module reports."""
    for anchor in anchors:
        if anchor.link != facts.name:
            continue
        way = anchor.direction
        mine = tied(facts.direction(way), anchor.correction)
        facts = replace(facts, ab=mine) if way is Direction.AB else replace(facts, ba=mine)
    return facts


def void_anchors(
    anchors: Sequence[Anchor], verdicts: Sequence[LinkVerdict]
) -> list[tuple[LinkName, Direction]]:
    """The ties whose module is another now."""
    modules = {(v.link, e): v.end(e).module_id for v in verdicts for e in End}
    return [
        (a.link, a.direction)
        for a in anchors
        if another_module(a.module_id, modules.get((a.link, a.direction.receiver)))
    ]


def void_benches(benches: Sequence[Bench], verdicts: Sequence[LinkVerdict]) -> list[LinkName]:
    """The links of which one module or the other is another now."""
    by_link = {v.link: v for v in verdicts}
    gone = [
        b.link
        for b in benches
        if b.link in by_link
        and any(another_module(b.module_ids[e], by_link[b.link].end(e).module_id) for e in End)
    ]
    return list(dict.fromkeys(gone))
