"""CPU that one poll of one switch costs, held against the SNMP library's plain way of asking.

    .venv/bin/python -m tests.bench.poll_cost [--rounds 15] [--polls 40]

A simulated switch with two fibre ports answers from another process, so that its cost is not
counted. In this process, in turns, the same objects are asked of it
  - by `SnmpClient.get`, as the product does,
  - by a whole status poll, `SwitchPoller.poll`: asking, proving, decoding, counting,
  - by the library's `get_cmd` with the objects made anew for each request and lookupMib=False.
Medians of process time over the rounds; the ratios are what counts, the milliseconds are this
machine's. Targets: at most 0.55 for a whole poll, v2c and v3 (SHA-256, AES-128).
"""

from __future__ import annotations

import argparse
import asyncio
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable
from statistics import median
from typing import Any

from pysnmp.hlapi.v3arch.asyncio import (
    CommunityData,
    ContextData,
    ObjectIdentity,
    ObjectType,
    SnmpEngine,
    UdpTransportTarget,
    UsmUserData,
    get_cmd,
    usmAesCfb128Protocol,
    usmHMAC192SHA256AuthProtocol,
)
from pysnmp.proto import rfc1902
from tests.bench.target import Target, report
from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent
from tests.strandkeeper.snmp.v3_agent import User, V3Agent

from strandkeeper.jobs.bind_switch import bind_switch
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.oid import Oid, dotted
from strandkeeper.model.poll import LinkEnd
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.readers.interfaces import (
    IF_TABLE_LAST_CHANGE,
    SYS_UP_TIME,
    status_oids,
)
from strandkeeper.snmp.credentials import Community, Credential, Usm
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.snmp.sizes import Group

QUAY = SwitchName("quay")
ENDS = {
    LinkEnd(LinkName("pump house"), End.A): PortName("Gi1"),
    LinkEnd(LinkName("jetty"), End.A): PortName("Gi2"),
}
USER = User()
TARGET_RATIO = 0.55
_SERVES_S = 600

Work = Callable[[], Awaitable[object]]


def _wire(cell: ber.Cell) -> Any:
    number = int.from_bytes(cell.body, "big", signed=True)
    made: dict[int, Callable[[], Any]] = {
        ber.INTEGER: lambda: rfc1902.Integer32(number),
        ber.COUNTER32: lambda: rfc1902.Counter32(number),
        ber.COUNTER64: lambda: rfc1902.Counter64(number),
        ber.GAUGE32: lambda: rfc1902.Gauge32(number),
        ber.TICKS: lambda: rfc1902.TimeTicks(number),
        ber.OCTETS: lambda: rfc1902.OctetString(cell.body),
        ber.OID_TAG: lambda: rfc1902.ObjectIdentifier(ber.read_oid(cell.body)),
    }
    return made[cell.tag]()


async def serve(version: str) -> None:
    """Be the switch, until the parent ends the process or ten minutes have passed."""
    table = SmallSwitch().table
    if version == "3":
        agent = V3Agent(USER)
        agent.table = {oid: _wire(cell) for oid, cell in table.items()}
        async with agent:
            print(agent.port, flush=True)
            await asyncio.sleep(_SERVES_S)
    async with Agent(table) as plain:
        print(plain.address[1], flush=True)
        await asyncio.sleep(_SERVES_S)


def _credential(version: str) -> Credential:
    if version == "2c":
        return Community(version="2c", text="look")
    return Usm(
        user=USER.name,
        auth_protocol=USER.auth,
        auth_key=USER.auth_key,
        priv_protocol=USER.priv,
        priv_key=USER.priv_key,
    )


async def _library_way(version: str, port: int, oids: list[Oid]) -> tuple[SnmpEngine, Work]:
    engine = SnmpEngine()
    where = await UdpTransportTarget.create(("127.0.0.1", port), timeout=5)
    auth: Any = CommunityData("look", mpModel=1)
    if version == "3":
        auth = UsmUserData(
            USER.name,
            USER.auth_key,
            USER.priv_key,
            authProtocol=usmHMAC192SHA256AuthProtocol,
            privProtocol=usmAesCfb128Protocol,
        )
    texts = [dotted(oid) for oid in oids]

    async def ask() -> object:
        objects = [ObjectType(ObjectIdentity(text)) for text in texts]
        error, status, _, found = await get_cmd(
            engine, auth, where, ContextData(), *objects, lookupMib=False
        )
        if error or status or len(found) != len(texts):
            raise RuntimeError(f"the plain way failed: {error or status}")
        return found

    return engine, ask


async def measure(version: str, port: int, rounds: int, polls: int) -> dict[str, float]:
    """Median CPU in ms of each way, asked in turns."""
    target = SwitchTarget(
        name=QUAY,
        host="127.0.0.1",
        port=port,
        credentials=CommunityRef(
            version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused")
        ),
        timeout_s=5,
    )
    client = SnmpClient([(target, _credential(version))])
    await client.start()
    bound = await bind_switch(client, QUAY, list(ENDS.values()))
    groups: list[Oid | Group] = [IF_TABLE_LAST_CHANGE]
    groups += [Group(*status_oids(p.columns)) for p in bound.ports.values()]
    first = await client.get(QUAY, groups, each=(SYS_UP_TIME,))
    oids = [oid for part in first.parts for oid in part.values]
    if len(first.parts) != 1:
        raise RuntimeError("the status poll of two ports no longer fits into one request")
    poller = SwitchPoller(client, QUAY, ENDS)
    engine, plain = await _library_way(version, port, oids)
    ways: dict[str, Work] = {
        "SnmpClient.get": lambda: client.get(QUAY, groups, each=(SYS_UP_TIME,)),
        "SwitchPoller.poll": lambda: poller.poll(0, optics=False),
        "get_cmd": plain,
    }
    taken: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(rounds + 1):
        for name, work in ways.items():
            taken[name].append(await _cpu_ms(work, polls))
    engine.close_dispatcher()
    await client.close()
    print(f"v{version}: {len(oids)} objects a request, {rounds} rounds of {polls}")
    return {name: median(times[1:]) for name, times in taken.items()}


async def _cpu_ms(work: Work, polls: int) -> float:
    started = time.process_time()
    for _ in range(polls):
        await work()
    return (time.process_time() - started) * 1000 / polls


def main() -> int:
    """Print a table; 1 if a ratio is above its target."""
    parser = argparse.ArgumentParser(description="CPU of one poll of one switch")
    parser.add_argument("--rounds", type=int, default=15, help="turns of each way")
    parser.add_argument("--polls", type=int, default=40, help="polls in a turn")
    parser.add_argument("--serve", choices=("2c", "3"), help="be the switch")
    args = parser.parse_args()
    if args.serve:
        asyncio.run(serve(args.serve))
        return 0
    worst = 0.0
    for version in ("2c", "3"):
        with subprocess.Popen(
            [sys.executable, "-m", "tests.bench.poll_cost", "--serve", version],
            stdout=subprocess.PIPE,
            text=True,
        ) as switch:
            assert switch.stdout is not None
            try:
                port = int(switch.stdout.readline())
                found = asyncio.run(measure(version, port, args.rounds, args.polls))
            finally:
                switch.terminate()
        for name, ms in found.items():
            print(f"  {name:18} {ms:6.2f} ms  ratio {ms / found['get_cmd']:.2f}")
        worst = max(worst, found["SwitchPoller.poll"] / found["get_cmd"])
        report(
            Target(
                subject="poll",
                name="a status poll of two ports, " + ("v2c" if version == "2c" else "v3 authPriv"),
                unit="ms CPU",
                ours=found["SwitchPoller.poll"],
                baseline=found["get_cmd"],
                limit=TARGET_RATIO,
                of="ratio",
                beside="get_cmd, objects made anew, lookupMib=False",
            )
        )
    print(f"worst ratio of a whole poll {worst:.2f}, target at most {TARGET_RATIO}")
    return int(worst > TARGET_RATIO)


if __name__ == "__main__":
    sys.exit(main())
