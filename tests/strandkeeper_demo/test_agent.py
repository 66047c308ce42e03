"""The simulated switches, asked with the Net-SNMP tools over real UDP."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass, field

import pytest
from pysnmp.smi import builder
from tests.strandkeeper_demo.net_snmp import ANSWER_DUE, SILENCE_DUE, ask, needs_tools

from strandkeeper.errors import OperatorError
from strandkeeper.model.names import PortName, SwitchName
from strandkeeper_demo import entity_mib, interface_mib
from strandkeeper_demo.agent import Agent, StationAgents, free_udp_port
from strandkeeper_demo.mib import dotted
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import PUMP_HOUSE, Scenario

LAB, PUMP, JETTY = SwitchName("lab"), SwitchName("pump-house"), SwitchName("jetty")
V2C = ["-v2c", "-c", "tern-sound-reads"]
V3 = [
    *("-v3", "-u", "strandkeeper", "-l", "authPriv"),
    *("-a", "SHA-256", "-A", "limpet-kelp-urchin", "-x", "AES", "-X", "brine-tide-gauge"),
]
IF_OPER, IF_LAST_CHANGE = "1.3.6.1.2.1.2.2.1.8", "1.3.6.1.2.1.2.2.1.9"
SYS_UP_TIME, ENGINE_BOOTS = "1.3.6.1.2.1.1.3.0", "1.3.6.1.6.3.10.2.1.2.0"
SENSOR_VALUE = "1.3.6.1.2.1.99.1.1.1.4"
LAB_RX = f"{SENSOR_VALUE}.9005"

pytestmark = needs_tools


@dataclass
class Clock:
    """A clock that the test sets."""

    time_s: float

    def __call__(self) -> float:
        return self.time_s


@dataclass
class Station:
    """The switches on the network, and the tools to ask them with."""

    plant: Plant
    clock: Clock
    agents: StationAgents = field(init=False)

    async def ask(
        self, tool: str, agent: Agent, how: list[str], *oids: str, due: Sequence[str] = ANSWER_DUE
    ) -> tuple[int, str]:
        host, port = agent.address
        return await ask(tool, *how, *due, "-On", "-Oe", f"{host}:{port}", *oids)

    async def silence(self, agent: Agent, how: list[str]) -> str:
        """What the client says of a switch that leaves its question unanswered."""
        code, text = await self.ask("get", agent, how, SYS_UP_TIME, due=SILENCE_DUE)
        assert code == 1
        return text

    async def get(self, switch: SwitchName, *oids: str) -> list[str]:
        how = V3 if switch == PUMP else V2C
        code, text = await self.ask("get", self.agents[switch], how, *oids)
        assert code == 0, text
        return [line.partition(" = ")[2].partition(": ")[2] for line in text.splitlines()]

    async def walk(self, switch: SwitchName, oid: str) -> dict[str, str]:
        how = V3 if switch == PUMP else V2C
        code, text = await self.ask("bulkwalk", self.agents[switch], how, oid)
        assert code == 0, text
        # A long octet string goes on in lines of its own.
        pairs = (line.partition(" = ") for line in text.splitlines() if line.startswith("."))
        return {name.lstrip("."): value.partition(": ")[2] for name, _, value in pairs}


@pytest.fixture
async def station(scenario: Scenario) -> AsyncIterator[Station]:
    plant = Plant(scenario)
    made = Station(plant=plant, clock=Clock(float(scenario.now_s)))
    port = free_udp_port([s.address for s in scenario.switches], 0)
    made.agents = StationAgents(plant, port=port, clock=made.clock)
    made.agents.start()
    yield made
    await made.agents.closed()


async def test_the_power_in_milliwatts_is_the_modules_own_count(station: Station) -> None:
    lab = station.plant.scenario.switch(LAB)
    counts = station.plant.counts(lab, lab.port(PortName("sfp1")), station.clock.time_s)
    assert counts is not None
    kind, scale, precision, value = await station.get(
        LAB, *(f"1.3.6.1.2.1.99.1.1.1.{c}.9005" for c in (1, 2, 3, 4))
    )
    # RFC 3433: watts(6), milli(8); one count is 0.1 µW = 10^-4 mW (SFF-8472 9.2).
    assert (kind, scale, precision) == ("6", "8", "4")
    assert int(value) == counts.rx


async def test_every_dialect_publishes_the_same_light(station: Station) -> None:
    station.clock.time_s -= station.clock.time_s % 10  # all caches fresh at once
    expected = {}
    for name, port in ((LAB, "sfp1"), (PUMP, "sfp1"), (JETTY, "fibre1")):
        switch = station.plant.scenario.switch(name)
        counts = station.plant.counts(switch, switch.port(PortName(port)), station.clock.time_s)
        assert counts is not None
        expected[name] = counts.rx / 10_000  # mW
    lab, pump, jetty = [
        int((await station.get(name, f"{SENSOR_VALUE}.{index}"))[0])
        for name, index in ((LAB, 9005), (PUMP, 5089), (JETTY, 755))
    ]
    assert lab / 10_000 == pytest.approx(expected[LAB])
    assert pump / 1e6 == pytest.approx(expected[PUMP])  # nanowatts
    # Hundredths of a dBm, rounded: ±0.005 dB is ±0.12 %.
    assert 10 ** (jetty / 1000) == pytest.approx(expected[JETTY], rel=0.0012)


async def test_no_light_is_zero_in_watts_and_the_floor_in_dbm(station: Station) -> None:
    for link in station.plant.scenario.links:
        station.plant.meddling.unplug(link.name, time_s=station.clock.time_s)
    station.clock.time_s += 30
    lab = station.agents[LAB]
    assert (await station.get(LAB, LAB_RX)) == ["0"]
    assert (await station.get(LAB, f"{IF_OPER}.9")) == ["2"]
    assert lab.requests > 0


async def test_what_is_not_there_is_said_in_the_two_words_of_rfc_3416(station: Station) -> None:
    agent = station.agents[LAB]
    _, text = await station.ask("get", agent, V2C, f"{IF_OPER}.77", "1.3.6.1.4.1.9999.1.0")
    instance, whole_object = text.splitlines()
    assert "No Such Instance" in instance
    assert "No Such Object" in whole_object


async def test_a_walk_of_everything_is_in_order_and_ends(station: Station) -> None:
    for switch in (LAB, JETTY):
        found = await station.walk(switch, "1.3.6.1")
        oids = [dotted(oid) for oid in found]
        assert oids == sorted(oids)
        assert len(oids) > 300
    one_by_one, text = await station.ask("walk", station.agents[JETTY], V2C, "1.3.6.1.2.1.99")
    assert one_by_one == 0
    assert len(text.splitlines()) == len(await station.walk(JETTY, "1.3.6.1.2.1.99"))


@pytest.mark.parametrize("switch", [LAB, PUMP, JETTY])
async def test_every_module_sensor_leads_to_its_port(station: Station, switch: SwitchName) -> None:
    """RFC 6933: climb the containment until a port with an alias mapping is met, or holds one."""
    entity = await station.walk(switch, "1.3.6.1.2.1.47.1.1.1.1")
    alias = await station.walk(switch, "1.3.6.1.2.1.47.1.3.2.1.2")
    kinds = await station.walk(switch, "1.3.6.1.2.1.99.1.1.1.1")
    inside = {_last(o): int(v) for o, v in entity.items() if ".1.1.1.1.4." in o}
    ports = {int(o.split(".")[-2]): _last(v) for o, v in alias.items()}
    names = await station.walk(switch, "1.3.6.1.2.1.31.1.1.1.1")

    def port_of(index: int) -> int | None:
        while index:
            around = [index, *(child for child, parent in inside.items() if parent == index)]
            found = [ports[i] for i in around if i in ports]
            if len(found) == 1:
                return found[0]
            index = inside.get(index, 0)
        return None

    sensors = [_last(oid) for oid in kinds]
    reached = {index: port_of(index) for index in sensors if index != 2}
    optical = {p.if_index for p in station.plant.scenario.switch(switch).ports if p.module}
    assert set(reached.values()) == optical
    assert all(list(reached.values()).count(index) == 5 for index in optical)
    assert {int(_last(oid)) for oid in names} >= optical


def _last(oid: str) -> int:
    return int(oid.rsplit(".", 1)[-1])


async def test_wrong_passwords_get_nothing_out_of_it(station: Station) -> None:
    assert "Timeout" in await station.silence(station.agents[LAB], ["-v2c", "-c", "x"])
    wrong = [word.replace("limpet", "lumpet") for word in V3]
    code, text = await station.ask("get", station.agents[PUMP], wrong, SYS_UP_TIME)
    assert code == 1
    assert "Authentication failure" in text
    assert "Timeout" in await station.silence(station.agents[PUMP], V2C)


async def test_nothing_can_be_set(station: Station) -> None:
    name = "1.3.6.1.2.1.1.5.0"
    before = await station.get(LAB, name)
    code, text = await station.ask(
        "set", station.agents[LAB], V2C, name, "s", "mine", due=SILENCE_DUE
    )
    assert code != 0, text
    assert await station.get(LAB, name) == before


@pytest.mark.parametrize("switch", [LAB, PUMP])
async def test_a_restart_begins_uptime_and_counters_anew_and_counts_a_boot(
    station: Station, switch: SwitchName
) -> None:
    octets = {LAB: "1.3.6.1.2.1.31.1.1.1.6.9", PUMP: "1.3.6.1.2.1.31.1.1.1.6.1001"}[switch]
    asked = (SYS_UP_TIME, ENGINE_BOOTS, octets)
    up, boots, count = await station.get(switch, *asked)
    station.agents[switch].restart()
    station.clock.time_s += 20
    later_up, later_boots, later_count = await station.get(switch, *asked)
    assert _ticks(later_up) == 2000 < _ticks(up)
    assert int(later_boots) == int(boots) + 1
    assert 0 < int(later_count) < int(count)


def _ticks(shown: str) -> int:
    found = re.search(r"\((\d+)\)", shown)
    assert found, shown
    return int(found[1])


async def test_a_frozen_switch_is_silent_and_then_answers_what_has_waited(
    station: Station,
) -> None:
    agent = station.agents[LAB]
    agent.freeze()
    assert "Timeout" in await station.silence(agent, V2C)
    assert agent.requests == 0
    agent.thaw()
    await station.get(LAB, SYS_UP_TIME)
    assert agent.requests == 2


async def test_a_pulled_module_takes_its_rows_with_it(station: Station) -> None:
    lab = station.plant.scenario.switch(LAB)
    port = lab.port(PortName("sfp1"))
    changed = "1.3.6.1.2.1.47.1.4.1.0"
    assert _ticks((await station.get(LAB, changed))[0]) == 0
    station.plant.meddling.pull_module(LAB, port.name, time_s=station.clock.time_s)
    station.clock.time_s += 5
    _, text = await station.ask("get", station.agents[LAB], V2C, LAB_RX)
    assert "No Such Instance" in text
    up, moved, oper, other = await station.get(
        LAB, SYS_UP_TIME, changed, f"{IF_OPER}.9", f"{SENSOR_VALUE}.10005"
    )
    assert _ticks(up) - _ticks(moved) == 500
    assert oper == "6"  # notPresent
    assert int(other) > 0
    station.plant.meddling.put_module_back(LAB, port.name, time_s=station.clock.time_s)
    assert int((await station.get(LAB, LAB_RX))[0]) > 0


async def test_a_flap_shows_in_the_time_of_the_last_change(station: Station) -> None:
    start = station.clock.time_s
    station.plant.meddling.unplug(PUMP_HOUSE, time_s=start + 1)
    station.plant.meddling.plug(PUMP_HOUSE, time_s=start + 3)
    station.clock.time_s += 10
    up, change, oper = await station.get(LAB, SYS_UP_TIME, f"{IF_LAST_CHANGE}.9", f"{IF_OPER}.9")
    assert oper == "1"
    assert _ticks(up) - _ticks(change) == 700


async def test_a_switch_behind_a_dark_link_cannot_be_asked(station: Station) -> None:
    station.plant.meddling.unplug(PUMP_HOUSE, time_s=station.clock.time_s)
    assert "Timeout" in await station.silence(station.agents[PUMP], V3)
    media = "1.3.6.1.2.1.26.2.1.1.5.9.1"
    assert await station.get(LAB, media) == ["4"]  # notAvailable


async def test_a_taken_port_is_named_with_the_way_out(station: Station) -> None:
    host, port = station.agents[LAB].address
    other = StationAgents(station.plant, port=port)
    with pytest.raises(OperatorError) as caught:
        other.start()
    assert f"{host}, UDP port {port}" in caught.value.message
    assert "--snmp-port" in caught.value.hint
    assert free_udp_port([host], port) != port


# module: {symbol: the OID in our tables}, held against the compiled modules of the IETF.
PUBLISHED: dict[str, dict[str, str]] = {
    "SNMPv2-MIB": {"sysDescr": f"{interface_mib.SYSTEM}.1", "sysUpTime": "1.3.6.1.2.1.1.3"},
    "SNMP-FRAMEWORK-MIB": {
        "snmpEngineID": f"{interface_mib.ENGINE}.1",
        "snmpEngineBoots": f"{interface_mib.ENGINE}.2",
        "snmpEngineTime": f"{interface_mib.ENGINE}.3",
        "snmpEngineMaxMessageSize": f"{interface_mib.ENGINE}.4",
    },
    "IF-MIB": {
        "ifNumber": "1.3.6.1.2.1.2.1",
        "ifTableLastChange": "1.3.6.1.2.1.31.1.5",
        **{
            name: f"{interface_mib.IF_TABLE}.{column}"
            for column, name in {
                1: "ifIndex", 2: "ifDescr", 3: "ifType", 4: "ifMtu", 5: "ifSpeed",
                6: "ifPhysAddress", 7: "ifAdminStatus", 8: "ifOperStatus", 9: "ifLastChange",
                10: "ifInOctets", 11: "ifInUcastPkts", 13: "ifInDiscards", 14: "ifInErrors",
                15: "ifInUnknownProtos", 16: "ifOutOctets", 17: "ifOutUcastPkts",
                19: "ifOutDiscards", 20: "ifOutErrors",
            }.items()
        },
        **{
            name: f"{interface_mib.IF_X_TABLE}.{column}"
            for column, name in {
                1: "ifName", 6: "ifHCInOctets", 7: "ifHCInUcastPkts",
                8: "ifHCInMulticastPkts", 9: "ifHCInBroadcastPkts", 10: "ifHCOutOctets",
                11: "ifHCOutUcastPkts", 12: "ifHCOutMulticastPkts", 13: "ifHCOutBroadcastPkts",
                14: "ifLinkUpDownTrapEnable", 15: "ifHighSpeed", 17: "ifConnectorPresent",
                18: "ifAlias", 19: "ifCounterDiscontinuityTime",
            }.items()
        },
    },
    "EtherLike-MIB": {
        "dot3StatsAlignmentErrors": f"{interface_mib.DOT3_STATS}.2",
        "dot3StatsFCSErrors": f"{interface_mib.DOT3_STATS}.3",
        "dot3StatsSymbolErrors": f"{interface_mib.DOT3_STATS}.18",
        "dot3StatsDuplexStatus": f"{interface_mib.DOT3_STATS}.19",
        "dot3HCStatsFCSErrors": f"{interface_mib.DOT3_HC_STATS}.2",
        "dot3HCStatsSymbolErrors": f"{interface_mib.DOT3_HC_STATS}.6",
    },
    "MAU-MIB": {
        "ifMauIfIndex": f"{interface_mib.IF_MAU}.1",
        "ifMauIndex": f"{interface_mib.IF_MAU}.2",
        "ifMauType": f"{interface_mib.IF_MAU}.3",
        "ifMauStatus": f"{interface_mib.IF_MAU}.4",
        "ifMauMediaAvailable": f"{interface_mib.IF_MAU}.5",
        "ifMauMediaAvailableStateExits": f"{interface_mib.IF_MAU}.6",
    },
    "IANA-MAU-MIB": {
        "dot3MauType1000BaseLX10": "1.3.6.1.2.1.26.4.49",
        "dot3MauType1000BaseBX10D": "1.3.6.1.2.1.26.4.47",
        "dot3MauType1000BaseBX10U": "1.3.6.1.2.1.26.4.48",
        "dot3MauType1000BaseTFD": f"1.3.6.1.2.1.26.4.{interface_mib.MAU_1000BASE_T_FD}",
    },
    "ENTITY-MIB": {
        "entAliasMappingIdentifier": entity_mib.ALIAS_MAPPING,
        "entPhysicalChildIndex": entity_mib.CHILD,
        "entLastChangeTime": entity_mib.LAST_CHANGE,
        **{
            name: f"{entity_mib.ENTITY}.{column}"
            for column, name in {
                2: "entPhysicalDescr", 3: "entPhysicalVendorType", 4: "entPhysicalContainedIn",
                5: "entPhysicalClass", 6: "entPhysicalParentRelPos", 7: "entPhysicalName",
                8: "entPhysicalHardwareRev", 11: "entPhysicalSerialNum",
                12: "entPhysicalMfgName", 13: "entPhysicalModelName", 14: "entPhysicalAlias",
                16: "entPhysicalIsFRU",
            }.items()
        },
    },
    "ENTITY-SENSOR-MIB": {
        name: f"{entity_mib.SENSOR}.{column}"
        for column, name in {
            1: "entPhySensorType", 2: "entPhySensorScale", 3: "entPhySensorPrecision",
            4: "entPhySensorValue", 5: "entPhySensorOperStatus", 6: "entPhySensorUnitsDisplay",
            7: "entPhySensorValueTimeStamp", 8: "entPhySensorValueUpdateRate",
        }.items()
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def symbol() -> Callable[[str, str], str]:
    made = builder.MibBuilder()
    made.add_mib_sources(builder.DirMibSource(_compiled_modules()))

    def oid_of(module: str, name: str) -> str:
        (found,) = made.import_symbols(module, name)
        return ".".join(map(str, found.name))

    return oid_of


def _compiled_modules() -> str:
    import pysnmp_mibs

    return str(next(iter(pysnmp_mibs.__path__)))


@pytest.mark.filterwarnings("ignore:.*is deprecated:DeprecationWarning")  # the compiled modules'
@pytest.mark.parametrize("module", list(PUBLISHED))
def test_oids_are_those_of_the_published_modules(
    module: str, symbol: Callable[[str, str], str]
) -> None:
    ours = PUBLISHED[module]
    assert {name: symbol(module, name) for name in ours} == ours


async def test_no_column_is_served_that_was_not_held_against_a_published_module(
    station: Station,
) -> None:
    known = {oid for names in PUBLISHED.values() for oid in names.values()}
    quiet = {f"{interface_mib.DOT3_STATS}.{c}" for c in (8, 10, 11, 13, 16)}
    quiet |= {f"{interface_mib.DOT3_HC_STATS}.{c}" for c in (1, 3, 4, 5)}
    quiet |= {f"{interface_mib.SYSTEM}.{c}" for c in (2, 4, 5, 6, 7)}
    for agent in station.agents.agents.values():
        mib, _ = agent.tables()
        for oid, _cell in mib:
            text = ".".join(map(str, oid))
            assert any(text.startswith(f"{column}.") for column in known | quiet), text
