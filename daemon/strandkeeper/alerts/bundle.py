"""Which of the messages that wait for one target go out now, and what a failed try changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.alerts.retry import GIVE_UP_S, next_delay_s
from strandkeeper.model.message import Outgoing, OutgoingState

__all__ = ["Bundle", "after_failure", "after_success", "bundle"]

MOST: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """What goes out as one: a single message, or several as a digest; never empty.

    `failed`: the way out was down (else it was the quiet hours that held them back).
    """

    parts: tuple[Outgoing, ...]
    failed: bool = False


def bundle(waiting: Sequence[Outgoing], now_ms: int) -> Bundle | None:
    """The next bundle of one target; `waiting` in order. None: nothing is due.

    The first message that may go leads: while it waits for its next try nothing overtakes it. If it
    was held up, all that may go by now goes with it.
    """
    due = [item for item in waiting if item.not_before_ms <= now_ms]
    if not due or due[0].next_ms > now_ms:
        return None
    first = due[0]
    failed = first.attempts > 0
    held_up = failed or first.not_before_ms > first.message.time_ms
    return Bundle(parts=tuple(due[:MOST]) if held_up else (first,), failed=failed)


def after_success(parts: Sequence[Outgoing], now_ms: int) -> list[Outgoing]:
    """The parts as delivered."""
    return [
        replace(
            item,
            attempts=item.attempts + 1,
            state=OutgoingState.DELIVERED,
            done_ms=now_ms,
            error="",
        )
        for item in parts
    ]


def after_failure(
    parts: Sequence[Outgoing], now_ms: int, why: str, give_up_s: float = GIVE_UP_S
) -> list[Outgoing]:
    """The parts with their next try, or given up where they are too old."""
    return [_failed(item, now_ms, why, give_up_s, parts[0].attempts + 1) for item in parts]


def _failed(item: Outgoing, now_ms: int, why: str, give_up_s: float, attempts: int) -> Outgoing:
    age_s = (now_ms - max(item.message.time_ms, item.not_before_ms)) / 1000
    delay_s = next_delay_s(attempts, age_s, give_up_s)
    tried = replace(item, attempts=max(attempts, item.attempts + 1), error=why)
    if delay_s is None:
        return replace(tried, state=OutgoingState.GIVEN_UP, done_ms=now_ms)
    return replace(tried, next_ms=now_ms + round(delay_s * 1000))
