"""Long walks of agents that never come to an end: each bound ends the walk and says so."""

from __future__ import annotations

import time
from dataclasses import dataclass

import pytest
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent, Faults
from tests.strandkeeper.snmp.conftest import QUAY, MakeClient, target

from strandkeeper.model.oid import Oid
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.walks import Bounds

COLUMN: Oid = (1, 3, 6, 1, 4, 1, 32473, 9)  # below the number for documentation (RFC 5612)
LOOK = Community(version="2c", text="look")
ALLOWED = Bounds()


@dataclass
class EndlessAgent(Agent):
    """Whatever it is asked for has another row behind it; `value` is what each row holds."""

    value: str = "x"
    deepens: bool = False  # the row behind a row is below it, so that no index ever ends

    def _next(self, asked: ber.Asked, number: int) -> bytes:
        found: list[tuple[Oid, ber.Cell]] = []
        after = asked.oids[0]
        for _ in range(asked.second if asked.kind == ber.BULK else 1):
            whole = len(after) > len(COLUMN)
            next_one = (*after, 1) if self.deepens or not whole else (*after[:-1], after[-1] + 1)
            found.append((next_one, ber.text(self.value)))
            after = next_one
        return ber.response(asked, found, number=number)


async def test_a_column_without_an_end_is_left_after_so_many_rows(client_of: MakeClient) -> None:
    async with EndlessAgent({}) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, COLUMN)
        assert len(walk.rows) == ALLOWED.rows
        assert walk.remark == f"the walk was stopped after {ALLOWED.rows} rows"
        assert len(agent.asked) <= ALLOWED.rows


async def test_an_agent_that_gives_little_at_a_time_and_never_ends_is_left_too(
    client_of: MakeClient,
) -> None:
    async with EndlessAgent({}, faults=Faults(silent_over=1)) as agent:
        client = await client_of((target(agent.address, timeout_s=0.05, retries=0), LOOK))
        walk = await client.walk(QUAY, COLUMN, max_rows=30)
        assert len(walk.rows) == 30
        assert walk.remark == "the walk was stopped after 30 rows"
        assert len(agent.asked) < 60


async def test_indexes_that_only_grow_longer_end_with_the_longest_that_there_may_be(
    client_of: MakeClient,
) -> None:
    """RFC 2578, 3.5: at most 128 numbers. Thousands of ever longer ones would fill memory."""
    async with EndlessAgent({}, deepens=True) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, COLUMN)
        assert walk.remark == "the switch gave an index longer than SNMP allows"
        assert max(len(index) for index in walk.rows) == 128 - len(COLUMN)


async def test_rows_that_are_long_are_counted_by_their_octets(client_of: MakeClient) -> None:
    async with EndlessAgent({}, value="x" * 2_000) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, COLUMN)
        assert walk.remark == f"the walk was stopped after {ALLOWED.octets} octets"
        taken = sum(len(v) for v in walk.rows.values() if isinstance(v, bytes))
        assert ALLOWED.octets < taken <= ALLOWED.octets + 2_000


async def test_a_slow_column_is_left_after_so_long_with_what_came(client_of: MakeClient) -> None:
    async with EndlessAgent({}, faults=Faults(late_s=0.05)) as agent:
        client = await client_of((target(agent.address, timeout_s=1.0), LOOK))
        began = time.monotonic()
        walk = await client.walk(QUAY, COLUMN, max_s=0.4)
        assert time.monotonic() - began >= 0.4
        assert walk.remark == "the walk was stopped after 0.4 s"
        assert 0 < len(walk.rows) < ALLOWED.rows
        assert len(agent.asked) <= 9  # each answer takes 0.05 s of the 0.4 s, and one more began


async def test_a_walk_is_no_faster_than_it_was_told_to_be(client_of: MakeClient) -> None:
    """A lower limit: no machine is too slow for it."""
    async with EndlessAgent({}) as agent:
        client = await client_of(agent.address)
        began = time.monotonic()
        walk = await client.walk(QUAY, COLUMN, max_rows=100, pause_s=0.1)
        assert len(walk.rows) == 100
        assert len(agent.asked) >= 5
        assert time.monotonic() - began >= 0.1 * (len(agent.asked) - 1)


@pytest.mark.parametrize("step", [0, -1])
async def test_a_row_that_comes_again_or_lies_behind_ends_the_walk(
    client_of: MakeClient, step: int
) -> None:
    class Stuck(EndlessAgent):
        def _next(self, asked: ber.Asked, number: int) -> bytes:
            row = 40 + step if asked.oids[0] == (*COLUMN, 40) else 40
            return ber.response(asked, [((*COLUMN, row), ber.integer(7))], number=number)

    async with Stuck({}) as agent:
        client = await client_of(agent.address)
        walk = await client.walk(QUAY, COLUMN)
        assert walk.rows == {(40,): 7}
        assert walk.remark == "the switch gave rows out of order, so the walk was stopped"
        assert len(agent.asked) == 2
