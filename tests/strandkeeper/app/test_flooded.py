"""The daemon beside a switch that floods it: others are polled, memory stays, the end is clean."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from tests.bench.crowd import write_config
from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp.agents import Agent
from tests.strandkeeper.snmp.test_flood import flood

from strandkeeper.errors import StoreError
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.names import End, LinkName
from strandkeeper.snmp.flood import MOST_A_SECOND
from strandkeeper.store import open_reader

pytestmark = [pytest.mark.slow, pytest.mark.timeout(400)]

INTERVAL_S = 1
POLLS = 12
HELD_MIB = 48  # what a daemon may come to hold while it meets its switches, flood or none
STATION = """station = "flooded"
[store]
path = "record.db"
batch_s = 1
[intervals]
status_s = {interval}
optics_s = {interval}
[metrics]
port = 0
[dashboard]
port = 0
[[link]]
name = "quay"
length_m = 900
[link.a]
name = "calm"
switch = "calm"
port = "Gi1"
pmd = "1000BASE-LX10"
[link.b]
name = "flooding"
switch = "flooding"
port = "Gi1"
pmd = "1000BASE-LX10"
"""
SWITCH = """[[switch]]
name = "{name}"
host = "{host}"
port = {port}
snmp = {{ version = "2c", community_file = "community" }}
"""


def polls(record: Path) -> tuple[int, int]:
    """Rows of the calm switch in which it answered, and in which it did not."""
    with contextlib.suppress(StoreError), contextlib.closing(open_reader(record)) as reader:
        rows = [row.answered for row in reader.rows(LinkName("quay")) if row.end is End.A]
        return rows.count(True), rows.count(False)
    return 0, 0


def health(record: Path) -> SwitchHealth | None:
    with contextlib.closing(open_reader(record)) as reader:
        return next((s for s in reader.switches() if s.switch == "flooding"), None)


def held_mib(pid: int) -> float:
    """Memory of its own; pages of files come and go as the system likes."""
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("RssAnon:")[1].split()[0]) / 1024


async def until(what: str, holds: Callable[[], bool], patience_s: float = 120.0) -> None:
    end = time.monotonic() + patience_s
    while not await asyncio.to_thread(holds):
        assert time.monotonic() < end, what
        await asyncio.sleep(0.2)


@asynccontextmanager
async def calm_switch() -> AsyncIterator[Agent]:
    """A switch whose clock goes."""
    switch, begun_s = SmallSwitch(), time.monotonic()
    first_cs = switch.uptime_cs

    def tick() -> None:
        switch.tick(first_cs + round((time.monotonic() - begun_s) * 100) - switch.uptime_cs)

    async with Agent(switch.table, before_each=tick) as agent:
        yield agent


@contextlib.contextmanager
def daemon(config: Path) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


async def test_a_flood_costs_no_poll_of_another_switch_and_does_no_harm(tmp_path: Path) -> None:
    record = tmp_path / "record.db"
    async with calm_switch() as calm:
        with flood("127.0.0.2", 390.0) as (flooder, port):
            text = STATION.format(interval=INTERVAL_S)
            text += SWITCH.format(name="calm", host=calm.address[0], port=calm.address[1])
            text += SWITCH.format(name="flooding", host="127.0.0.2", port=port)
            with daemon(write_config(tmp_path, text)) as process:
                await until("the first rows", lambda: polls(record)[0] > 2)
                before, held = polls(record), held_mib(process.pid)
                await until("its polls", lambda: polls(record)[0] - before[0] >= POLLS)
                await until("a word of the other", lambda: health(record) is not None)
                after = polls(record)
                assert after[1] == before[1], "a poll of the calm switch was lost"
                assert held_mib(process.pid) - held < HELD_MIB
                assert flooder.poll() is None, "the flood was over before the end"
                known = health(record)
                assert known is not None, "it is not said how the flooding switch answers"
                assert known.heard_ms is not None or "did not answer" in known.error
                process.send_signal(signal.SIGTERM)
                said = process.communicate(timeout=60)[1]
                assert process.returncode == 0, said
                assert "Traceback" not in said
                assert f"127.0.0.2 sent more than {MOST_A_SECOND} datagrams in a second" in said
