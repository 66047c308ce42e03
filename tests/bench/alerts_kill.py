"""Kills the teller with SIGKILL at random moments across the send, and counts what arrived.

    python tests/bench/alerts_kill.py [--kills 300] [--seed 1] [--directory DIR]

A child makes alerts one after another, enters each in a real record and has it delivered by a real
command, which appends what it is given to a file. It is killed and started again; the last run is
left to finish. Then every message entered must have arrived at least once, first arrivals in the
order in which they were made, and nothing else may have arrived.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.app.disk import Disk
from strandkeeper.jobs.deliver_outbox import Deliverer
from strandkeeper.jobs.tell import Teller
from strandkeeper.model.finding import Finding, FindingKind, NextStep, Severity
from strandkeeper.model.link import Thresholds
from strandkeeper.model.message import CommandWay, Message, Outgoing, Target
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.switch import SecretRef
from strandkeeper.model.telling import TellingSettings
from strandkeeper.notify.delivery import Delivery
from strandkeeper.notify.send import send
from strandkeeper.store import open_writer
from strandkeeper.store.telling import Telling, TellingBatch


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What a run of kills came to."""

    kills: int
    entered: int
    arrived: int
    twice: int
    missing: int
    invented: int
    out_of_order: int
    untold: int


def settings_for(record: Path, heard: Path) -> Settings:
    command = ("/bin/sh", "-c", 'cat >> "$0"', str(heard))
    target = Target(name="keeper", way=CommandWay(command=command), quiet=False)
    return Settings(
        station="Bench",
        switches=(),
        links=(),
        store=StoreSettings(path=str(record)),
        thresholds=Thresholds(link_down_tell_s=0),
        telling=TellingSettings(targets=(target,), weekly_day=None),
    )


def no_secret(ref: SecretRef) -> str:
    raise AssertionError(ref)


class Child:
    """What the daemon does with alerts, without the polling."""

    def __init__(self, settings: Settings, telling: Telling, teller: Teller) -> None:
        self.telling = telling
        self.teller = teller
        self.disk = Disk()
        self.deliverer = Deliverer(
            settings.telling.targets, self.send, self.save, self.setting, 86_400
        )

    def setting(self) -> Setting:
        return self.teller.setting(time.time_ns() // 1_000_000, 0)

    async def send(self, target: Target, message: Message) -> Delivery:
        return await send(target, message, no_secret)

    async def save(self, fates: Sequence[Outgoing]) -> None:
        await self.disk.do(partial(self.telling.write, TellingBatch(fates=fates)))

    async def look(self, findings: Sequence[Finding]) -> None:
        now_ms = time.time_ns() // 1_000_000
        batch = self.teller.look(now_ms, 0, (), findings)
        if batch:
            await self.disk.do(partial(self.telling.write, batch))
            self.deliverer.take(batch.messages)
        self.deliverer.start_due()


async def child(record: Path, heard: Path, alerts: int) -> None:
    """Make so many new alerts, then wait until all has gone out."""
    settings = settings_for(record, heard)
    writer = open_writer(record, reserve=False)
    telling, state = writer.telling()
    run = Child(settings, telling, Teller(settings, state))
    run.deliverer.take(state.waiting)
    open_ones = [a.finding for a in state.alerts]
    for n in range(alerts):
        fresh = Finding(
            link=LinkName(f"link {state.last_number + n + 1}"),
            kind=FindingKind.LINK_DOWN,
            severity=Severity.URGENT,
            since_ms=time.time_ns() // 1_000_000,
            next_steps=(NextStep.CHECK_FAR_POWER,),
        )
        open_ones = [*open_ones, fresh][-3:]  # older ones are over: their clearing time runs
        await run.look(open_ones)
        await asyncio.sleep(0.01)
    while any(run.deliverer.waiting().values()):
        run.deliverer.start_due()
        await asyncio.sleep(0.02)
    await run.disk.close()
    writer.close()


def tally(record: Path, heard: Path, kills: int) -> Tally:
    """Compare what was entered with what arrived."""
    with sqlite3.connect(record) as database:
        keys = [key for (key,) in database.execute("SELECT key FROM outbox ORDER BY id")]
        held = database.execute(
            "SELECT count(*) FROM alert_transition WHERE event = 'held'"
        ).fetchone()[0]
    database.close()
    arrived: list[str] = []
    for line in heard.read_text(encoding="utf-8").splitlines():
        message = json.loads(line)
        arrived += message["facts"].get("keys", [message["key"]])
    first = list(dict.fromkeys(arrived))
    known = [key for key in first if key in set(keys)]
    in_order = [key for key in keys if key in set(first)]
    return Tally(
        kills=kills,
        entered=len(keys),
        arrived=len(arrived),
        twice=len(arrived) - len(first),
        missing=len(set(keys) - set(first)),
        invented=len(first) - len(known),
        out_of_order=sum(a != b for a, b in zip(known, in_order, strict=True)),
        untold=held - len(keys),
    )


def kill_often(directory: Path, kills: int, seed: int) -> Tally:
    """Start, kill at a random moment, start again; the last run finishes."""
    record, heard = directory / "record.db", directory / "heard.jsonl"
    heard.touch()
    chance = random.Random(seed)
    start = partial(_start, record, heard)
    killed = 0
    while killed < kills:
        process = start(alerts=1000)
        _until_ready(process)
        time.sleep(chance.uniform(0.0, 0.35))
        process.kill()
        process.communicate(timeout=30)
        killed += 1
    last = start(alerts=3)
    last.communicate(timeout=120)
    assert last.returncode == 0
    time.sleep(0.5)  # commands that outlived their parent come to their end
    return tally(record, heard, kills)


def _start(record: Path, heard: Path, *, alerts: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, __file__, "--child", str(record), str(heard), str(alerts)]
    return subprocess.Popen(command, stdout=subprocess.PIPE)


def _until_ready(process: subprocess.Popen[bytes]) -> None:
    """Its imports are done: from here on it makes, enters and sends."""
    assert process.stdout is not None
    process.stdout.readline()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--directory", type=Path)
    parser.add_argument("--child", nargs=3)
    arguments = parser.parse_args()
    if arguments.child:
        print("ready", flush=True)
        record, heard, alerts = arguments.child
        asyncio.run(child(Path(record), Path(heard), int(alerts)))
        return 0
    directory = arguments.directory or Path(tempfile.mkdtemp(prefix="alerts-kill-"))
    print(kill_often(directory, arguments.kills, arguments.seed))
    return 0


if __name__ == "__main__":
    sys.exit(main())
