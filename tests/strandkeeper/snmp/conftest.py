"""Clients on a running loop, ended with the test; nothing may be left under way."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable

import pytest

from strandkeeper.model.names import SwitchName
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community, Credential
from strandkeeper.snmp.session import SnmpClient

NOBODYS = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused"))
QUAY = SwitchName("quay")

MakeClient = Callable[..., Awaitable[SnmpClient]]


def target(
    address: tuple[str, int], *, name: str = QUAY, timeout_s: float = 0.15, retries: int = 1
) -> SwitchTarget:
    return SwitchTarget(
        name=SwitchName(name),
        host=address[0],
        port=address[1],
        credentials=NOBODYS,
        timeout_s=timeout_s,
        retries=retries,
    )


@pytest.fixture
async def client_of() -> AsyncIterator[MakeClient]:
    """Makes started clients: client_of(address) or client_of((target, credential), ...)."""
    made: list[SnmpClient] = []
    trouble: list[dict[str, object]] = []
    asyncio.get_running_loop().set_exception_handler(lambda _, context: trouble.append(context))

    async def make(
        *switches: tuple[str, int] | tuple[SwitchTarget, Credential],
        version: str = "2c",
        community: str = "look",
        **options: int,
    ) -> SnmpClient:
        pairs: list[tuple[SwitchTarget, Credential]] = []
        for switch in switches:
            if isinstance(switch[0], SwitchTarget):
                pairs.append(switch)
            else:
                held = Community(version=version, text=community)
                pairs.append((target(switch), held))
        client = SnmpClient(pairs, **options)
        await client.start()
        made.append(client)
        return client

    yield make
    for client in made:
        await client.close()
        assert client.under_way == 0, "a request was left under way"
    await asyncio.sleep(0)
    assert not trouble, f"the loop caught what nobody handled: {trouble}"
