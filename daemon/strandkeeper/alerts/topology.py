"""What follows from what: consequences of an outage are neither told nor taken for an end."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from strandkeeper.model.finding import Finding, FindingKind
from strandkeeper.model.link import Link, links_on_the_way
from strandkeeper.model.names import LinkName

__all__ = ["Covered", "coverage"]

Covered = Callable[[Finding], bool]

# what cannot be judged, or says nothing new, while the link is down
_BY_AN_OUTAGE: Final = frozenset(
    {
        FindingKind.LIGHT_LOST,
        FindingKind.NO_ANSWER,
        FindingKind.NO_READINGS,
        FindingKind.ADDED_LOSS,
        FindingKind.MARGIN_LOW,
        FindingKind.OVERLOAD,
        FindingKind.ERRORS,
        FindingKind.DRIFT,
        FindingKind.STEP,
        FindingKind.REPEATED_STEPS,
        FindingKind.FLICKER,
        FindingKind.DAILY_SWING,
        FindingKind.FREEZING,
        FindingKind.TRANSMIT_LOW,
    }
)
# what cannot be judged while the switch at that end is silent
_BY_SILENCE: Final = _BY_AN_OUTAGE - {FindingKind.NO_ANSWER} | {
    FindingKind.FROZEN_FIGURE,
    FindingKind.TEMPERATURE,
    FindingKind.SUPPLY,
    FindingKind.MODULE_MISSING,
}


def coverage(links: Mapping[LinkName, Link], findings: Iterable[Finding]) -> Covered:
    """A function that says whether a finding, true or not now, is covered by another one.

    A link that is down covers what its receivers could say, and everything of the links behind it.
    A silent end covers what only it can say.
    """
    known = list(findings)
    down = {f.link for f in known if f.kind is FindingKind.LINK_DOWN}
    silent = {(f.link, f.end) for f in known if f.kind is FindingKind.NO_ANSWER}
    cut_off = {name for name in links if not down.isdisjoint(links_on_the_way(name, links))}

    def covered(finding: Finding) -> bool:
        if finding.link in cut_off:
            return True
        if finding.link in down and finding.kind in _BY_AN_OUTAGE:
            return True
        return finding.kind in _BY_SILENCE and (finding.link, _told_by(finding)) in silent

    return covered


def _told_by(finding: Finding) -> object:
    """The end whose switch says it."""
    if finding.end is not None or finding.direction is None:
        return finding.end
    return finding.direction.receiver
