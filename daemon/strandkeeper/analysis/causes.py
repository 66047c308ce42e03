"""The first rule of the cause table that fits a finding."""

from __future__ import annotations

from typing import Final

from strandkeeper.analysis.about import About
from strandkeeper.analysis.cause_facts import facts_of
from strandkeeper.analysis.cause_table import RULES, Fact, Rule
from strandkeeper.model.finding import Cause, Confidence, FindingKind

__all__ = ["first_fit"]

NO_RULE: Final = Rule(kinds=frozenset(), cause=Cause.UNKNOWN, confidence=Confidence.CANNOT_TELL)


def first_fit(kind: FindingKind, facts: frozenset[Fact]) -> Rule:
    """The row of the table for these facts.

    Parameters
    ----------
    kind : FindingKind
        What is the case [-].
    facts : frozenset of Fact
        What is so about it [-].

    Returns
    -------
    Rule
        [-] Cause unknown and nothing to be told where no row fits.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source; the table is in analysis.cause_table.

    Example
    -------
    >>> first_fit(FindingKind.LINK_DOWN, frozenset({Fact.PORT_OFF})).cause.value
    'switched-off-by-a-person'
    """
    for rule in RULES:
        if kind in rule.kinds and rule.needs <= facts and not rule.bars & facts:
            return rule
    return NO_RULE


def decide(about: About, kind: FindingKind) -> Rule:
    """Cause, confidence, what else it could be and what to do next."""
    return first_fit(kind, facts_of(about, kind))
