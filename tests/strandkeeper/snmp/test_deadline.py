"""Silence is silence of the switch, not of this computer."""

from __future__ import annotations

import asyncio
import time

from strandkeeper.snmp.deadline import SILENCE, Deadline
from strandkeeper.snmp.engine import Report
from strandkeeper.snmp.pdus import Reply

ANSWER = Reply(0, 0, [])


def awaited() -> asyncio.Future[Reply | Report]:
    return asyncio.get_running_loop().create_future()


async def test_what_does_not_come_is_silence() -> None:
    outcome = awaited()
    Deadline(outcome, 0.01)
    assert await outcome is SILENCE


async def test_what_comes_in_time_stands() -> None:
    outcome = awaited()
    deadline = Deadline(outcome, 0.01)
    outcome.set_result(ANSWER)
    assert await outcome is ANSWER
    await asyncio.sleep(0.05)
    deadline.cancel()
    assert outcome.result() is ANSWER


async def test_a_deadline_that_is_cancelled_says_nothing() -> None:
    outcome = awaited()
    Deadline(outcome, 0.01).cancel()
    await asyncio.sleep(0.05)
    assert not outcome.done()


async def test_an_answer_that_nobody_could_look_at_in_time_is_still_taken() -> None:
    """The loop stands still beyond the deadline; the answer is there soon after it goes on."""
    outcome = awaited()
    Deadline(outcome, 0.5)
    time.sleep(1.5)  # noqa: ASYNC251  # nobody looks
    asyncio.get_running_loop().call_later(
        0.05, lambda: outcome.done() or outcome.set_result(ANSWER)
    )
    assert await outcome is ANSWER


async def test_it_is_waited_for_once_more_and_not_for_ever() -> None:
    outcome = awaited()
    Deadline(outcome, 0.05)
    time.sleep(0.2)  # noqa: ASYNC251  # nobody looks
    assert await outcome is SILENCE
