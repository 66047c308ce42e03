"""The plain way to watch many switches: a job a switch, objects made anew, a commit a switch.

    python -m tests.bench.naive_station --switches 200 --port 16500 --record record.db

A baseline for tests/bench/end_to_end.py, and nobody's program: what one writes first with the same
libraries. It asks the same objects as the product as often, keeps the counters' last values, and
writes a row for each port into a table clustered by port. It does not prove whose an answer is, nor
judge, tell or serve anything, so it is the cheaper for all of that.
"""

from __future__ import annotations

import argparse
import asyncio
import logging
import sqlite3
import time
from datetime import UTC, datetime, timedelta
from typing import Any

from apscheduler.schedulers.asyncio import AsyncIOScheduler
from pysnmp.hlapi.v3arch.asyncio import (
    CommunityData,
    ContextData,
    ObjectIdentity,
    ObjectType,
    SnmpEngine,
    UdpTransportTarget,
    get_cmd,
)
from tests.bench.crowd import COMMUNITY, host

from strandkeeper.jobs.bind_switch import BoundSwitch, bind_switch
from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.model.oid import Oid, dotted
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.readers.interfaces import SYS_UP_TIME, status_oids
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient

STATUS_S, OPTICS_S = 10, 30
PORTS = (PortName("Gi1"), PortName("Gi2"))


async def objects_of(port: int) -> BoundSwitch:
    """What the product asks of such a switch."""
    secret = SecretRef(kind=SecretKind.FILE, where="unused")
    target = SwitchTarget(
        name=SwitchName("s"),
        host=host(0),
        port=port,
        credentials=CommunityRef(version="2c", community=secret),
    )
    client = SnmpClient([(target, Community(version="2c", text=COMMUNITY.decode()))])
    await client.start()
    bound = await bind_switch(client, target.name, PORTS)
    await client.close()
    return bound


class NaiveStation:
    """`status` and `optics` are the objects of both ports, as text."""

    def __init__(self, record: str, bound: BoundSwitch) -> None:
        self._engine = SnmpEngine()
        self._database = sqlite3.connect(record)
        self._database.execute("PRAGMA journal_mode = WAL")
        self._database.execute(
            "CREATE TABLE reading (port_id INTEGER, time_ms INTEGER, oper INTEGER, light INTEGER, "
            "octets INTEGER, frames INTEGER, errors INTEGER, PRIMARY KEY (port_id, time_ms)) "
            "WITHOUT ROWID"
        )
        ports = list(bound.ports.values())
        self._status: list[Oid] = [SYS_UP_TIME]
        for one in ports:
            key, oids = status_oids(one.columns)
            self._status += [*([] if key is None else [key]), *oids]
        self._optics = [o for one in ports if one.optics is not None for o in one.optics.oids]
        self._last: dict[tuple[int, str], int] = {}
        self._targets: dict[int, UdpTransportTarget] = {}

    async def poll(self, number: int, port: int, turn: int) -> None:
        """Ask one switch, take the differences, write and commit."""
        if number not in self._targets:
            self._targets[number] = await UdpTransportTarget.create((host(number), port), timeout=2)
        found = await self._ask(number, self._status)
        light = await self._ask(number, self._optics) if turn % (OPTICS_S // STATUS_S) == 0 else {}
        for index in (1, 2):
            deltas = {}
            for name, value in found.items():
                if name.endswith(f".{index}"):
                    before = self._last.get((number, name), value)
                    deltas[name], self._last[number, name] = value - before, value
            row = [*deltas.values(), 0, 0, 0][:3]
            self._database.execute(
                "INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?)",
                (2 * number + index, time.time_ns() // 1_000_000, 1, sum(light.values()), *row),
            )
        self._database.commit()

    async def _ask(self, number: int, oids: list[Oid]) -> dict[str, int]:
        objects = [ObjectType(ObjectIdentity(dotted(oid))) for oid in oids]
        auth: Any = CommunityData(COMMUNITY.decode(), mpModel=1)
        error, status, _, found = await get_cmd(
            self._engine, auth, self._targets[number], ContextData(), *objects, lookupMib=False
        )
        if error or status:
            raise RuntimeError(f"the plain way failed: {error or status}")
        values = {}
        for name, value in found:
            try:
                values[str(name)] = int(value)
            except (TypeError, ValueError):
                continue
        return values


async def watch(switches: int, port: int, record: str, seconds: float) -> None:
    """Poll until the time is over."""
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    station = NaiveStation(record, await objects_of(port))
    turns: dict[int, int] = {}

    async def job(number: int) -> None:
        turns[number] = turns.get(number, number) + 1
        await station.poll(number, port, turns[number])

    scheduler = AsyncIOScheduler(timezone=UTC, job_defaults={"misfire_grace_time": None})
    now = datetime.now(UTC)
    for number in range(switches):
        first = now + timedelta(seconds=STATUS_S * number / switches)
        scheduler.add_job(job, "interval", seconds=STATUS_S, args=(number,), next_run_time=first)
    scheduler.start()
    await asyncio.sleep(seconds)
    scheduler.shutdown(wait=False)


def main() -> None:
    """Watch."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--switches", type=int, default=200)
    parser.add_argument("--port", type=int, default=16500)
    parser.add_argument("--record", required=True)
    parser.add_argument("--seconds", type=float, default=600.0)
    given = parser.parse_args()
    asyncio.run(watch(given.switches, given.port, given.record, given.seconds))


if __name__ == "__main__":
    main()
