"""Findings as a page lays them out; every word comes from strandkeeper.alerts.wording."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.alerts import wording
from strandkeeper.alerts.wording import StepWords
from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.link import Link
from strandkeeper_dashboard.slugs import slug

__all__ = ["SpokenFinding", "spoken"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenFinding:
    """One finding: what is the case, why, what speaks for it, what to do."""

    finding: Finding
    headline: str
    severity_word: str
    why: str
    evidence: tuple[str, ...]
    steps: tuple[StepWords, ...]

    @property
    def id(self) -> str:
        """What names it on a page, the same at the next evaluation."""
        parts = (slug(part) for part in self.finding.key if part)
        return "-".join(("finding", *parts))

    @property
    def standing(self) -> str:
        """The state that this finding alone would give."""
        standings = {Severity.URGENT: "act", Severity.WARNING: "watch"}
        return standings.get(self.finding.severity, "note")


def spoken(link: Link, finding: Finding) -> SpokenFinding:
    """The finding in words."""
    why, *evidence = wording.finding_sentences(link, finding)
    return SpokenFinding(
        finding=finding,
        headline=wording.finding_headline(link, finding),
        severity_word=wording.severity_word(finding.severity),
        why=why,
        evidence=tuple(evidence),
        steps=wording.next_steps_words(link, finding),
    )
