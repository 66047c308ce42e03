"""The calm first sentence of every screen: is it all right, how much is left, what should I do."""

from __future__ import annotations

from typing import Final

from strandkeeper.alerts.wording_causes import cause_sentence
from strandkeeper.alerts.wording_figures import db
from strandkeeper.alerts.wording_headlines import finding_headline
from strandkeeper.alerts.wording_states import spare_words, trend_sentence
from strandkeeper.alerts.wording_steps import next_step_words
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.link import Link
from strandkeeper.model.power import NoLight
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict, Trend

__all__ = ["link_statement", "state_word", "weaker_direction", "worst_finding", "worst_first"]

_TOLD_FROM_DB: Final = 0.5  # design, defaults: added loss is logged from here
CALM: Final = (Trend.STEADY, Trend.TOO_EARLY)


def link_statement(link: Link, verdict: LinkVerdict | None) -> str:
    """State; dB to spare on the weaker direction; trend; what is the case and what to do."""
    if verdict is None:
        return "Nothing has been read from this link yet."
    worst = worst_finding(verdict)
    parts = [f"{state_word(verdict)}."]
    if verdict.up is not False:
        parts.append(_light(link, verdict, worst))
    parts += _advice(link, worst) if worst is not None else [_calm(verdict)]
    return " ".join(filter(None, parts))


def state_word(verdict: LinkVerdict) -> str:
    """Up, down or not known."""
    return {True: "Up", False: "Down", None: "Not known whether it is up"}[verdict.up]


def weaker_direction(verdict: LinkVerdict) -> DirectionVerdict | None:
    """The direction with less to spare; a dark one before any other, None if neither is known."""
    both = (verdict.ab, verdict.ba)
    dark = [d for d in both if isinstance(d.rx, NoLight)]
    known = [(d.margin.value, d) for d in both if d.margin is not None]
    return dark[0] if dark else min(known, key=lambda k: k[0])[1] if known else None


def worst_first(verdict: LinkVerdict) -> tuple[Finding, ...]:
    """The findings, the most urgent first, then the oldest."""
    return tuple(sorted(verdict.findings, key=lambda f: (-f.severity, f.since_ms)))


def worst_finding(verdict: LinkVerdict) -> Finding | None:
    """The finding to speak of, None when there is nothing but notes."""
    told = [f for f in worst_first(verdict) if f.severity > Severity.NOTE]
    return told[0] if told else None


def _light(link: Link, verdict: LinkVerdict, worst: Finding | None) -> str:
    """What is to spare and the trend; empty where the worst finding says it all."""
    if worst is not None and worst.kind is FindingKind.LIGHT_LOST:
        return ""
    weaker = weaker_direction(verdict)
    if weaker is None:
        return "How much is to spare is not known." + _added(link, verdict, worst)
    way = link.direction_name(weaker.direction)
    if isinstance(weaker.rx, NoLight):
        return f"{way}: no light."
    other = verdict.ba if weaker is verdict.ab else verdict.ab
    which = "the weaker way" if other.margin is not None else "the other way is not known"
    trend = _trend(link, weaker, other)
    return f"{spare_words(weaker)} to spare {way} ({which}); {trend}." + _added(
        link, verdict, worst
    )


def _trend(link: Link, weaker: DirectionVerdict, other: DirectionVerdict) -> str:
    """The trend of the weaker direction, and of the other where that one is less calm."""
    said = trend_sentence(weaker)
    if weaker.trend in CALM and other.trend not in CALM:
        said += f"; {link.direction_name(other.direction)} {trend_sentence(other)}"
    return said


def _added(link: Link, verdict: LinkVerdict, worst: Finding | None) -> str:
    """What was lost since it was good, if it is worth a word and no finding says it."""
    known = [(d.added_loss.value, d) for d in (verdict.ab, verdict.ba) if d.added_loss is not None]
    most = max(known, key=lambda k: k[0], default=None)
    if most is None or most[0] < _TOLD_FROM_DB or worst is not None:
        return ""
    return f" {link.direction_name(most[1].direction)}: {db(most[0])} lost since it was good."


def _calm(verdict: LinkVerdict) -> str:
    """What to do while no finding asks for anything; calm only where all is known to be well."""
    if verdict.up is False:
        return "Too early to say why."
    dark = any(isinstance(d.rx, NoLight) for d in (verdict.ab, verdict.ba))
    return "Nothing to do." if verdict.up and not dark else ""


def _advice(link: Link, worst: Finding) -> list[str]:
    said = [_case(link, worst)]
    if worst.next_steps:
        words = next_step_words(link, worst, worst.next_steps[0])
        said += [words.order, *words.cautions]
    return said


def _case(link: Link, worst: Finding) -> str:
    """The headline, or the cause where 'down' was said already."""
    if worst.kind is FindingKind.LINK_DOWN:
        return cause_sentence(link, worst)
    return f"{finding_headline(link, worst)}."
