"""Where identification is put to the proof: pairs of invented switches on the network, by real UDP.

What is put to the proof is one coroutine, `learn`: it is given the ways to two switches, the links
between them, and `wait`, which lets the simulated time go by; it walks by itself. It returns, by
quantity, what it would offer to a person.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass

from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.responder import boxes_of, serve

__all__ = ["Case", "Claim", "Learn", "Meeting", "Offer", "cases"]

BEGINS_S = 1_767_268_800.0  # 2026-01-01 12:00 UTC


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One assignment: this column is that quantity, one count of it is `step` of `dimension`.

    `dimension`: dBm, mW, °C, V or mA; `as_written`: the cells are text that names its unit.
    `kind`: the mark of the quantity in tables with one row a sensor.
    """

    column: Oid
    step: float = 1.0
    dimension: str = ""
    as_written: bool = False
    kind: int | str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What would be shown for one quantity, best first; `confident`: without an alternative."""

    claims: tuple[Claim, ...]
    confident: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """What `learn` is given. `links`: ifIndex here and there of ports that are joined."""

    client: SnmpClient
    near: SwitchTarget
    far: SwitchTarget
    credentials: Mapping[SwitchName, Community]
    links: tuple[tuple[int, int], ...]
    wait: Callable[[float], Awaitable[None]]


Learn = Callable[[Meeting], Awaitable[Mapping[Quantity, Offer]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One switch to be identified, with its truth, and the meeting for it."""

    switch: Personality
    meeting: Meeting


class _Clock:
    """Simulated time: it goes by when somebody waits."""

    def __init__(self) -> None:
        self.time_s = BEGINS_S

    def __call__(self) -> float:
        return self.time_s

    async def wait(self, seconds: float) -> None:
        self.time_s += seconds
        await asyncio.sleep(0)


async def cases(switches: Sequence[Personality], *, seed: int) -> AsyncIterator[Case]:
    """Every switch once as the near end, joined to its partner in the list, on the network."""
    for place in range(0, len(switches) - 1, 2):
        near, far = switches[place], switches[place + 1]
        async with _joined(near, far, seed=seed + place) as (meeting, back):
            yield Case(switch=near, meeting=meeting)
            yield Case(switch=far, meeting=back)


@asynccontextmanager
async def _joined(
    a: Personality, b: Personality, *, seed: int
) -> AsyncIterator[tuple[Meeting, Meeting]]:
    clock = _Clock()
    boxes = boxes_of(a, b, seed=seed, clock=clock)
    links_by_number = boxes[0].pair.links
    hosts = [f"127.0.40.{n}" for n in (1, 2)]
    wires = await serve([(box, (host, 0)) for box, host in zip(boxes, hosts, strict=True)])
    free = [wire.get_extra_info("sockname")[1] for wire in wires]
    targets = [_target(*at) for at in zip((a, b), hosts, free, strict=True)]
    credentials = {t.name: _credential(switch) for t, switch in zip(targets, (a, b), strict=True)}
    client = SnmpClient([(t, credentials[t.name]) for t in targets])
    await client.start()
    links = tuple((a.if_index(x, 1), b.if_index(y, 1)) for x, y in links_by_number)
    back = tuple((y, x) for x, y in links)
    shared = (client, credentials, clock.wait)
    try:
        yield (
            _meeting(*shared, targets[0], targets[1], links),
            _meeting(*shared, targets[1], targets[0], back),
        )
    finally:
        await client.close()
        for wire in wires:
            wire.close()
        await asyncio.sleep(0)


def _meeting(
    client: SnmpClient,
    credentials: Mapping[SwitchName, Community],
    wait: Callable[[float], Awaitable[None]],
    near: SwitchTarget,
    far: SwitchTarget,
    links: tuple[tuple[int, int], ...],
) -> Meeting:
    return Meeting(
        client=client, near=near, far=far, credentials=credentials, links=links, wait=wait
    )


def _version(switch: Personality) -> str:
    return "1" if switch.manners.versions == (0,) else "2c"


def _credential(switch: Personality) -> Community:
    return Community(version=_version(switch), text=switch.community)


def _target(switch: Personality, host: str, port: int) -> SwitchTarget:
    nowhere = SecretRef(kind=SecretKind.ENVIRONMENT, where="UNUSED")
    return SwitchTarget(
        name=SwitchName(switch.name),
        host=host,
        port=port,
        credentials=CommunityRef(version=_version(switch), community=nowhere),
        timeout_s=0.5,
        retries=0,
    )
