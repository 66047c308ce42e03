"""The decision table: each row can be reached; one that is not sure names the other causes."""

from __future__ import annotations

import pytest

from strandkeeper.analysis.cause_table import RULES, Fact, Rule
from strandkeeper.analysis.causes import first_fit
from strandkeeper.model.finding import Cause, Confidence, FindingKind


@pytest.mark.parametrize("rule", RULES, ids=lambda r: f"{min(r.kinds)}: {r.cause}")
def test_every_row_is_taken_by_its_own_facts(rule: Rule) -> None:
    assert first_fit(min(rule.kinds), rule.needs) is rule


@pytest.mark.parametrize("rule", RULES, ids=lambda r: f"{min(r.kinds)}: {r.cause}")
def test_a_row_that_is_not_sure_names_what_else_it_could_be(rule: Rule) -> None:
    assert rule.confidence is Confidence.CERTAIN or rule.alternatives
    assert rule.cause not in rule.alternatives


def test_no_light_and_a_silent_far_end_cannot_be_told_apart() -> None:
    rule = first_fit(FindingKind.LINK_DOWN, frozenset({Fact.RECEIVER_DARK, Fact.FAR_SILENT}))
    assert rule.confidence is Confidence.CANNOT_TELL
    assert {Cause.CABLE, Cause.FAR_END_OFF_OR_RESTARTED, Cause.MODULE} <= set(rule.alternatives)


def test_both_dark_with_lasers_on_and_both_answering_is_the_cable() -> None:
    facts = frozenset({Fact.BOTH_DARK, Fact.BOTH_ANSWER, Fact.SENDER_LIT, Fact.RECEIVER_DARK})
    rule = first_fit(FindingKind.LINK_DOWN, facts)
    assert (rule.cause, rule.confidence) == (Cause.CABLE, Confidence.CERTAIN)


def test_more_loss_at_the_longer_wavelength_is_a_bend_and_alike_is_a_plug() -> None:
    one = {Fact.SINGLE_STRAND, Fact.BOTH_WAYS}
    bend = first_fit(FindingKind.STEP, frozenset(one | {Fact.WORSE_LONGER}))
    plug = first_fit(FindingKind.STEP, frozenset(one | {Fact.ALIKE}))
    assert (bend.cause, plug.cause) == (Cause.BEND_OR_CRUSH, Cause.CONNECTOR)


def test_errors_with_light_in_hand_are_not_pinned_on_one_part() -> None:
    rule = first_fit(FindingKind.ERRORS, frozenset())
    assert rule.confidence is Confidence.CANNOT_TELL
    assert {Cause.MODULE, Cause.COPPER_SIDE} <= set(rule.alternatives)
