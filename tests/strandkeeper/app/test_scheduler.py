"""The clockwork on the real loop; the wall clock is stepped by libfaketime in the bench."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta

import pytest

from strandkeeper.app.scheduler import Clockwork, moved, step_of


@pytest.mark.parametrize(
    ("wall", "mono", "step"),
    [
        pytest.param(1.0, 1.0, 0.0, id="both clocks move alike"),
        pytest.param(1.4, 1.0, 0.0, id="slewing is no step"),
        pytest.param(3601.0, 1.0, 3600.0, id="an hour forward"),
        pytest.param(-3599.0, 1.0, -3600.0, id="an hour back"),
        pytest.param(9.0, 9.0, 0.0, id="a slow loop is no step"),
    ],
)
def test_a_step_is_what_the_monotonic_clock_does_not_explain(
    wall: float, mono: float, step: float
) -> None:
    assert step_of(0.0, wall, 0.0, mono) == step


async def test_a_job_that_fails_is_run_again() -> None:
    calls: list[int] = []
    again = asyncio.Event()

    async def job() -> None:
        calls.append(1)
        if len(calls) == 2:
            again.set()
        raise RuntimeError("as planned")

    clockwork = Clockwork()
    clockwork.every(0.02, "failing", job)
    clockwork.start()
    await asyncio.wait_for(again.wait(), 5)
    await clockwork.stop()


async def test_after_a_step_back_the_jobs_are_due_where_they_were() -> None:
    """The scheduler's own due times are moved; an hour back leaves no hour without polls."""
    ran = asyncio.Event()

    async def job() -> None:
        ran.set()

    clockwork = Clockwork()
    clockwork.every(0.05, "poll", job)
    clockwork.start()
    await asyncio.wait_for(ran.wait(), 5)
    scheduled = clockwork._scheduler.get_jobs()[0]
    scheduled.modify(next_run_time=datetime.now(UTC) + timedelta(hours=1))  # as after -1 h
    ran.clear()
    clockwork._re_anchor(-3600.0)
    await asyncio.wait_for(ran.wait(), 5)
    await clockwork.stop()


@pytest.mark.parametrize(
    ("due_s", "step_s", "wanted_s"),
    [
        pytest.param(0.4 - 3600, 3600, 0.4, id="ahead, not run since"),
        pytest.param(0.4 + 3600, -3600, 0.4, id="back, not run since"),
        pytest.param(0.4, 3600, 1.0, id="ahead, run since: due by the new clock already"),
        pytest.param(0.4, -3600, 0.0, id="back, run since"),
    ],
)
def test_after_a_step_a_job_is_due_within_one_interval(
    due_s: float, step_s: float, wanted_s: float
) -> None:
    now = datetime(2026, 11, 25, tzinfo=UTC)
    due = moved(now + timedelta(seconds=due_s), step_s, now, timedelta(seconds=1))
    assert (due - now).total_seconds() == pytest.approx(wanted_s)
