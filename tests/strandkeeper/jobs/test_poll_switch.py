"""One switch polled through restarts, renumbering, pulled modules and silence, over real UDP."""

from __future__ import annotations

import asyncio

import pytest
from tests.strandkeeper.jobs.scene import ENDS, JETTY, NOBODYS, PUMP, QUAY, Scene, dbm, row
from tests.strandkeeper.jobs.small_switch import (
    DOT3,
    DOWN,
    ENTITY,
    ENTITY_CHANGE,
    IF,
    IFX,
    MAU,
    NOT_PRESENT,
    SENSOR,
    TABLE_CHANGE,
    SmallSwitch,
)
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent, Faults

from strandkeeper.jobs.ask_switch import ask_switch
from strandkeeper.jobs.bind_switch import NO_READINGS
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.names import End, PortName
from strandkeeper.model.poll import LinkEnd, SwitchPoll
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, Media, OperStatus
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient


async def test_the_first_poll_brings_state_and_light_and_who_the_switch_is(scene: Scene) -> None:
    poll = await scene.poll()
    assert poll.answered
    assert (poll.identity.sys_name, poll.identity.enterprise) == ("quay-1", 99999)
    assert poll.uptime_cs == 5_000_000
    assert (poll.restarted, poll.renumbered) == (False, False)
    assert poll.known_ports == ("Gi1", "Gi2")
    first = row(poll)
    assert (first.oper, first.admin, first.media) == (
        OperStatus.UP,
        AdminStatus.UP,
        Media.AVAILABLE,
    )
    assert first.last_change_cs == 3000
    assert first.module_id == "SN-1"
    assert first.deltas == Deltas()
    assert first.optics is not None
    assert (dbm(first.optics.tx), dbm(first.optics.rx)) == (-5.23, -10.00)
    assert (first.optics.temp_c, first.optics.vcc_v, first.optics.bias_ma) == (35.2, 3.31, 36.1)
    identity = poll.ports[PUMP]
    assert (identity.if_index, identity.named_by, identity.reader) == (1, "ifName", "entity-sensor")
    assert (identity.errors_from, identity.mau_type, identity.speed_mbps) == (
        "dot3StatsFCSErrors",
        49,
        1000,
    )


async def test_a_status_poll_asks_no_sensor_and_one_request_suffices(scene: Scene) -> None:
    await scene.poll()
    scene.agent.asked.clear()
    poll = await scene.poll(optics=False)
    assert row(poll).optics is None
    assert row(poll).module_id == "SN-1"  # still known, so that its absence would be news
    assert len(scene.agent.asked) == 1
    asked = scene.agent.asked[0].oids
    assert 20 <= len(asked) <= 30
    assert (*IFX, 1, 1) in asked  # the name goes with the values
    assert not any(oid[: len(SENSOR)] == SENSOR for oid in asked)


async def test_optics_are_asked_apart_from_the_interfaces(scene: Scene) -> None:
    await scene.poll()
    scene.agent.asked.clear()
    await scene.poll()
    kinds = [{oid[: len(SENSOR)] == SENSOR for oid in a.oids[2:]} for a in scene.agent.asked]
    assert len(scene.agent.asked) == 2
    assert kinds[0] == {False}
    assert True in kinds[1]


async def test_counters_become_counts(scene: Scene) -> None:
    await scene.poll()
    scene.switch.count(1, octets=64_000, frames=100, damaged=3)
    assert row(await scene.poll()).deltas == Deltas(
        in_octets=64_000, out_octets=64_000, in_frames=100, fcs_errors=3, symbol_errors=0
    )


async def test_a_restart_is_told_and_makes_no_counts(scene: Scene) -> None:
    scene.switch.count(1, octets=9_000, frames=100, damaged=50)
    await scene.poll()
    scene.switch.restart()
    scene.switch.count(1, octets=99_000, frames=900, damaged=60)
    poll = await scene.poll()
    assert poll.restarted
    assert row(poll).deltas == Deltas()
    assert row(poll).uptime_cs == 300
    scene.switch.count(1, octets=199_000, frames=1000, damaged=61)
    after = await scene.poll()
    assert not after.restarted
    assert row(after).deltas.fcs_errors == 1


async def test_the_turn_of_the_clock_at_497_days_is_no_restart(scene: Scene) -> None:
    scene.switch.tick(2**32 - 5_000_000 - 1)
    await scene.poll()
    scene.switch.tick(10)
    scene.switch.count(1, octets=6_400, frames=100)
    poll = await scene.poll()
    assert poll.uptime_cs == 9
    assert not poll.restarted
    assert row(poll).deltas.in_frames == 100


async def test_rows_that_are_renumbered_at_a_restart_are_found_by_name(scene: Scene) -> None:
    await scene.poll()
    scene.switch.restart(base=100)
    scene.switch.sensor(1, 5, 500)
    poll = await scene.poll()
    assert poll.restarted
    assert poll.ports[PUMP].if_index == 101
    reading = row(poll).optics
    assert reading is not None
    assert dbm(reading.rx) == -13.01  # 50 uW


async def test_rows_that_swap_their_names_silently_are_never_mixed_up(scene: Scene) -> None:
    scene.switch.count(1, octets=1_000, frames=10, damaged=1)
    scene.switch.count(2, octets=2_000, frames=20, damaged=700)
    await scene.poll()
    table = scene.switch.table
    table[(*IFX, 1, 1)], table[(*IFX, 1, 2)] = ber.text("Gi2"), ber.text("Gi1")
    poll = await scene.poll()
    assert poll.renumbered
    assert not poll.restarted
    assert poll.ports[PUMP].if_index == 2
    assert row(poll).deltas == Deltas()  # not 699 errors


async def test_a_port_that_does_not_exist_is_said_with_those_that_do(scene: Scene) -> None:
    scene.poller = scene.poller_for({PUMP: PortName("Gi1"), JETTY: PortName("Gi7")})
    poll = await scene.poll()
    assert poll.missing_ports == ("Gi7",)
    assert poll.known_ports == ("Gi1", "Gi2")
    assert JETTY not in poll.ports
    missing = row(poll, JETTY)
    assert missing.answered
    assert (missing.oper, missing.optics, missing.uptime_cs) == (None, None, 5_000_000)
    assert row(poll).oper is OperStatus.UP


async def test_a_missing_port_does_not_cause_a_walk_at_every_poll(scene: Scene) -> None:
    scene.poller = scene.poller_for({PUMP: PortName("Gi1"), JETTY: PortName("Gi7")})
    await scene.poll()
    scene.agent.asked.clear()
    for _ in range(5):
        await scene.poll(optics=False)
    assert {a.kind for a in scene.agent.asked} == {ber.GET}


async def test_sensors_that_did_not_answer_to_the_first_walk_are_looked_for_again(
    scene: Scene,
) -> None:
    """Else a switch first met while it or this computer was busy would show no light for a day."""
    scene.agent.faults = Faults(silent_below=SENSOR)
    assert row(await scene.poll()).optics is None
    scene.agent.faults = Faults()
    scene.agent.asked.clear()
    assert row(await scene.poll()).optics is None
    assert {a.kind for a in scene.agent.asked} == {ber.GET}  # not at every poll
    scene.poller._times._not_before_s.clear()  # half a minute later
    reading = row(await scene.poll()).optics
    assert reading is not None
    assert dbm(reading.rx) == -10.00


async def test_a_port_may_be_known_by_its_alias_or_description_and_that_is_said(
    scene: Scene,
) -> None:
    scene.poller = scene.poller_for(
        {PUMP: PortName("to the pump house"), JETTY: PortName("fibre port 2")}
    )
    poll = await scene.poll()
    assert (poll.ports[PUMP].named_by, poll.ports[JETTY].named_by) == ("ifAlias", "ifDescr")
    assert "the port was found by its ifAlias, not by its ifName" in poll.ports[PUMP].remarks
    assert "the port was found by its ifDescr, not by its ifName" in poll.ports[JETTY].remarks


async def test_an_alias_on_two_ports_names_neither(scene: Scene) -> None:
    scene.switch.table[(*IFX, 18, 2)] = ber.text("to the pump house")
    scene.poller = scene.poller_for({PUMP: PortName("to the pump house")})
    assert (await scene.poll()).missing_ports == ("to the pump house",)


async def test_of_two_rows_with_one_name_the_living_one_is_taken(scene: Scene) -> None:
    """A removed port stays in some agents' tables for minutes, frozen and first."""
    scene.switch.table[(*IFX, 1, 1)] = ber.text("Gi2")
    scene.switch.table[(*IF, 8, 1)] = ber.integer(DOWN)
    scene.poller = scene.poller_for({JETTY: PortName("Gi2")})
    poll = await scene.poll()
    assert poll.ports[JETTY].if_index == 2
    assert any("lists this port twice" in r for r in poll.ports[JETTY].remarks)


@pytest.mark.parametrize("says", [NOT_PRESENT, DOWN])
async def test_a_pulled_module_is_a_port_that_is_not_present(scene: Scene, says: int) -> None:
    """Whether the switch has the word for it or calls the port down."""
    await scene.poll()
    scene.switch.pull(1)
    scene.switch.table[(*IF, 8, 1)] = ber.integer(says)
    poll = await scene.poll()
    pulled = row(poll)
    assert pulled.oper is OperStatus.NOT_PRESENT
    assert pulled.module_id is None
    other = row(poll, JETTY).optics
    assert other is not None
    assert dbm(other.rx) == -10.00


async def test_a_module_that_is_gone_is_told_from_sensors_that_are_gone(scene: Scene) -> None:
    await scene.poll()
    scene.switch.pull(1)
    for _ in range(3):
        poll = await scene.poll()
        gone = row(poll).optics
        assert gone is not None
        assert (gone.rx, gone.tx) == (NOT_REPORTED, NOT_REPORTED)
        assert any("no module in the port" in r for r in _remarks(poll, PUMP)), _remarks(poll, PUMP)
    scene.switch.no_sensors()
    poll = await scene.poll()
    assert any("shows no sensors for the port any more" in r for r in _remarks(poll, JETTY)), (
        _remarks(poll, JETTY)
    )


async def test_the_only_module_of_a_switch_that_is_pulled_is_told_by_its_row(
    scene: Scene,
) -> None:
    """No other sensor is left to show that the table lives; the other entities show it."""
    scene.switch.pull(2)
    scene.switch.table[(*ENTITY, 5, 1)] = ber.integer(3)  # the chassis
    await scene.poll()
    scene.switch.pull(1)
    scene.switch.table[(*IF, 8, 1)] = ber.integer(DOWN)
    assert row(await scene.poll()).oper is OperStatus.NOT_PRESENT
    assert row(await scene.poll(optics=False)).oper is OperStatus.NOT_PRESENT
    scene.switch.insert(1)
    scene.switch.table[ENTITY_CHANGE] = ber.ticks(12)
    scene.switch.table[(*IF, 9, 1)] = ber.ticks(13)
    back = row(await scene.poll())
    assert back.oper is OperStatus.DOWN
    assert back.optics is not None
    assert dbm(back.optics.rx) == -10.00


async def test_a_dead_sensor_service_takes_no_module_out(scene: Scene) -> None:
    await scene.poll()
    scene.switch.no_sensors()
    scene.switch.table[(*IF, 8, 1)] = ber.integer(DOWN)
    assert row(await scene.poll()).oper is OperStatus.DOWN


def _remarks(poll: SwitchPoll, end: LinkEnd) -> tuple[str, ...]:
    return poll.ports[end].remarks


async def test_another_module_in_the_port_is_tied_anew_with_its_own_units(scene: Scene) -> None:
    first = await scene.poll()
    scene.switch.insert(1, serial="SN-9", milli=True)
    poll = await scene.poll()
    assert row(poll).module_id == "SN-9"
    was, now = row(first).optics, row(poll).optics
    assert was is not None
    assert now is not None
    assert dbm(was.rx) == dbm(now.rx) == -10.00  # not -0.00 dBm, ten times too much


async def test_a_third_module_right_after_the_second_is_not_read_in_the_wrong_units(
    scene: Scene,
) -> None:
    """The walk is not due again yet: nothing is said rather than something wrong."""
    await scene.poll()
    scene.switch.insert(1, serial="SN-8")
    await scene.poll()
    scene.switch.insert(1, serial="SN-9", milli=True)
    poll = await scene.poll()
    assert row(poll).module_id == "SN-9"
    assert row(poll).optics is None


async def test_a_module_put_into_an_empty_port_is_found_when_the_port_comes_up(
    scene: Scene,
) -> None:
    scene.switch.pull(1)
    assert row(await scene.poll()).optics is None
    scene.switch.insert(1)
    scene.switch.table[(*IF, 9, 1)] = ber.ticks(4_999_999)
    reading = row(await scene.poll()).optics
    assert reading is not None
    assert dbm(reading.rx) == -10.00


async def test_sensors_at_new_numbers_are_found_when_the_switch_says_so(scene: Scene) -> None:
    await scene.poll()
    scene.switch.sensors_from = 5000
    scene.switch.without(SENSOR, (1, 3, 6, 1, 2, 1, 47, 1, 1), (1, 3, 6, 1, 2, 1, 47, 1, 3))
    for port in (1, 2):
        scene.switch.insert(port)
    scene.switch.table[ENTITY_CHANGE] = ber.ticks(999)
    reading = row(await scene.poll()).optics
    assert reading is not None
    assert dbm(reading.rx) == -10.00


async def test_an_agent_that_says_it_changed_at_every_poll_is_not_walked_at_every_poll(
    scene: Scene,
) -> None:
    await scene.poll()
    scene.agent.asked.clear()
    for n in range(6):
        scene.switch.table[TABLE_CHANGE] = ber.ticks(500 + n)
        scene.switch.table[ENTITY_CHANGE] = ber.ticks(500 + n)
        poll = await scene.poll()
        assert poll.answered
    walks = [a for a in scene.agent.asked if a.kind == ber.BULK]
    assert len(walks) <= 60  # two walks of the whole, not twelve


async def test_no_light_and_a_sensor_out_of_order_are_two_things(scene: Scene) -> None:
    await scene.poll()
    scene.switch.sensor(1, 5, 0)
    scene.switch.sensor(2, 5, 3, column=5)
    poll = await scene.poll()
    dark, broken = row(poll).optics, row(poll, JETTY).optics
    assert dark is not None
    assert broken is not None
    assert dark.rx is NO_LIGHT
    assert broken.rx is NOT_REPORTED


async def test_a_sensor_service_that_hangs_spoils_only_the_light(scene: Scene) -> None:
    await scene.poll()
    every = frozenset(o for o in scene.switch.table if o[: len(SENSOR)] == SENSOR)
    scene.agent.faults = Faults(gen_err_on=every)
    scene.switch.count(1, octets=6_400, frames=100)
    poll = await scene.poll()
    assert poll.answered
    assert row(poll).deltas.in_frames == 100
    assert row(poll).optics is None


async def test_a_silent_switch_gives_rows_that_say_so_and_counts_on_afterwards(
    scene: Scene,
) -> None:
    scene.switch.count(1, octets=0, frames=0)
    await scene.poll()
    scene.agent.faults.silent = True
    poll = await scene.poll()
    assert not poll.answered
    assert f"(127.0.0.1 port {scene.agent.address[1]}) did not answer within 0.2 s" in poll.error
    assert poll.hint
    assert [r for _, r in poll.rows] == [
        EndRow(time_ms=20_000, end=End.A, answered=False),
        EndRow(time_ms=20_000, end=End.B, answered=False),
    ]
    assert poll.identity.sys_name == "quay-1"  # as last known
    scene.agent.faults.silent = False
    scene.switch.count(1, octets=12_800, frames=200, damaged=2)
    back = await scene.poll()
    assert back.answered
    assert row(back).deltas.fcs_errors == 2


async def test_a_silent_switch_costs_one_small_request_a_poll(scene: Scene) -> None:
    await scene.poll()
    scene.agent.community = "changed"
    await scene.poll()
    scene.agent.asked.clear()
    await scene.poll()
    assert [len(a.oids) for a in scene.agent.asked] == [1]


async def test_a_switch_that_never_answered_gives_rows_from_the_first_poll(scene: Scene) -> None:
    scene.agent.faults.silent = True
    poll = await scene.poll()
    assert not poll.answered
    assert len(poll.rows) == 2


async def test_a_frozen_agent_that_thaws_mixes_nothing_up(scene: Scene) -> None:
    await scene.poll()
    scene.agent.faults.frozen = True
    assert not (await scene.poll()).answered
    scene.switch.sensor(1, 5, 500)
    scene.agent.thaw()
    reading = row(await scene.poll()).optics
    assert reading is not None
    assert dbm(reading.rx) == -13.01


async def test_an_agent_with_32_bits_only_is_counted_all_the_same(scene: Scene) -> None:
    scene.switch.without(*[(*IFX, c) for c in (6, 7, 8, 9, 10)], (*DOT3, 3), (*DOT3, 18))
    table = scene.switch.table
    table[(*IF, 10, 1)], table[(*IF, 11, 1)] = ber.counter32(2**32 - 1000), ber.counter32(7)
    await scene.poll()
    table[(*IF, 10, 1)], table[(*IF, 11, 1)] = ber.counter32(5400), ber.counter32(107)
    table[(*IF, 14, 1)] = ber.counter32(4)
    poll = await scene.poll()
    assert poll.ports[PUMP].errors_from == "ifInErrors"
    assert row(poll).deltas == Deltas(
        in_octets=6400, out_octets=0, in_frames=100, fcs_errors=4, symbol_errors=None
    )


async def test_a_switch_without_sensors_is_watched_for_state_and_errors(scene: Scene) -> None:
    scene.switch.without(SENSOR)
    poll = await scene.poll()
    assert row(poll).oper is OperStatus.UP
    assert row(poll).optics is None
    assert poll.ports[PUMP].reader == "none"
    assert NO_READINGS in poll.ports[PUMP].remarks


async def test_v1_agents_are_polled_with_what_they_have() -> None:
    switch = SmallSwitch()
    async with Agent(switch.table, faults=Faults(only_v1=True)) as agent:
        host, port = agent.address
        target = SwitchTarget(name=QUAY, host=host, port=port, credentials=NOBODYS, timeout_s=0.3)
        client = SnmpClient([(target, Community(version="1", text="look"))])
        await client.start()
        poller = SwitchPoller(client, QUAY, ENDS)
        await poller.poll(0, optics=True)
        switch.table[(*IF, 11, 1)] = ber.counter32(40)
        poll = await poller.poll(10_000, optics=True)
        await client.close()
    assert poll.answered
    assert row(poll).deltas.in_frames == 40
    reading = row(poll).optics
    assert reading is not None
    assert dbm(reading.rx) == -10.00


async def test_small_requests_bring_the_same_rows(scene: Scene) -> None:
    whole = await scene.poll()
    scene.agent.faults = Faults(too_big_over=5)
    scene.poller = scene.poller_for(ENDS)
    parts = await scene.poll()
    assert row(parts).optics == row(whole).optics
    assert row(parts).oper is OperStatus.UP
    scene.switch.count(1, octets=6_400, frames=100, damaged=1)
    counted = row(await scene.poll()).deltas
    assert (counted.in_frames, counted.fcs_errors) == (100, 1)


async def test_a_restart_between_two_parts_of_one_answer_is_seen(scene: Scene) -> None:
    scene.agent.faults = Faults(too_big_over=12)
    await scene.poll()
    scene.switch.count(1, octets=9_000, frames=100, damaged=50)
    asked = len(scene.agent.asked)

    def restart_after_the_first() -> None:
        if len(scene.agent.asked) == asked + 2:
            scene.switch.restart()

    scene.agent.before_each = restart_after_the_first
    poll = await scene.poll(optics=False)
    assert poll.restarted
    assert row(poll).deltas == Deltas()
    assert row(poll, JETTY).deltas == Deltas()


async def test_a_figure_that_was_not_renewed_is_not_given_twice(scene: Scene) -> None:
    for port in (1, 2):
        for n in range(1, 6):
            scene.switch.sensor(port, n, 1000, column=7)
    await scene.poll()
    for port in (1, 2):
        for n in range(1, 6):
            scene.switch.sensor(port, n, 4000, column=7)
    assert row(await scene.poll()).optics is not None
    assert row(await scene.poll()).optics is None  # the same sample as before


async def test_a_time_of_value_that_never_moves_is_not_believed(scene: Scene) -> None:
    for port in (1, 2):
        for n in range(1, 6):
            scene.switch.sensor(port, n, 1000, column=7)
    for _ in range(3):
        assert row(await scene.poll()).optics is not None


async def test_two_links_on_one_port_get_the_same_counts(scene: Scene) -> None:
    scene.poller = scene.poller_for({PUMP: PortName("Gi1"), JETTY: PortName("Gi1")})
    await scene.poll()
    scene.switch.count(1, octets=6_400, frames=100)
    poll = await scene.poll()
    assert row(poll).deltas.in_frames == row(poll, JETTY).deltas.in_frames == 100
    assert row(poll, JETTY).end is End.B


async def test_media_of_the_mau_table_speak_of_light(scene: Scene) -> None:
    await scene.poll()
    scene.switch.table[(*MAU, 5, 1, 1)] = ber.integer(4)
    scene.switch.table[(*MAU, 5, 2, 1)] = ber.integer(17)
    poll = await scene.poll(optics=False)
    assert row(poll).media is Media.NOT_AVAILABLE
    assert row(poll, JETTY).media is Media.OTHER


async def test_how_often_the_light_is_renewed_is_learned(scene: Scene) -> None:
    assert scene.poller.optics_refresh_s is None
    for n in range(8):
        scene.switch.sensor(1, 5, 1000 + n)
        await scene.poll()
        await asyncio.sleep(0.01)
    assert scene.poller.optics_refresh_s is not None
    assert 0.005 < scene.poller.optics_refresh_s < 5


async def test_asking_once_says_what_a_person_wants_to_know(scene: Scene) -> None:
    report = await ask_switch(scene.client, QUAY, [PortName("Gi1"), PortName("Gi7")])
    assert report.answered
    assert report.uptime_s == 50_000.0
    assert report.identity.sys_name == "quay-1"
    assert report.known_ports == ("Gi1", "Gi2")
    here, nowhere = report.ports
    assert here.identity is not None
    assert here.identity.reader == "entity-sensor"
    assert here.reading is not None
    assert dbm(here.reading.rx) == -10.00
    assert (nowhere.identity, nowhere.reading) == (None, None)


async def test_asking_a_silent_switch_is_an_answer_too(scene: Scene) -> None:
    scene.agent.faults.silent = True
    report = await ask_switch(scene.client, QUAY, [PortName("Gi1")])
    assert not report.answered
    assert "did not answer" in report.error
    assert report.hint


async def test_port_names_that_come_in_circles_are_said_with_the_ports_that_were_found(
    scene: Scene,
) -> None:
    scene.agent.faults.loops = True
    poll = await scene.poll()
    assert poll.answered
    assert (
        "ports not read to the end: the switch gave rows out of order, so the walk was stopped"
        in poll.ports[PUMP].remarks
    )
