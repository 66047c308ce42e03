"""The wall clock is stepped an hour: deadlines hold, answers are taken, v3 stays open."""

from __future__ import annotations

import time

import pytest
from tests.strandkeeper.snmp.agents import Agent, Faults
from tests.strandkeeper.snmp.conftest import QUAY, MakeClient, target
from tests.strandkeeper.snmp.test_version_3 import READER
from tests.strandkeeper.snmp.v3_agent import V3Agent

from strandkeeper.errors import NoAnswerError
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid
from strandkeeper.snmp.credentials import Community

UPTIME: Oid = (1, 3, 6, 1, 2, 1, 1, 3, 0)


@pytest.mark.parametrize("step_s", [-3600.0, 3600.0])
async def test_a_stepped_wall_clock_stops_nothing(
    client_of: MakeClient, monkeypatch: pytest.MonkeyPatch, step_s: float
) -> None:
    """The wall clock is replaced within this process, the library's reading of it included."""
    async with V3Agent() as living, Agent({}, faults=Faults(silent=True)) as dead:
        client = await client_of(
            (target(living.address, timeout_s=2), READER),
            (target(dead.address, name="dead"), Community(version="2c", text="look")),
        )
        assert (await client.get(QUAY, [UPTIME])).complete
        true_time = time.time
        monkeypatch.setattr(time, "time", lambda: true_time() + step_s)
        started = time.monotonic()
        with pytest.raises(NoAnswerError):
            await client.get(SwitchName("dead"), [UPTIME])
        assert time.monotonic() - started < 5
        for _ in range(3):
            assert (await client.get(QUAY, [UPTIME])).values == {UPTIME: 77}
