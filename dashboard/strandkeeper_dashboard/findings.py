"""Findings, trends and events in words: a thin reading of strandkeeper.alerts.wording."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.link import Link
from strandkeeper.model.verdict import Event, LinkVerdict, Trend

__all__ = ["SpokenFinding", "event", "spoken", "statement", "trend"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpokenFinding:
    """One finding as a page shows it."""

    finding: Finding
    headline: str
    sentences: tuple[str, ...]
    steps: tuple[str, ...]

    @property
    def severity(self) -> str:
        """The state that this finding alone would give."""
        return {Severity.URGENT: "act", Severity.WARNING: "watch"}.get(
            self.finding.severity, "well"
        )


def spoken(link: Link, finding: Finding) -> SpokenFinding:
    """What is the case, why as far as is known, and what to do."""
    return SpokenFinding(
        finding=finding,
        headline=finding.kind.value.replace("-", " "),
        sentences=(finding.cause.value.replace("-", " "),),
        steps=tuple(step.value.replace("-", " ") for step in finding.next_steps),
    )


def statement(link: Link, verdict: LinkVerdict | None) -> str:
    """The calm sentence of the first screen."""
    if verdict is None:
        return "Nothing has been read from this link yet."
    return "Up." if verdict.up else "Down."


def trend(verdict: LinkVerdict) -> str:
    """The trend of the direction that is worse off."""
    order = (Trend.JUMPED, Trend.FLICKERING, Trend.CREEPING, Trend.SWINGS, Trend.TOO_EARLY)
    both = (verdict.ab.trend, verdict.ba.trend)
    return next((t for t in order if t in both), Trend.STEADY).value.replace("-", " ")


def event(link: Link, happened: Event) -> str:
    """One event of the record as a sentence."""
    return happened.text or happened.kind.value.replace("-", " ")
