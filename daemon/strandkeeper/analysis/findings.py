"""Findings as the model has them: what is true now, with evidence, cause and next steps."""

from __future__ import annotations

from strandkeeper.analysis import causes, evidence
from strandkeeper.analysis.about import About
from strandkeeper.analysis.conditions import parts_of
from strandkeeper.analysis.state import LinkState
from strandkeeper.model.finding import Cause, Finding, Severity
from strandkeeper.model.link import LinkFacts


def build(facts: LinkFacts, state: LinkState) -> tuple[Finding, ...]:
    """Every finding that is true now, the worst first, then the oldest."""
    found = [
        _finding(facts, state, key, since, Severity(severity))
        for key, (since, severity) in state.live.active.items()
    ]
    return tuple(sorted(found, key=lambda f: (-f.severity, f.since_ms, f.key)))


def _finding(
    facts: LinkFacts, state: LinkState, key: str, since_ms: int, severity: Severity
) -> Finding:
    kind, direction, end = parts_of(key)
    about = About(facts=facts, state=state, direction=direction, end=end, since_ms=since_ms)
    rule = causes.decide(about, kind)
    behind = rule.cause is Cause.BEHIND_A_LINK_THAT_IS_DOWN
    return Finding(
        link=facts.name,
        kind=kind,
        severity=Severity.NOTE if behind else severity,
        since_ms=since_ms,
        direction=direction,
        end=end,
        cause=rule.cause,
        confidence=rule.confidence,
        alternatives=rule.alternatives,
        evidence=evidence.gather(about, kind),
        next_steps=rule.steps,
    )
