"""The decision table: each row can be reached; one that is not sure names the other causes."""

from __future__ import annotations

import pytest

from strandkeeper.analysis.about import About
from strandkeeper.analysis.cause_table import RULES, Fact, Rule
from strandkeeper.analysis.causes import decide, first_fit
from strandkeeper.analysis.slow import BaselineNote, DayRow, DirectionSlow, HourRow, LinkSlow
from strandkeeper.analysis.state import LinkState
from strandkeeper.model.finding import Cause, Confidence, FindingKind
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import Direction, LinkName


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


def test_a_silent_far_end_whose_supply_was_in_need_has_likely_lost_its_power() -> None:
    silent = {Fact.FAR_SILENT, Fact.SUPPLY_IN_NEED}
    for kind, facts in (
        (FindingKind.LINK_DOWN, silent | {Fact.RECEIVER_DARK}),
        (FindingKind.NO_ANSWER, silent),
    ):
        rule = first_fit(kind, frozenset(facts))
        assert (rule.cause, rule.confidence) == (
            Cause.FAR_END_OFF_OR_RESTARTED,
            Confidence.LIKELY,
        )
    behind = first_fit(FindingKind.NO_ANSWER, frozenset(silent | {Fact.BEHIND_LINK}))
    assert behind.cause is Cause.BEHIND_A_LINK_THAT_IS_DOWN


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


def outdoor_link(added: int, *, coefficient: float) -> About:
    """A link learnt to gain that much a degree, 15 °C warmer than when it was good, swinging."""
    slow = DirectionSlow(
        baseline=BaselineNote(level=4000, spread=20, since_ms=0, firm=True),
        added=added,
        weather=(0.0, coefficient, 0.001, 0.0, 0.001, 1.0),
    )
    swing = (24, 2_000_000, 2_000_000, 2_000_000, int(2e6 * coefficient), int(2e6 * coefficient))
    squares = int(2e6 * coefficient**2) + 1000
    for day in range(40):
        temp = 1500 if day < 8 else 3000
        slow.days.append(
            DayRow(
                start_ms=day * 86_400_000,
                n=1,
                level=4000,
                sender_temp=temp,
                receiver_temp=temp,
                spread=20,
                swing=700,
                offset=0,
                sums=(*swing, squares),
            )
        )
    cells = dict.fromkeys(("rx", "tx", "spread"), 0)
    newest = HourRow(
        start_ms=0, n=1, level=4000 + added, sender_temp=3000, receiver_temp=3000, **cells
    )
    slow.hours = [newest]
    state = LinkState(slow=LinkSlow(directions=[slow, DirectionSlow()]))
    return About(
        facts=LinkFacts(name=LinkName("jetty")), state=state, direction=Direction.AB, since_ms=0
    )


def test_added_loss_that_the_modules_own_warmth_explains_is_pinned_on_nothing() -> None:
    rule = decide(outdoor_link(800, coefficient=0.5), FindingKind.ADDED_LOSS)
    assert (rule.cause, rule.confidence) == (Cause.UNKNOWN, Confidence.CANNOT_TELL)


def test_added_loss_far_beyond_what_their_warmth_explains_has_a_cause() -> None:
    rule = decide(outdoor_link(2500, coefficient=0.5), FindingKind.ADDED_LOSS)
    assert rule.confidence is not Confidence.CANNOT_TELL
