"""The life of an alert, as a table.

Rules:
1. An alert that was never told ends without a word: PENDING -> CLEARED by GONE.
2. A person's acknowledgement lasts until the alert ends or gets worse.
3. A mute outlasts everything but its own end and the alert's.
4. A cleared alert that is seen again is a new one: a new number, told anew.

A pair that is not in the table is an error: it raises, nothing is guessed.
"""

from __future__ import annotations

from typing import Final

from strandkeeper.model.alert import AlertEvent, AlertState

__all__ = ["TABLE", "UnknownStepError", "may", "next_state"]

S, E = AlertState, AlertEvent

TABLE: Final[dict[tuple[AlertState | None, AlertEvent], AlertState]] = {
    (None, E.SEEN): S.PENDING,
    (S.PENDING, E.GONE): S.CLEARED,
    (S.PENDING, E.HELD): S.FIRING,
    (S.PENDING, E.MUTE): S.MUTED,
    (S.FIRING, E.WORSE): S.FIRING,
    (S.FIRING, E.LASTED): S.FIRING,
    (S.FIRING, E.STEADY): S.CLEARED,
    (S.FIRING, E.ACKNOWLEDGE): S.ACKNOWLEDGED,
    (S.FIRING, E.MUTE): S.MUTED,
    (S.ACKNOWLEDGED, E.WORSE): S.FIRING,
    (S.ACKNOWLEDGED, E.LASTED): S.ACKNOWLEDGED,
    (S.ACKNOWLEDGED, E.STEADY): S.CLEARED,
    (S.ACKNOWLEDGED, E.ACKNOWLEDGE): S.ACKNOWLEDGED,
    (S.ACKNOWLEDGED, E.MUTE): S.MUTED,
    (S.MUTED, E.STEADY): S.CLEARED,
    (S.MUTED, E.MUTE): S.MUTED,
    (S.MUTED, E.MUTE_OVER): S.FIRING,
}


class UnknownStepError(LookupError):
    """An event that the state knows no answer to: a bug of whoever sent it."""


def may(state: AlertState | None, event: AlertEvent) -> bool:
    """Whether the table knows the pair; for what a person asks, before it is tried."""
    return (state, event) in TABLE


def next_state(state: AlertState | None, event: AlertEvent) -> AlertState:
    """The state after the event; None is an alert that is not there yet.

    Raises UnknownStepError.

    >>> next_state(AlertState.PENDING, AlertEvent.HELD).value
    'firing'
    """
    if not may(state, event):
        was = "nothing" if state is None else state.value
        raise UnknownStepError(f"{event.value} cannot happen to an alert that is {was}")
    return TABLE[state, event]
