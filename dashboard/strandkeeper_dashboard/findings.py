"""Findings as a page lays them out; every word comes from strandkeeper.alerts.wording."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from strandkeeper.alerts import wording
from strandkeeper.alerts.wording import StepWords
from strandkeeper.alerts.wording_units import Units, in_units
from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.link import Link
from strandkeeper_dashboard.slugs import slug

__all__ = ["SpokenFinding", "SpokenStep", "first_step", "joined", "spoken"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenStep:
    """One thing to do; `careful` are its cautions in one paragraph, empty where none is new."""

    order: str
    careful: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenFinding:
    """One finding: what is the case, why, what speaks for it, what to do."""

    finding: Finding
    headline: str
    severity_word: str
    why: str
    evidence: tuple[str, ...]
    steps: tuple[SpokenStep, ...]

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


def first_step(link: Link, finding: Finding) -> StepWords | None:
    """What to do first, with its cautions; None where there is nothing to do."""
    if not finding.next_steps:
        return None
    return wording.next_step_words(link, finding, finding.next_steps[0])


def spoken(link: Link, finding: Finding, units: Units, said: Collection[str] = ()) -> SpokenFinding:
    """The finding in words, in the owner's units; cautions `said` right above are not repeated."""
    why, *evidence = (in_units(said, units) for said in wording.finding_sentences(link, finding))
    return SpokenFinding(
        finding=finding,
        headline=in_units(wording.finding_headline(link, finding), units),
        severity_word=wording.severity_word(finding.severity),
        why=why,
        evidence=tuple(evidence),
        steps=tuple(
            SpokenStep(order=step.order, careful=joined(c for c in step.cautions if c not in said))
            for step in wording.next_steps_words(link, finding)
        ),
    )


def joined(cautions: Iterable[str]) -> str:
    """Cautions as one paragraph."""
    return " ".join(cautions)
