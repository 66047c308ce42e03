"""The table, and alerts driven through it by every sequence of sights and people."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from strandkeeper.alerts.book import Sight, Turn, act, look
from strandkeeper.alerts.lifecycle import TABLE, UnknownStepError, may, next_state
from strandkeeper.alerts.rules import Rule, rule_of
from strandkeeper.model.alert import Alert, AlertEvent, AlertState
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.link import Thresholds
from strandkeeper.model.message import MessageKind
from strandkeeper.model.names import LinkName

RULE = Rule(hold_s=60, clear_s=600)


def finding(severity: Severity = Severity.URGENT, since_ms: int = 0) -> Finding:
    return Finding(
        link=LinkName("shore"), kind=FindingKind.LINK_DOWN, severity=severity, since_ms=since_ms
    )


def after(
    sights: list[tuple[int, Sight]], rule: Rule = RULE
) -> tuple[Alert | None, list[MessageKind]]:
    alert: Alert | None = None
    told: list[MessageKind] = []
    for at_s, sight in sights:
        alert, turns = look(alert, sight, rule, at_s * 1000, 1)
        told += [t.tells for t in turns if t.tells is not None]
        if alert is not None and alert.state is AlertState.CLEARED:
            alert = None
    return alert, told


def test_every_pair_is_in_the_table_or_raises() -> None:
    for state, event in product([None, *AlertState], AlertEvent):
        if may(state, event):
            assert next_state(state, event) is TABLE[state, event]
        else:
            with pytest.raises(UnknownStepError):
                next_state(state, event)


def test_nothing_leaves_a_cleared_alert() -> None:
    assert not [pair for pair in TABLE if pair[0] is AlertState.CLEARED]


def test_a_short_outage_is_never_told() -> None:
    seen, gone = Sight(finding=finding()), Sight(finding=None)
    assert after([(0, seen), (59, seen), (60, gone)]) == (None, [])


def test_an_outage_is_told_after_its_holding_time_and_its_end_once_it_is_steady() -> None:
    seen, gone = Sight(finding=finding()), Sight(finding=None)
    alert, told = after([(0, seen), (60, seen), (61, seen), (70, gone), (669, gone)])
    assert alert is not None
    assert told == [MessageKind.RAISED]
    _, told = after([(0, seen), (60, seen), (70, gone), (670, gone)])
    assert told == [MessageKind.RAISED, MessageKind.CLEARED]


def test_down_again_before_it_was_steady_is_the_same_alert() -> None:
    seen, gone = Sight(finding=finding()), Sight(finding=None)
    again = Sight(finding=finding(since_ms=300_000))
    sights = [(0, seen), (60, seen), (70, gone), (300, again), (310, gone), (909, gone)]
    assert after(sights)[1] == [MessageKind.RAISED]
    assert after([*sights, (910, gone)])[1] == [MessageKind.RAISED, MessageKind.CLEARED]


def test_what_is_covered_stands_still_and_holds_anew() -> None:
    seen, gone = Sight(finding=finding()), Sight(finding=None)
    hidden = Sight(finding=finding(), covered=True)
    assert after([(0, hidden), (500, hidden)]) == (None, [])
    assert after([(0, seen), (30, hidden), (80, seen), (89, seen)])[1] == []
    assert after([(0, seen), (30, hidden), (80, seen), (90, seen)])[1] == [MessageKind.RAISED]
    raised = [(0, seen), (60, seen), (70, Sight(finding=None, covered=True))]
    assert after([*raised, (5000, Sight(finding=None, covered=True))])[1] == [MessageKind.RAISED]
    assert after([*raised, (80, gone), (680, gone)])[1][-1] is MessageKind.CLEARED


def test_a_flapping_outage_is_held_back_unless_it_lasts() -> None:
    held = Sight(finding=finding(), held_back=True)
    assert after([(0, held), (60, held), (299, held)])[1] == []
    alert, told = after([(0, held), (60, held), (300, held)])
    assert told == [MessageKind.RAISED]
    assert alert is not None
    assert alert.lasting


def test_worse_is_told_again_also_after_an_acknowledgement() -> None:
    mild, bad = finding(Severity.WARNING), finding(Severity.URGENT)
    alert, _ = look(None, Sight(finding=mild), Rule(hold_s=0, clear_s=0), 0, 7)
    assert alert is not None
    alert = act(alert, AlertEvent.ACKNOWLEDGE, 1, "anna").alert
    alert, turns = look(alert, Sight(finding=bad), Rule(hold_s=0, clear_s=0), 2, 8)
    assert [t.tells for t in turns] == [MessageKind.WORSE]
    assert alert is not None
    assert alert.state is AlertState.FIRING


def test_a_note_is_never_told() -> None:
    assert after([(0, Sight(finding=finding(Severity.NOTE)))]) == (None, [])


@pytest.mark.parametrize("kind", list(FindingKind))
def test_every_kind_has_its_times(kind: FindingKind) -> None:
    rule = rule_of(kind, Thresholds())
    assert rule.hold_s >= 0
    assert rule.clear_s >= 0


class Driven(RuleBasedStateMachine):
    """One alert under everything that can happen to it; time only goes on."""

    def __init__(self) -> None:
        super().__init__()
        self.now_ms = 0
        self.number = 0
        self.alert: Alert | None = None
        self.open_told = 0  # raised and not yet cleared
        self.keys: set[tuple[int, int]] = set()

    def take(self, turns: tuple[Turn, ...]) -> None:
        for turn in turns:
            step = turn.transition
            assert TABLE[step.before, step.event] is step.after
            if turn.tells is not None:
                key = (turn.alert.began_ms, turn.alert.told)
                assert (turn.alert.number, *key) not in self.keys
                self.keys.add((turn.alert.number, *key))  # type: ignore[arg-type]
            if turn.tells is MessageKind.RAISED:
                self.open_told += 1
            if turn.tells is MessageKind.CLEARED:
                assert self.open_told > 0
                self.open_told = 0
        if self.alert is not None and self.alert.state is AlertState.CLEARED:
            self.open_told = 0
            self.alert = None

    @rule(
        ahead_s=st.integers(0, 900),
        true=st.booleans(),
        urgent=st.booleans(),
        covered=st.booleans(),
        held=st.booleans(),
        silent_s=st.none() | st.integers(1, 4000),
    )
    def look_at_it(
        self,
        ahead_s: int,
        true: bool,
        urgent: bool,
        covered: bool,
        held: bool,
        silent_s: int | None,
    ) -> None:
        self.now_ms += ahead_s * 1000
        severity = Severity.URGENT if urgent else Severity.WARNING
        sight = Sight(
            finding=finding(severity, self.now_ms) if true else None,
            covered=covered,
            held_back=held,
            silent_until_ms=None if silent_s is None else self.now_ms + silent_s * 1000,
        )
        before = self.alert
        self.alert, turns = look(self.alert, sight, RULE, self.now_ms, self.number + 1)
        self.number += before is None and self.alert is not None
        self.take(turns)

    @rule()
    def acknowledge(self) -> None:
        if self.alert is not None and may(self.alert.state, AlertEvent.ACKNOWLEDGE):
            turn = act(self.alert, AlertEvent.ACKNOWLEDGE, self.now_ms, "anna")
            self.alert = turn.alert
            self.take((turn,))

    @rule(span_s=st.integers(0, 5000))
    def mute(self, span_s: int) -> None:
        if self.alert is not None and may(self.alert.state, AlertEvent.MUTE):
            until_ms = self.now_ms + span_s * 1000
            turn = act(self.alert, AlertEvent.MUTE, self.now_ms, "anna", until_ms)
            self.alert = turn.alert
            self.take((turn,))

    @rule()
    def true_for_long_is_told(self) -> None:
        """Whatever came before: true, seen, not muted for 10 minutes is told by then."""
        seen = Sight(finding=finding(Severity.URGENT, self.now_ms))
        for _ in range(4):
            self.now_ms += 6_000_000
            before = self.alert
            self.alert, turns = look(self.alert, seen, RULE, self.now_ms, self.number + 1)
            self.number += before is None
            self.take(turns)
        assert self.alert is not None
        assert self.alert.state in (AlertState.FIRING, AlertState.ACKNOWLEDGED)
        assert self.alert.told > 0

    @invariant()
    def a_mute_has_an_end(self) -> None:
        if self.alert is not None and self.alert.state is AlertState.MUTED:
            assert self.alert.until_ms is not None


Driven.TestCase.settings = settings(max_examples=60, stateful_step_count=40, deadline=None)
TestDriven = Driven.TestCase
