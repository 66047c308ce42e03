"""The daemon's clockwork: APScheduler, with the two traps it has taken away.

The scheduler follows the wall clock: after a step back it would run nothing for as long as the
step was, in silence. A task on the loop's monotonic clock notices every step and re-anchors the
jobs. Jobs are coroutines only, are never dropped for being late and never overlap.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta

from apscheduler.schedulers.asyncio import AsyncIOScheduler

__all__ = ["Clockwork", "moved", "step_of"]

log = logging.getLogger(__name__)

_WATCH_S = 1.0
_STEP_S = 1.5


def step_of(wall_before: float, wall: float, mono_before: float, mono: float) -> float:
    """How far the wall clock jumped between two looks, in s; 0 for less than `_STEP_S`.

    Slewing by the time service moves it by far less than that in a second.
    """
    step = (wall - wall_before) - (mono - mono_before)
    return step if abs(step) >= _STEP_S else 0.0


def moved(due: datetime, step_s: float, now: datetime, interval: timedelta) -> datetime:
    """When a job is due by the clock after a step; `now` is by that clock.

    Never later than one interval from now: a job that has run between the step and its being
    noticed is due by the new clock already, and moved along once more it would wait for the step's
    whole length.
    """
    return min(max(due + timedelta(seconds=step_s), now), now + interval)


class Clockwork:
    """Runs each job at its interval until `stop`; a job that fails is logged and runs again."""

    def __init__(self) -> None:
        self._scheduler = AsyncIOScheduler(
            timezone=UTC,
            job_defaults={"coalesce": True, "misfire_grace_time": None, "max_instances": 1},
        )
        self._watch: asyncio.Task[None] | None = None
        self.steps_s: list[float] = []

    def every(self, seconds: float, name: str, job: Callable[[], Awaitable[None]]) -> None:
        """Run `job` each `seconds`, for the first time at once."""

        async def guarded() -> None:
            try:
                await job()
            except Exception:
                log.exception("job failed job=%s", name)

        self._scheduler.add_job(
            guarded, "interval", seconds=seconds, id=name, next_run_time=datetime.now(UTC)
        )

    def start(self) -> None:
        """Start the jobs and the watch over the wall clock. Needs a running loop."""
        logging.getLogger("apscheduler").setLevel(logging.ERROR)
        self._scheduler.start()
        self._watch = asyncio.create_task(self._watch_the_clock(), name="clock watch")

    async def stop(self) -> None:
        """Stop the watch and the jobs."""
        if self._watch is not None:
            self._watch.cancel()
            await asyncio.gather(self._watch, return_exceptions=True)
        if self._scheduler.running:
            self._scheduler.shutdown(wait=False)

    async def _watch_the_clock(self) -> None:
        wall, mono = time.time(), time.monotonic()
        while True:
            await asyncio.sleep(_WATCH_S)
            wall_now, mono_now = time.time(), time.monotonic()
            step = step_of(wall, wall_now, mono, mono_now)
            wall, mono = wall_now, mono_now
            if step:
                self._re_anchor(step)

    def _re_anchor(self, step_s: float) -> None:
        """Move every due time along with the wall clock, so that no gap and no burst follows."""
        log.warning("the clock was stepped step_s=%.1f", step_s)
        self.steps_s.append(step_s)
        self._scheduler.pause()
        now = datetime.now(UTC)
        for job in self._scheduler.get_jobs():
            due = moved(job.next_run_time, step_s, now, job.trigger.interval)
            job.modify(next_run_time=due)
        self._scheduler.resume()
