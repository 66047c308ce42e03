"""Silence behind a link that is down is a consequence, not a second fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    Finding,
    FindingKind,
    Severity,
)
from strandkeeper.model.link import Link, links_on_the_way
from strandkeeper.model.names import LinkName
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["with_consequences"]


def with_consequences(
    links: Mapping[LinkName, Link], verdicts: Mapping[LinkName, LinkVerdict]
) -> dict[LinkName, LinkVerdict]:
    """The verdicts, each 'no answer' behind another link that is down marked as its consequence.

    A link's own far end is judged by the analysis itself; here it is the links whose switches are
    reached through another link (`behind` in the configuration), over any number of steps.
    """
    return {
        name: _explained(verdict, down)
        if (down := _link_down_before(name, links, verdicts)) is not None
        else verdict
        for name, verdict in verdicts.items()
    }


def _link_down_before(
    name: LinkName, links: Mapping[LinkName, Link], verdicts: Mapping[LinkName, LinkVerdict]
) -> LinkName | None:
    """The nearest link on the way to this one that is down; None if the way is clear."""
    for here in links_on_the_way(name, links):
        if here in verdicts and verdicts[here].up is False:
            return here
    return None


def _explained(verdict: LinkVerdict, down: LinkName) -> LinkVerdict:
    return replace(
        verdict,
        findings=tuple(
            _consequence(f, down) if f.kind is FindingKind.NO_ANSWER else f
            for f in verdict.findings
        ),
    )


def _consequence(finding: Finding, down: LinkName) -> Finding:
    through = Evidence(kind=EvidenceKind.REACHED_THROUGH, text=down)
    return replace(
        finding,
        severity=Severity.NOTE,
        cause=Cause.BEHIND_A_LINK_THAT_IS_DOWN,
        confidence=Confidence.CERTAIN,
        alternatives=(),
        evidence=(*finding.evidence, through),
        next_steps=(),
    )
