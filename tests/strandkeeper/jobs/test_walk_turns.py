"""So many switches are walked at a time, in the order they came; the rest do not feel it."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from contextlib import AsyncExitStack

from tests.strandkeeper.jobs.small_switch import IFX, SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent, Faults

from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.jobs.walk_turns import WalkTurns
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient

NAMES = (*IFX, 1)  # the first column of a walk


async def hold(turns: WalkTurns, name: str, came: list[str], until: asyncio.Event) -> None:
    async with turns.turn():
        came.append(name)
        await until.wait()


async def _settled() -> None:
    for _ in range(5):
        await asyncio.sleep(0)


async def _in_time(happened: Callable[[], bool]) -> bool:
    for _ in range(2000):
        if happened():
            return True
        await asyncio.sleep(0.01)
    return False


async def test_no_more_than_so_many_are_walked_at_a_time_and_in_the_order_they_came() -> None:
    turns, came, until = WalkTurns(2, 60), list[str](), asyncio.Event()
    async with asyncio.TaskGroup() as tasks:
        for name in "abcd":
            tasks.create_task(hold(turns, name, came, until))
        await _settled()
        assert came == ["a", "b"]
        until.set()
    assert came == ["a", "b", "c", "d"]


async def test_a_walk_that_lasts_no_longer_keeps_the_next_one_waiting() -> None:
    turns, came, until = WalkTurns(1, 0.01), list[str](), asyncio.Event()
    async with asyncio.TaskGroup() as tasks:
        for name in "abc":
            tasks.create_task(hold(turns, name, came, until))
        assert await _in_time(lambda: len(came) == 3)
        until.set()


async def test_a_place_is_kept_while_this_process_itself_is_slow() -> None:
    """Else a slow computer walks all at once: of a walk that lasts, most is waiting for itself."""
    turns, came, until = WalkTurns(1, 0.05), list[str](), asyncio.Event()
    async with asyncio.TaskGroup() as tasks:
        for name in "ab":
            tasks.create_task(hold(turns, name, came, until))
        ends_s = time.monotonic() + 0.5
        while time.monotonic() < ends_s:  # noqa: ASYNC110  # it is to be busy
            await asyncio.sleep(0)
        assert came == ["a"]
        assert await _in_time(lambda: came == ["a", "b"])  # and given up once it waits
        until.set()


async def test_a_place_given_up_is_not_given_back_twice() -> None:
    turns, came, until = WalkTurns(1, 0.01), list[str](), asyncio.Event()
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(hold(turns, "a", came, until))
        await asyncio.sleep(0.05)
        until.set()
    turns._longest_s = 60  # the place is the same one
    until.clear()
    async with asyncio.TaskGroup() as tasks:
        for name in "bc":
            tasks.create_task(hold(turns, name, came, until))
        await _settled()
        assert came == ["a", "b"]
        until.set()


async def test_whoever_gives_up_waiting_takes_no_place() -> None:
    turns, came, until = WalkTurns(1, 60), list[str](), asyncio.Event()
    first = asyncio.create_task(hold(turns, "a", came, until))
    await _settled()
    second = asyncio.create_task(hold(turns, "b", came, until))
    await _settled()
    second.cancel()
    await asyncio.gather(second, return_exceptions=True)
    until.set()
    await first
    async with asyncio.timeout(5), turns.turn():
        came.append("c")
    assert came == ["a", "c"]


def _poller(client: SnmpClient, number: int, turns: WalkTurns) -> SwitchPoller:
    end = LinkEnd(LinkName(f"link {number}"), End.A)
    return SwitchPoller(client, SwitchName(f"s{number}"), {end: PortName("Gi1")}, turns=turns)


def _target(number: int, agent: Agent) -> SwitchTarget:
    host, port = agent.address
    secret = SecretRef(kind=SecretKind.FILE, where="unused")
    return SwitchTarget(
        name=SwitchName(f"s{number}"),
        host=host,
        port=port,
        credentials=CommunityRef(version="2c", community=secret),
        timeout_s=0.2,
        retries=0,
    )


def _walked(agent: Agent) -> bool:
    return any(a.kind == ber.BULK and a.oids[0][: len(NAMES)] == NAMES for a in agent.asked)


async def test_switches_wait_for_their_turn_to_be_walked_and_a_dead_one_takes_none() -> None:
    """Of four switches one is dead and one slow: with one turn the slow one is walked first."""
    async with AsyncExitStack() as running:
        agents = [
            await running.enter_async_context(Agent(SmallSwitch().table, faults=faults))
            for faults in (Faults(silent=True), Faults(late_s=0.1), Faults(), Faults())
        ]
        client = SnmpClient(
            (_target(n, agent), Community(version="2c", text="look"))
            for n, agent in enumerate(agents)
        )
        await client.start()
        running.push_async_callback(client.close)
        turns = WalkTurns(1, 60)
        pollers = [_poller(client, n, turns) for n in range(4)]
        dead = asyncio.create_task(pollers[0].poll(0, optics=True))
        slow = asyncio.create_task(pollers[1].poll(0, optics=True))
        assert await _in_time(lambda: _walked(agents[1]))
        others = [asyncio.create_task(p.poll(0, optics=True)) for p in pollers[2:]]
        assert not (await dead).answered
        assert [len(agent.asked) for agent in agents[2:]] == [1, 1]  # who they are, and no more
        assert (await slow).answered
        assert all(poll.answered for poll in await asyncio.gather(*others))
        assert all(_walked(agent) for agent in agents[2:])
