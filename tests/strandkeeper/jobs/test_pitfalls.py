"""What polls must survive that no other test here shows: each an agent that misbehaves so, by UDP.

test_every_pitfall.py lists all that are known.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.strandkeeper.jobs.scene import ENDS, JETTY, PUMP, QUAY, Scene, dbm, row, scene_of
from tests.strandkeeper.jobs.small_switch import (
    DOT3,
    DOWN,
    ENTITY,
    IF,
    IFX,
    SENSOR,
    SmallSwitch,
)
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent

from strandkeeper.config.load import loads
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED
from strandkeeper.model.reading import Deltas, OperStatus

OWN = "1.3.6.1.4.1.32473.7.1"
OWN_CELL = (1, 3, 6, 1, 4, 1, 32473, 7, 1)


async def test_a_jump_of_two_to_the_32_without_a_restart_is_no_traffic_and_no_errors(
    scene: Scene,
) -> None:
    """As an agent gives it whose device was made anew: 2^32 more, discontinuity time 0."""
    scene.switch.count(1, octets=100_000, frames=1_000)
    await scene.poll()
    scene.switch.count(1, octets=100_000 + 2**32, frames=1_000 + 2**32, damaged=4)
    assert row(await scene.poll()).deltas == Deltas()
    scene.switch.count(1, octets=106_400 + 2**32, frames=1_100 + 2**32, damaged=5)
    counted = row(await scene.poll()).deltas
    assert (counted.in_octets, counted.in_frames, counted.fcs_errors) == (6_400, 100, 1)


async def test_a_switch_that_owns_up_to_an_interruption_is_not_counted_across_it(
    scene: Scene,
) -> None:
    scene.switch.count(1, octets=100_000, frames=1_000, damaged=3)
    await scene.poll()
    scene.switch.table[(*IFX, 19, 1)] = ber.ticks(4_999_000)
    scene.switch.count(1, octets=164_000, frames=2_000, damaged=90)
    assert row(await scene.poll()).deltas == Deltas()


async def test_counters_that_stand_still_and_then_leap_are_counted_once_and_whole(
    scene: Scene,
) -> None:
    """A cache renewed at every third poll: nothing is lost, nothing doubled, nothing unknown."""
    frames = 0
    counted = []
    await scene.poll()
    for n in range(1, 10):
        if n % 3 == 0:
            frames += 300
            scene.switch.count(1, octets=64 * frames, frames=frames)
        counted.append(row(await scene.poll(optics=False)).deltas.in_frames)
    assert counted == [0, 0, 300] * 3


async def test_errors_that_come_later_than_their_frames_are_kept(scene: Scene) -> None:
    """Each table has a cache of its own: the ratio is made over windows, not over one answer."""
    await scene.poll()
    scene.switch.count(1, octets=64_000, frames=1_000)
    first = row(await scene.poll(optics=False)).deltas
    scene.switch.table[(*DOT3, 3, 1)] = ber.counter32(7)
    second = row(await scene.poll(optics=False)).deltas
    assert (first.in_frames, first.fcs_errors) == (1_000, 0)
    assert (second.in_frames, second.fcs_errors) == (0, 7)


async def test_a_flap_between_two_polls_shows_by_the_time_of_the_last_change(scene: Scene) -> None:
    before = row(await scene.poll(optics=False))
    scene.switch.table[(*IF, 9, 1)] = ber.ticks(4_999_500)
    after = row(await scene.poll(optics=False))
    assert before.oper is after.oper is OperStatus.UP
    assert (before.last_change_cs, after.last_change_cs) == (3000, 4_999_500)


def own_table(words: str) -> dict[str, Any]:
    """A described table of receive and send power, temperature and supply."""
    settings = loads(
        '[[switch]]\nname = "x"\nhost = "192.0.2.1"\ntables = ["own"]\n'
        'snmp = { version = "2c", community_env = "UNUSED" }\n'
        f'[[table]]\nname = "own"\n{words}\n'
        f'rx = {{ oid = "{OWN}.1", unit = "0.01 dBm" }}\n'
        f'tx = {{ oid = "{OWN}.2", unit = "0.01 dBm" }}\n'
        f'temperature = {{ oid = "{OWN}.3", unit = "C" }}\n'
        f'supply = {{ oid = "{OWN}.4", unit = "mV" }}\n',
        base=Path(),
    )
    return {"tables": settings.switches[0].tables}


@pytest.mark.parametrize("floor", [-4000, -3000, -3696, -6000, -9900, -214748364, -32768])
async def test_a_floor_that_the_owner_names_is_no_light(floor: int) -> None:
    switch = SmallSwitch()
    for column, value in ((1, floor), (2, -523), (3, 35), (4, 3310)):
        switch.table[(*OWN_CELL, column, 1)] = ber.integer(value)
    described = own_table(f"no_light = [{floor}]")
    async with scene_of(Agent(switch.table), switch, **described) as scene:
        reading = row(await scene.poll()).optics
    assert reading is not None
    assert reading.rx is NO_LIGHT
    assert dbm(reading.tx) == -5.23


async def test_zeros_in_every_figure_are_a_module_without_diagnostics() -> None:
    switch = SmallSwitch()
    for column in (1, 2, 3, 4):
        switch.table[(*OWN_CELL, column, 1)] = ber.integer(0)
    async with scene_of(Agent(switch.table), switch, **own_table("")) as scene:
        reading = row(await scene.poll()).optics
    assert reading is not None
    assert (reading.rx, reading.tx, reading.temp_c) == (NOT_REPORTED, NOT_REPORTED, None)


async def test_a_link_that_is_down_with_good_light_keeps_its_light(scene: Scene) -> None:
    scene.switch.table[(*IF, 8, 1)] = ber.integer(DOWN)
    lit = row(await scene.poll())
    assert lit.oper is OperStatus.DOWN
    assert lit.optics is not None
    assert dbm(lit.optics.rx) == -10.00


async def test_a_link_that_is_up_without_readings_is_up(scene: Scene) -> None:
    await scene.poll()
    scene.switch.no_sensors()
    up = row(await scene.poll())
    assert up.oper is OperStatus.UP
    assert up.optics is None or up.optics.rx is NOT_REPORTED


@dataclass
class SlowAgent(Agent):
    """Answers after a moment, and knows how many of its answers were waited for at once."""

    waiting: int = 0
    most: int = 0

    def datagram_received(self, data: bytes, source: tuple[str, int]) -> None:
        self.waiting += 1
        self.most = max(self.most, self.waiting)
        asyncio.get_running_loop().call_later(0.005, self._now, data, source)

    def _now(self, data: bytes, source: tuple[str, int]) -> None:
        self.waiting -= 1
        if not self._transport.is_closing():
            super().datagram_received(data, source)


async def test_a_slow_switch_has_one_request_under_way_and_no_more() -> None:
    switch = SmallSwitch()
    agent = SlowAgent(switch.table)
    agent.faults.too_big_over = 6  # many requests a poll
    async with scene_of(agent, switch) as scene:
        for _ in range(2):
            assert (await scene.poll()).answered
    assert len(agent.asked) > 20
    assert agent.most == 1


@dataclass
class HangingSensors(Agent):
    """A master agent whose sensor part hangs: what touches it fails after the master's patience."""

    patience_s: float = 0.1

    def _get(self, asked: ber.Asked, number: int) -> bytes | None:  # type: ignore[override]
        touched = next((n for n, o in enumerate(asked.oids) if o[: len(SENSOR)] == SENSOR), None)
        if touched is None:
            return super()._get(asked, number)
        answer = ber.response(asked, [], status=5, index=touched + 1, number=number)
        where = self.source
        asyncio.get_running_loop().call_later(self.patience_s, self._send_late, answer, where)
        return None

    source: tuple[str, int] = ("", 0)

    def datagram_received(self, data: bytes, source: tuple[str, int]) -> None:
        self.source = source
        super().datagram_received(data, source)


async def test_a_sensor_part_that_hangs_does_not_hold_the_interfaces_up() -> None:
    """Ten objects that fail one by one, 0.1 s each, are given up after a few of them."""
    switch = SmallSwitch()
    agent = HangingSensors(switch.table, patience_s=0.0)
    async with scene_of(agent, switch, timeout_s=0.15) as scene:
        await scene.poll()
        agent.patience_s = 0.1
        agent.asked.clear()
        poll = await scene.poll()
        failed = [a for a in agent.asked if any(o[: len(SENSOR)] == SENSOR for o in a.oids)]
    assert poll.answered
    assert row(poll).oper is row(poll, JETTY).oper is OperStatus.UP
    assert row(poll).optics is None
    assert 1 <= len(failed) <= 5


async def test_a_sensor_part_that_swallows_requests_teaches_nothing_about_the_others() -> None:
    """The master has more patience than we have: silence to whatever touches the sensors."""
    switch = SmallSwitch()
    agent = HangingSensors(switch.table, patience_s=60.0)
    async with scene_of(agent, switch, timeout_s=0.05) as scene:
        before = scene.client.learned_size(QUAY)
        for _ in range(2):
            poll = await scene.poll()
            assert row(poll).oper is OperStatus.UP
            assert row(poll).optics is None
        assert scene.client.learned_size(QUAY) >= before // 2
        agent.asked.clear()
        await scene.poll(optics=False)
        assert len(agent.asked) <= 2


async def test_sensors_that_failed_for_long_are_left_alone_for_a_while() -> None:
    """Each request that is swallowed takes two seconds of the poller's clock."""
    now_s = 0.0

    def goes_by() -> None:
        nonlocal now_s
        now_s += 2.0

    def asked_of_sensors() -> int:
        return sum(any(o[: len(SENSOR)] == SENSOR for o in a.oids) for a in agent.asked)

    switch = SmallSwitch()
    agent = HangingSensors(switch.table, patience_s=0.0)
    async with scene_of(agent, switch, timeout_s=0.05) as scene:
        scene.poller = SwitchPoller(scene.client, QUAY, ENDS, clock=lambda: now_s)
        await scene.poll()
        agent.patience_s, agent.before_each = 60.0, goes_by
        agent.asked.clear()
        await scene.poll()
        tried = asked_of_sensors()
        assert tried > 0
        agent.before_each = None
        assert (await scene.poll()).answered
        assert asked_of_sensors() == tried
        now_s += 120.0
        await scene.poll()
        assert asked_of_sensors() > tried


async def test_what_a_credential_may_not_see_is_not_said_to_be_absent(scene: Scene) -> None:
    """A view of ifTable alone: the sensors and the entities are noSuchObject to it."""
    scene.switch.without(SENSOR, ENTITY)
    poll = await scene.poll()
    assert poll.ports[PUMP].reader == "none"
    assert any("may not see" in remark for remark in poll.ports[PUMP].remarks)


async def test_a_switch_that_restarts_while_it_is_silent_is_known_to_have_restarted(
    scene: Scene,
) -> None:
    """A cold start may be told before polls are answered: all the same names and counters begin."""
    scene.switch.count(1, octets=9_000, frames=100, damaged=50)
    await scene.poll()
    scene.agent.faults.silent = True
    scene.switch.restart(base=100, uptime_cs=40)
    assert not (await scene.poll()).answered
    scene.agent.faults.silent = False
    scene.switch.count(1, octets=99_000, frames=900, damaged=60)
    poll = await scene.poll()
    assert poll.restarted
    assert poll.ports[PUMP].if_index == 101
    assert row(poll).deltas == Deltas()
