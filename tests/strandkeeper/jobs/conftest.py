"""What the tests of polls share."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from tests.strandkeeper.jobs.scene import Scene, scene_of
from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp.agents import Agent


@pytest.fixture
async def scene() -> AsyncIterator[Scene]:
    switch = SmallSwitch()
    async with scene_of(Agent(switch.table), switch) as made:
        yield made
