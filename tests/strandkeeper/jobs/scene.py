"""A small switch with its agent, a client and a poller, moved by the test."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp.agents import Agent

from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.enterprise_table import EnterpriseTable
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, SwitchPoll
from strandkeeper.model.power import Measured, Power
from strandkeeper.model.reading import EndRow
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient

QUAY = SwitchName("quay")
PUMP, JETTY = LinkEnd(LinkName("pump house"), End.A), LinkEnd(LinkName("jetty"), End.B)
ENDS = {PUMP: PortName("Gi1"), JETTY: PortName("Gi2")}
NOBODYS = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused"))


@dataclass
class Scene:
    """A switch, its agent, a client and a poller. Time goes by ten seconds a poll."""

    switch: SmallSwitch
    agent: Agent
    client: SnmpClient
    polls: int = 0
    poller: SwitchPoller = field(init=False)

    def poller_for(self, ends: dict[LinkEnd, PortName]) -> SwitchPoller:
        return SwitchPoller(self.client, QUAY, ends)

    async def poll(self, *, optics: bool = True) -> SwitchPoll:
        self.polls += 1
        return await self.poller.poll(self.polls * 10_000, optics=optics)


@asynccontextmanager
async def scene_of(
    agent: Agent,
    switch: SmallSwitch,
    *,
    timeout_s: float = 0.2,
    tables: tuple[EnterpriseTable, ...] = (),
) -> AsyncIterator[Scene]:
    """The scene round an agent that answers from that switch's table."""
    async with agent:
        host, port = agent.address
        target = SwitchTarget(
            name=QUAY, host=host, port=port, credentials=NOBODYS, timeout_s=timeout_s, retries=0,
            tables=tables,
        )  # fmt: skip
        client = SnmpClient([(target, Community(version="2c", text="look"))])
        await client.start()
        made = Scene(switch, agent, client)
        made.poller = made.poller_for(ENDS)
        try:
            yield made
        finally:
            await client.close()


def row(poll: SwitchPoll, end: LinkEnd = PUMP) -> EndRow:
    return dict(poll.rows)[end]


def dbm(power: Power) -> float:
    assert isinstance(power, Measured)
    return round(power.power.value, 2)
