"""One alert, one look: what becomes of it. The lifecycle's table decides; here is what asks it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.alerts.lifecycle import next_state
from strandkeeper.alerts.rules import LASTING_S, Rule, is_told, kinds_of_outage
from strandkeeper.model.alert import Alert, AlertEvent, AlertState, Transition
from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.message import MessageKind

__all__ = ["Sight", "Turn", "act", "look"]

_TOLD: Final = {
    AlertEvent.HELD: MessageKind.RAISED,
    AlertEvent.WORSE: MessageKind.WORSE,
    AlertEvent.LASTED: MessageKind.LASTING,
    AlertEvent.MUTE_OVER: MessageKind.RAISED,
    AlertEvent.STEADY: MessageKind.CLEARED,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """What is seen of one alert's subject now.

    `finding` None: not true. `covered`: a consequence of something else, or not to be judged now;
    the alert then stands still. `held_back`: damped. `silent_until_ms`: its link is silenced.
    """

    finding: Finding | None
    covered: bool = False
    held_back: bool = False
    silent_until_ms: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One step of an alert, the alert after it, and what is told of it."""

    alert: Alert
    transition: Transition
    tells: MessageKind | None = None


def look(
    alert: Alert | None, sight: Sight, rule: Rule, now_ms: int, number: int
) -> tuple[Alert | None, tuple[Turn, ...]]:
    """The alert after one look, with every step on the way; `number` is for a new one.

    None: there is nothing to watch. A returned alert that is cleared is to be forgotten.
    """
    turns: list[Turn] = []
    if alert is None:
        if sight.finding is None or sight.covered or not is_told(sight.finding):
            return None, ()
        alert = _new(sight.finding, now_ms, number)
        turns.append(_begin(alert, now_ms))
    alert = _noted(alert, sight, now_ms)
    for event in _steps(alert, sight, rule, now_ms):
        turn = _turn(alert, event, now_ms, sight.silent_until_ms, ends=rule.ends)
        alert = turn.alert
        turns.append(turn)
    return alert, tuple(turns)


def act(
    alert: Alert, event: AlertEvent, now_ms: int, who: str, until_ms: int | None = None
) -> Turn:
    """What a person does: acknowledge or mute. Raises UnknownStepError."""
    return _turn(replace(alert, who=who), event, now_ms, until_ms)


def _new(finding: Finding, now_ms: int, number: int) -> Alert:
    began_ms = min(finding.since_ms, now_ms)
    return Alert(
        number=number,
        finding=finding,
        state=next_state(None, AlertEvent.SEEN),
        began_ms=began_ms,
        changed_ms=now_ms,
        held_from_ms=began_ms,
    )


def _begin(alert: Alert, now_ms: int) -> Turn:
    step = Transition(
        alert=alert.number, at_ms=now_ms, before=None, event=AlertEvent.SEEN, after=alert.state
    )
    return Turn(alert=alert, transition=step)


def _noted(alert: Alert, sight: Sight, now_ms: int) -> Alert:
    """The alert with what is seen now; while covered it stands still, its hold begins anew."""
    if sight.covered:
        return replace(alert, held_from_ms=now_ms, quiet_ms=None)
    if sight.finding is None or not is_told(sight.finding):
        return alert if alert.quiet_ms is not None else replace(alert, quiet_ms=now_ms)
    return replace(alert, finding=sight.finding, quiet_ms=None)


def _steps(alert: Alert, sight: Sight, rule: Rule, now_ms: int) -> Iterator[AlertEvent]:
    """At most one event a look: the next look is a second away at most."""
    if sight.covered:
        return
    match alert.state:
        case AlertState.PENDING:
            event = _of_pending(alert, sight, rule, now_ms)
        case AlertState.MUTED:
            event = _of_muted(alert, rule, now_ms)
        case AlertState.FIRING | AlertState.ACKNOWLEDGED:
            event = _of_told(alert, sight, rule, now_ms)
        case AlertState.CLEARED:
            event = None
    if event is not None:
        yield event


def _of_pending(alert: Alert, sight: Sight, rule: Rule, now_ms: int) -> AlertEvent | None:
    if alert.quiet_ms is not None:
        return AlertEvent.GONE
    if now_ms - alert.held_from_ms < rule.hold_s * 1000:
        return None
    if sight.silent_until_ms is not None:
        return AlertEvent.MUTE
    if sight.held_back and not _lasts(alert, now_ms):
        return None
    return AlertEvent.HELD


def _of_muted(alert: Alert, rule: Rule, now_ms: int) -> AlertEvent | None:
    if _over(alert, rule, now_ms):
        return AlertEvent.STEADY
    ended = alert.until_ms is not None and now_ms >= alert.until_ms
    return AlertEvent.MUTE_OVER if ended and alert.quiet_ms is None else None


def _of_told(alert: Alert, sight: Sight, rule: Rule, now_ms: int) -> AlertEvent | None:
    if _over(alert, rule, now_ms):
        return AlertEvent.STEADY
    if alert.quiet_ms is not None:
        return None
    if sight.silent_until_ms is not None:
        return AlertEvent.MUTE
    if alert.told_severity is not None and alert.finding.severity > alert.told_severity:
        return AlertEvent.WORSE
    if not alert.lasting and _lasts(alert, now_ms):
        return AlertEvent.LASTED
    return None


def _over(alert: Alert, rule: Rule, now_ms: int) -> bool:
    return alert.quiet_ms is not None and now_ms - alert.quiet_ms >= rule.clear_s * 1000


def _lasts(alert: Alert, now_ms: int) -> bool:
    """An outage that is more than a short one; nothing else has a 'lasting'."""
    if alert.finding.kind not in kinds_of_outage():
        return False
    return now_ms - max(alert.finding.since_ms, alert.held_from_ms) >= LASTING_S * 1000


def _turn(
    alert: Alert, event: AlertEvent, now_ms: int, until_ms: int | None, *, ends: bool = True
) -> Turn:
    after = next_state(alert.state, event)
    tells = _tells(alert, event) if ends or event is not AlertEvent.STEADY else None
    changed = replace(
        alert,
        state=after,
        changed_ms=now_ms,
        told=alert.told + (tells is not None),
        told_severity=alert.told_severity if tells is None else _most(alert),
        lasting=alert.lasting or event is AlertEvent.LASTED or _raised_late(alert, event, now_ms),
        until_ms=until_ms if event is AlertEvent.MUTE else None,
    )
    step = Transition(
        alert=alert.number,
        at_ms=now_ms,
        before=alert.state,
        event=event,
        after=after,
        who=changed.who,
    )
    return Turn(alert=changed, transition=step, tells=tells)


def _tells(alert: Alert, event: AlertEvent) -> MessageKind | None:
    """Whether a step is told: an end only of what was told, a lasting only to who has not seen."""
    if event is AlertEvent.STEADY and (alert.state is AlertState.MUTED or not alert.told):
        return None
    if event is AlertEvent.LASTED and alert.state is AlertState.ACKNOWLEDGED:
        return None
    return _TOLD.get(event)


def _most(alert: Alert) -> Severity:
    return max(alert.finding.severity, alert.told_severity or Severity.NOTE)


def _raised_late(alert: Alert, event: AlertEvent, now_ms: int) -> bool:
    """Told for the first time when it lasts already: that is then said in the same message."""
    return event in (AlertEvent.HELD, AlertEvent.MUTE_OVER) and _lasts(alert, now_ms)
