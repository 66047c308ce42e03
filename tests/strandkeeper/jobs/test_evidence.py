"""What a poll brings beside light and state: the module's identity, and how the switch is fed."""

from __future__ import annotations

from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from tests.strandkeeper.jobs.small_switch import ENTITY, ENTITY_CHANGE, SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent

from strandkeeper.analysis import engine
from strandkeeper.config.load import loads
from strandkeeper.jobs.ask_switch import ask_switch
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.block import Block
from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, PowerSupply
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import EndRow
from strandkeeper.model.verdict import EventKind
from strandkeeper.optics.units import Dbm
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.store import Batch, open_reader, open_writer

PSE = (1, 3, 6, 1, 2, 1, 105, 1, 3, 1, 1)  # RFC 3621: group index
PSE_PORT = (1, 3, 6, 1, 2, 1, 105, 1, 1, 1)  # group, port
UPS = (1, 3, 6, 1, 2, 1, 33, 1)  # RFC 1628
OWN = (1, 3, 6, 1, 4, 1, 32473, 9)
END = LinkEnd(LinkName("pump house"), End.A)
OWN_TABLE = (
    '[[table]]\nname = "own"\nserial = "1.3.6.1.4.1.32473.9.2"\n'
    'rx = { oid = "1.3.6.1.4.1.32473.9.1", unit = "0.01 dBm" }\n'
)


def events_of(rows: Sequence[EndRow]) -> list[EventKind]:
    """What the analysis makes of the rows of one end."""
    limits = ReceiverLimits(sensitivity=None, overload=None, source="not needed")
    one_way = DirectionFacts(limits=limits)
    facts = LinkFacts(name=END.link, ab=one_way, ba=one_way)
    _, evaluation = engine.advance(facts, engine.initial(facts), Block.from_rows(rows))
    return [event.kind for event in evaluation.events]


@asynccontextmanager
async def client_of(agent: Agent, tables: str = "") -> AsyncIterator[SnmpClient]:
    host, port = agent.address
    named = 'tables = ["own"]\n' if tables else ""
    settings = loads(
        f'[[switch]]\nname = "quay"\nhost = "{host}"\nport = {port}\ntimeout_s = 0.3\n{named}'
        f'snmp = {{ version = "2c", community_env = "UNUSED" }}\n{tables}',
        base=Path(),
    )
    client = SnmpClient([(settings.switches[0], Community(version="2c", text="look"))])
    await client.start()
    yield client
    await client.close()


def fed(switch: SmallSwitch) -> None:
    for supply, (budget_w, draw_w) in enumerate([(370, 120), (370, 31)], start=1):
        switch.table[(*PSE, 2, supply)] = ber.gauge(budget_w)
        switch.table[(*PSE, 3, supply)] = ber.integer(1 if supply == 1 else 3)
        switch.table[(*PSE, 4, supply)] = ber.gauge(draw_w)
    switch.table[(*PSE_PORT, 12, 1, 7)] = ber.counter32(3)
    switch.table[(*UPS, 2, 1, 0)] = ber.integer(3)
    switch.table[(*UPS, 2, 2, 0)] = ber.integer(95)
    switch.table[(*UPS, 2, 3, 0)] = ber.integer(6)
    switch.table[(*UPS, 2, 4, 0)] = ber.integer(22)
    switch.table[(*UPS, 4, 1, 0)] = ber.integer(5)


FED = PowerSupply(
    budget_w=740, draw_w=151, denied=3, faulty=1, ups_battery="low", ups_on_battery_s=95,
    ups_minutes_left=6, ups_charge_percent=22, ups_source="battery",
)  # fmt: skip


async def test_poe_and_ups_are_read_where_they_are_and_kept_with_the_switch(tmp_path: Path) -> None:
    switch = SmallSwitch()
    fed(switch)
    async with Agent(switch.table) as agent, client_of(agent) as client:
        poller = SwitchPoller(client, SwitchName("quay"), {END: PortName("Gi1")})
        poll = await poller.poll(1000, optics=True)
    assert poll.power == FED
    assert FED.words == (
        "feeds 151 W of 740 W to its ports, refused power 3 times, 1 of its supplies out of order, "
        "its supply is on battery, on battery for 95 s, battery at 22 %, which lasts 6 minutes, "
        "battery low"
    )
    assert FED.in_need
    writer = open_writer(str(tmp_path / "record.db"), reserve=False)
    writer.append(Batch(switches=(poll,)))
    writer.close()
    record = open_reader(str(tmp_path / "record.db"))
    assert [health.power for health in record.switches()] == [FED]
    record.close()


def test_a_supply_on_mains_is_in_no_need() -> None:
    assert not PowerSupply(ups_source="normal", ups_on_battery_s=0, ups_battery="normal").in_need
    assert not PowerSupply(budget_w=370, draw_w=370).in_need


async def test_a_switch_that_publishes_no_power_is_not_asked_for_it_again() -> None:
    async with Agent(SmallSwitch().table) as agent, client_of(agent) as client:
        poller = SwitchPoller(client, SwitchName("quay"), {END: PortName("Gi1")})
        await poller.poll(1000, optics=True)
        before = len(agent.asked)
        poll = await poller.poll(2000, optics=True)
        assert len(agent.asked) - before == 2  # state, light
    assert poll.power is None


async def test_maker_and_part_number_come_with_the_port() -> None:
    switch = SmallSwitch()
    entity = switch.module(1)
    switch.table[(*ENTITY, 12, entity)] = ber.text("Invented Optics ")
    switch.table[(*ENTITY, 13, entity)] = ber.text("IO-LX10")
    async with Agent(switch.table) as agent, client_of(agent) as client:
        report = await ask_switch(client, SwitchName("quay"), [PortName("Gi1")])
    identity = report.ports[0].identity
    assert identity is not None
    assert (identity.module_maker, identity.module_part, identity.module_id) == (
        "Invented Optics", "IO-LX10", "SN-1, IO-LX10",
    )  # fmt: skip
    assert identity.module == "Invented Optics IO-LX10 SN-1"


async def test_a_wavelength_that_the_description_names_comes_with_the_port() -> None:
    switch = SmallSwitch()
    switch.table[(*ENTITY, 2, switch.module(1))] = ber.text("LX transceiver, 1310nm, 10 km")
    async with Agent(switch.table) as agent, client_of(agent) as client:
        report = await ask_switch(client, SwitchName("quay"), [PortName("Gi1"), PortName("Gi2")])
    told = [p.identity.module_wavelength_nm for p in report.ports if p.identity is not None]
    assert told == [1310.0, None]


async def test_a_module_without_a_number_is_known_by_what_else_it_says() -> None:
    """Another part number is another module, as soon as the switch says that something changed."""
    switch = SmallSwitch()
    entity = switch.module(1)
    switch.table[(*ENTITY, 11, entity)] = ber.text("")
    switch.table[(*ENTITY, 13, entity)] = ber.text("IO-LX10")
    async with Agent(switch.table) as agent, client_of(agent) as client:
        poller = SwitchPoller(client, SwitchName("quay"), {END: PortName("Gi1")})
        first = dict((await poller.poll(1000, optics=True)).rows)[END].module_id
        switch.table[(*ENTITY, 13, entity)] = ber.text("IO-SX")
        switch.table[ENTITY_CHANGE] = ber.ticks(999)
        second = dict((await poller.poll(2000, optics=True)).rows)[END].module_id
    assert (first, second) == ("IO-LX10", "IO-SX")


@pytest.mark.parametrize(("serial", "part"), [("SN-1", "IO-SX"), ("SN-2", "IO-SX")])
async def test_another_part_or_number_is_one_other_module(serial: str, part: str) -> None:
    """The number is read with the light, the part by a walk: no third module comes of it."""
    switch = SmallSwitch()
    entity = switch.module(1)
    switch.table[(*ENTITY, 13, entity)] = ber.text("IO-LX10")
    rows: list[EndRow] = []
    async with Agent(switch.table) as agent, client_of(agent) as client:
        poller = SwitchPoller(client, SwitchName("quay"), {END: PortName("Gi1")})
        for number in range(6):
            if number == 2:
                switch.table[(*ENTITY, 11, entity)] = ber.text(serial)
                switch.table[(*ENTITY, 13, entity)] = ber.text(part)
                switch.table[ENTITY_CHANGE] = ber.ticks(999)
            poll = await poller.poll(1000 * (number + 1), optics=True)
            row = dict(poll.rows)[END]
            rows.append(replace(row, time_ms=1000 * (number + 1)))
    ids = list(dict.fromkeys(row.module_id for row in rows))
    assert ids == ["SN-1, IO-LX10", f"{serial}, {part}"]
    assert events_of(rows).count(EventKind.MODULE_CHANGED) == 1


def test_a_module_of_which_more_is_known_or_less_is_the_same_one() -> None:
    said = ("AB1", "AB1, LX", "AB1", "AB1, LX", "AB12, LX", "AB12, LX, 1310 nm")
    rows = [EndRow(time_ms=1000 * n, end=End.A, module_id=one) for n, one in enumerate(said)]
    assert events_of(rows).count(EventKind.MODULE_CHANGED) == 1


NAMED_TABLE = (
    OWN_TABLE + 'maker = "1.3.6.1.4.1.32473.9.3"\npart = "1.3.6.1.4.1.32473.9.4"\n'
    'wavelength = "1.3.6.1.4.1.32473.9.5"\n'
)


async def test_maker_part_and_wavelength_of_a_described_table_name_the_module(
    tmp_path: Path,
) -> None:
    """The same number in another kind of module is another module; a lost cell is not."""
    switch = SmallSwitch()
    switch.table[(*OWN, 1, 1)] = ber.integer(-523)
    for column, text in ((2, "AB1"), (3, "Invented Optics"), (4, "IO-BX"), (5, "1310.00 nm")):
        switch.table[(*OWN, column, 1)] = ber.text(text)
    async with Agent(switch.table) as agent, client_of(agent, NAMED_TABLE) as client:
        poller = SwitchPoller(client, SwitchName("quay"), {END: PortName("Gi1")})
        polls = [await poller.poll(1000, optics=True)]
        agent.faults.gen_err_on = frozenset({(*OWN, 5, 1)})
        polls.append(await poller.poll(2000, optics=True))
        agent.faults.gen_err_on = frozenset()
        switch.table[(*OWN, 5, 1)] = ber.text("1490.00 nm")
        polls.append(await poller.poll(3000, optics=True))
    ids = [dict(poll.rows)[END].module_id for poll in polls]
    assert ids == ["AB1, IO-BX, 1310 nm", "AB1, IO-BX, 1310 nm", "AB1, IO-BX, 1490 nm"]
    assert polls[2].ports[END].module == "Invented Optics IO-BX 1490 nm AB1"
    events = events_of([dict(poll.rows)[END] for poll in polls])
    assert EventKind.MODULE_CHANGED in events
    writer = open_writer(str(tmp_path / "record.db"), reserve=False)
    writer.append(Batch(switches=(polls[2],)))
    writer.close()
    record = open_reader(str(tmp_path / "record.db"))
    assert [h.ports[END].module_wavelength_nm for h in record.switches()] == [1490.0]
    record.close()


async def test_another_module_in_a_described_table_is_another_module_id() -> None:
    switch = SmallSwitch()
    switch.table[(*OWN, 1, 1)] = ber.integer(-523)
    switch.table[(*OWN, 2, 1)] = ber.text("AB1")
    async with Agent(switch.table) as agent, client_of(agent, OWN_TABLE) as client:
        poller = SwitchPoller(client, SwitchName("quay"), {END: PortName("Gi1")})
        rows = []
        for n, serial in enumerate(["AB1", "AB1", "CD2", "CD2"]):
            switch.table[(*OWN, 2, 1)] = ber.text(serial)
            poll = await poller.poll(1000 * n, optics=True)
            rows.append(dict(poll.rows)[END])
    assert [row.module_id for row in rows] == ["AB1", "AB1", "CD2", "CD2"]
    assert all(row.optics and row.optics.rx == Measured(Dbm(-5.23)) for row in rows)
