"""Thirty days of the daemon in minutes: does anything grow, drift, get lost or get counted twice?

    python -m tests.bench.soak [--days 30] [--tick 10] [--batch 60] [--folder DIR]

The whole daemon runs (app.daemon.run_daemon until SIGTERM) with its record on disk: scheduler, poll
table, record clock, fold, analysis, alerts, outbox, batches, summaries, retention. Both clocks are
injected: the loop's selector does not wait for the next timer, it moves the clock there. Stands in
for reality, since thirty days of UDP take thirty days:

- switches: SwitchPolls from a small plant (three switches, two links) instead of SNMP, and a target
  for messages that answers from memory and is out of reach some hours;
- the disk's thread: the same calls at once, since no simulated time passes while one waits for it;
- the daemon looks every `--tick` seconds, not every second, and writes every `--batch` seconds, not
  every 20: most of a run's time goes there. `--tick 1 --batch 20` is the daemon as it is.

Status every 10 s, optics every 30 s; now and then a flap of four polls, at night a restart (two
polls unanswered: no more, or the back-off would thin the polls out), and a strand that creeps. Raw
rows are kept for a sixth and five-minute rows for half of the time, so that both are deleted from.

A side ledger, a file of the bench's own, gets every row handed to the store; its sums are made in
plain Python (soak_ledger.py). Each line of the table is one check (soak_checks.py); what spoils it
is in tests/strandkeeper/app/test_soak.py.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import gc
import logging
import signal
import sys
import tempfile
import time
import tracemalloc
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.bench.soak_checks import EXPIRE_S, Outcome, judge, retention_of
from tests.bench.soak_ledger import Ledger
from tests.bench.soak_plant import (
    DAY_S,
    GATE,
    HUB,
    LINKS,
    PUMP,
    AtOnce,
    Clock,
    Loop,
    NoClient,
    Pace,
    Plant,
    PlantPoller,
)

from strandkeeper.app import daemon as real
from strandkeeper.jobs.record import Recorder
from strandkeeper.model.finding import Severity
from strandkeeper.model.message import PageWay, Target
from strandkeeper.model.settings import Intervals, Settings, StoreSettings
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.model.telling import TellingSettings
from strandkeeper.store import Batch


class LedgerRecorder(Recorder):
    """The recorder, and a note of what goes from it to the store."""

    def __init__(self, ledger: Ledger, outcome: Outcome, *given: Any) -> None:
        super().__init__(*given)
        self._ledger = ledger
        self._outcome = outcome

    def take_batch(self, *, last: bool = False) -> Batch:
        self._outcome.batches += 1
        self._outcome.hurried += self.has_news
        batch = super().take_batch(last=last)
        self._ledger.add(batch.rows)
        self._outcome.longest_batch = max(self._outcome.longest_batch, len(batch.rows))
        return batch


class WatchedDaemon(real.Daemon):
    """The daemon, counted; ends itself by SIGTERM when the time is over."""

    def __init__(self, outcome: Outcome, clock: Clock, *given: Any) -> None:
        super().__init__(*given)
        self._outcome = outcome
        self._told = clock
        self._done = False
        self._marks = [n * outcome.days * DAY_S / 3 for n in (1, 2, 3)]
        self._halves = [n * outcome.days * DAY_S / 2 for n in (1, 2)]
        # Tracing doubles the time of a poll. Only what was made since it began is counted, so the
        # judgement's seven days of hours must have been made anew before the first look.
        self._traced = [outcome.days * DAY_S * part / 12 for part in (7, 10, 12)]
        outcome.counted |= {"ticks": 0, "expire runs": 0}

    async def tick(self) -> None:
        await super().tick()
        outcome, at_s = self._outcome, self._told.monotonic()
        outcome.counted["ticks"] += 1
        outcome.most_tasks = max(outcome.most_tasks, len(asyncio.all_tasks()))
        if self._marks and at_s >= self._marks[0]:
            self._marks.pop(0)
            outcome.rss_mb.append(_resident_mb())
            print(f"day {at_s / DAY_S:.2f}: {outcome.rss_mb[-1]:.1f} MB", file=sys.stderr)
        if self._halves and at_s >= self._halves[0]:
            self._halves.pop(0)
            gc.collect()
            outcome.blocks.append(sys.getallocatedblocks())
        if self._traced and at_s >= self._traced[0]:
            self._trace()
        if at_s >= outcome.span_s and not self._done:
            self._done = True
            signal.raise_signal(signal.SIGTERM)

    def _trace(self) -> None:
        if len(self._traced) == 3:
            tracemalloc.start()
        else:
            gc.collect()
            self._outcome.traced_kb.append(tracemalloc.get_traced_memory()[0] / 1000)
        self._traced.pop(0)
        if not self._traced:
            tracemalloc.stop()

    async def tell(self) -> None:
        outcome = self._outcome
        quiet = outcome.batches - outcome.hurried
        await super().tell()
        outcome.hurried = outcome.batches - quiet  # rows go before the steps of an alert
        waiting = sum(self._alerting.snapshot(()).waiting.values())
        self._outcome.most_waiting = max(self._outcome.most_waiting, waiting)

    async def expire(self) -> None:
        self._outcome.counted["expire runs"] += 1
        await super().expire()

    async def finish(self) -> None:
        self._outcome.left_waiting = sum(self._alerting.snapshot(()).waiting.values())
        await super().finish()


def _resident_mb() -> float:
    """Memory of its own after a collection, less what tracing itself holds.

    Pages of files do not count: the system takes and brings them as it likes.
    """
    gc.collect()
    status = Path("/proc/self/status").read_text()
    own = int(status.split("RssAnon:")[1].split()[0]) * 1024
    return (own - tracemalloc.get_tracemalloc_memory()) / 1e6


class _Errors(logging.Handler):
    def __init__(self, outcome: Outcome) -> None:
        super().__init__(logging.ERROR)
        self._outcome = outcome

    def emit(self, record: logging.LogRecord) -> None:
        self._outcome.errors.append(record.getMessage())


def settings_for(folder: Path, days: int, pace: Pace) -> Settings:
    """Two links, three switches; retention so short that both tiers are deleted from."""
    secret = SecretRef(kind=SecretKind.FILE, where=str(folder / "never read"))
    community = CommunityRef(version="2c", community=secret)
    return Settings(
        station="soak",
        switches=tuple(
            SwitchTarget(name=name, host="127.0.0.1", credentials=community)
            for name in (HUB, PUMP, GATE)
        ),
        links=LINKS,
        store=StoreSettings(
            path=str(folder / "record.db"), batch_s=pace.batch_s, retention=retention_of(days)
        ),
        intervals=Intervals(status_s=pace.status_s, optics_s=pace.optics_s),
        metrics=None,
        telling=TellingSettings(
            targets=(Target(name="phone", way=PageWay(), least=Severity.NOTE, quiet=False),)
        ),
    )


def run(folder: Path, days: int, pace: Pace) -> Outcome:
    """Let the daemon run for so many days; its record and the ledger are left in `folder`."""
    settings, clock = settings_for(folder, days, pace), Clock()
    plant, outcome = Plant(clock, pace), Outcome(days=days, pace=pace)
    ledger = Ledger(folder / "ledger")
    root, errors = logging.getLogger("strandkeeper"), _Errors(outcome)
    level, root.level = root.level, logging.ERROR
    root.addHandler(errors)
    began_s = time.perf_counter()
    instead = {
        "app.daemon.time": clock,
        "app.alerting.time": clock,
        "app.live_clock.time": clock,
        "app.scheduler.time": clock,
        "app.scheduler.datetime": clock.datetime(),
        "app.scheduler._WATCH_S": pace.tick_s,
        "app.alerting.send": plant.send,
        "app.daemon._TICK_S": pace.tick_s,
        "app.daemon.SnmpClient": NoClient,
        "app.daemon.Disk": AtOnce,
        "app.daemon.SwitchPoller": partial(PlantPoller, plant),
        "app.daemon.Recorder": partial(LedgerRecorder, ledger, outcome),
        "app.daemon.Daemon": partial(WatchedDaemon, outcome, clock),
    }
    with contextlib.ExitStack() as stack:
        for name, thing in instead.items():
            stack.enter_context(patch(f"strandkeeper.{name}", thing))
        for name in ("schedulers.base", "triggers.interval"):
            stack.enter_context(patch(f"apscheduler.{name}.datetime", clock.datetime()))
        runner = stack.enter_context(asyncio.Runner(loop_factory=lambda: Loop(clock)))
        runner.run(real.run_daemon(settings, folder / "unread.toml", with_dashboard=False))
    outcome.took_s = time.perf_counter() - began_s
    root.removeHandler(errors)
    root.setLevel(level)
    ledger.close()
    _count(outcome, plant)
    return outcome


def _count(outcome: Outcome, plant: Plant) -> None:
    """Beside each count, what its interval says: one at the start and one each interval."""
    for what, found, interval_s in (
        ("status polls", plant.status, outcome.pace.status_s),
        ("optics polls", plant.optics, outcome.pace.optics_s),
    ):
        for switch, count in sorted(found.items()):
            outcome.counted[f"{what} {switch}"] = count
            outcome.wanted[f"{what} {switch}"] = outcome.span_s / interval_s + 1
    outcome.wanted["ticks"] = outcome.span_s / outcome.pace.tick_s + 1
    outcome.wanted["expire runs"] = outcome.span_s / EXPIRE_S + 1
    outcome.messages, outcome.refused = plant.messages, plant.refused


def main() -> int:
    """Print the table; 1 if any check fails."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=30)
    parser.add_argument("--tick", type=int, default=Pace().tick_s, help="s between two looks")
    parser.add_argument("--batch", type=int, default=Pace().batch_s, help="s between two batches")
    parser.add_argument("--folder", type=Path, help="where record and ledger stay")
    given = parser.parse_args()
    with contextlib.ExitStack() as stack:
        folder = given.folder
        if folder is None:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        outcome = run(folder, given.days, Pace(tick_s=given.tick, batch_s=given.batch))
        checks = judge(outcome, folder)
    print(
        f"{given.days} days in {outcome.took_s:.0f} s, {outcome.span_s / outcome.took_s:.0f} times"
        f" as fast; looked every {given.tick} s"
    )
    for check in checks:
        print(f"{check.name:28} {'good' if check.good else 'BAD ':4}  {check.said}")
    return 0 if all(check.good for check in checks) else 1


if __name__ == "__main__":
    sys.exit(main())
