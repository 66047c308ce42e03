"""Described tables from the configuration to the reading, over real UDP, on invented switches.

The switches are the demo's, written by another hand: their own encoder says what each cell means,
and the physics behind it what the figure must be. The descriptions are written here by hand, as an
owner would write them from a manual.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from strandkeeper.config.load import loads
from strandkeeper.jobs.ask_switch import SwitchReport, ask_switch
from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import OpticalReading
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper_demo.personalities.physics import Pair, PortNow
from strandkeeper_demo.personalities.responder import Box, serve
from strandkeeper_demo.personalities.tuning import TUNING

NOW_S = 1_800_000_000.0
OWN = "1.3.6.1.4.1.32473"


def columns(base: str, arcs: tuple[int, ...], units: tuple[str, ...], extra: str = "") -> str:
    """Lines for temperature, supply, bias, transmit and receive power; the last unit is of both."""
    names = ("temperature", "supply", "bias", "tx", "rx")
    each = (*units, units[-1])
    return (
        "\n".join(
            f'{name} = {{ oid = "{OWN}.{base}.{arc}", unit = "{unit}" }}'
            for name, arc, unit in zip(names, arcs, each, strict=True)
        )
        + f"\n{extra}\n"
    )


def kinds(column: str, marks: tuple[object, ...], units: tuple[str, ...]) -> str:
    names = ("temperature", "supply", "bias", "tx", "rx")
    each = (*units, units[-1])
    return (
        "\n".join(
            f'{name} = {{ oid = "{OWN}.{column}", unit = "{unit}", kind = {mark!r} }}'
            for name, mark, unit in zip(names, marks, each, strict=True)
        )
        + "\n"
    )


DESCRIBED = {
    "ridge": columns(
        "101.2.1.1", (5, 6, 7, 8, 9), ("0.01 C", "mV", "uA", "0.01 dBm"),
        f'no_light = [-4000]\nserial = "{OWN}.101.2.1.1.3"',
    ),
    "fjord": columns(
        "102.1.4.1", (1, 6, 11, 16, 21), ("1/256 C", "0.1 mV", "2 uA", "0.1 uW")
    ),
    "heath": columns(
        "103.6.1.1", (4, 5, 6, 8, 7), ("text",) * 4, 'not_there = ["N/A"]'
    ),
    "marsh": 'index = "entPhysicalIndex"\n' + columns(
        "104.11.2.1.1", (7, 6, 5, 3, 4), ("C", "10 mV", "0.1 mA", "uW")
    ),
    "cairn": 'index = "port"\nport_name = "Port port {port}"\nport_offset = 1\n' + columns(
        "105.3.1.1", (2, 3, 4, 6, 5), ("0.1 C", "mV", "0.1 mA", "0.1 dBm"), "no_light = [-400]"
    ),
    "moor": 'index = "ifIndex.lane"\n' + columns(
        "106.5.3.1", (10, 11, 12, 14, 13), ("C", "mV", "uA", "0.001 dBm")
    ),
    "dune": f'index = "ifIndex.kind"\nkind_oid = "{OWN}.107.4.1.2"\n' + kinds(
        "107.4.1.3", (1, 2, 3, 4, 5), ("0.1 C", "0.1 mV", "2 uA", "nW")
    ),
    "tarn": 'index = "0"\nport_name = "uplink5"\n' + columns(
        "108.2.5", (1, 2, 3, 4, 5), ("C", "V", "mA", "mW"), 'not_there = ["--"]'
    ),
    "delta": 'index = "unit.port"\nport_name = "A{port}"\n' + columns(
        "109.1.3.1", (2, 3, 4, 5, 6), ("text",) * 4, 'not_there = ["kein Modul"]'
    ),
    "shoal": f'index = "any"\nport_oid = "{OWN}.110.3.2.1.2"\nkind_oid = "{OWN}.110.3.2.1.3"\n'
    + kinds(
        "110.3.2.1.4", ("temp", "vcc", "ibias", "ptx", "prx"), ("1/256 C", "mV", "uA", "0.1 uW")
    ),
    "glade": columns(
        "111.1.9.1", (3, 4, 5, 6, 7), ("0.1 C", "10 mV", "10 uA", "0.01 dBm"),
        "no_light = [-214748364]\nnot_there = [-214748364]",
    ),
    "spit": columns(
        "112.8.1", (1, 6, 11, 16, 21), ("1/256 C", "0.1 mV", "2 uA", "0.1 uW")
    ),
    "skerry": columns(
        "113.9.9.1", (1, 2, 3, 4, 5), ("C", "mV", "0.1 mA", "0.01 dBm"), "no_light = [-4000]"
    ),
    "tor": columns("116.4.1", (11, 12, 13, 15, 14), ("C", "V", "mA", "dBm")),
}  # fmt: skip
# half of one count of a power, in dB, at -20 dBm; and of the other figures
STEPS_DB = {"marsh": 0.25, "cairn": 0.05, "delta": 0.25, "tarn": 0.03}


@asynccontextmanager
async def asked(name: str) -> AsyncIterator[tuple[SwitchReport, dict[str, PortNow]]]:
    """The report of `check` on the switch of that name, and the truth of its ports."""
    switch = next(p for p in TUNING if p.name == name)
    pair = Pair(switch.ports, switch.ports, seed=5)
    (transport,) = await serve([(Box(switch, pair, 0, clock=lambda: NOW_S), ("127.0.0.1", 0))])
    host, port = transport.get_extra_info("sockname")
    version = "2c" if 1 in switch.manners.versions else "1"
    settings = loads(
        f'[[switch]]\nname = "x"\nhost = "{host}"\nport = {port}\ntables = ["own"]\n'
        f'timeout_s = 0.5\nsnmp = {{ version = "{version}", community_env = "UNUSED" }}\n'
        f'[[table]]\nname = "own"\n{DESCRIBED[name]}',
        base=Path(),
    )
    client = SnmpClient([(settings.switches[0], Community(version=version, text="reads-only"))])
    await client.start()
    try:
        called = "{}" if switch.interfaces.names == "names" else "Port {}"  # its ifDescr
        names = [PortName(called.format(p.name)) for p in switch.ports if p.fill.name != "COPPER"]
        report = await ask_switch(client, SwitchName("x"), names)
        every = switch.manners.stalls_s
        at = NOW_S - NOW_S % every if every else NOW_S
        yield report, {called.format(p.plan.name): p for p in pair.ports(0, at)}
    finally:
        await client.close()
        transport.close()


def assert_power(said: Power, truth: object, *, step_db: float) -> None:
    if truth is None:
        assert said == NO_LIGHT
        return
    expected = truth.to_dbm().value  # type: ignore[attr-defined]
    assert isinstance(said, Measured), (said, expected)
    assert said.power.value == pytest.approx(expected, abs=step_db)


def assert_reading(said: OpticalReading | None, truth: PortNow, name: str) -> None:
    if not truth.measures:
        assert said is None or (said.rx in (NOT_REPORTED, NO_LIGHT) and said.temp_c is None)
        return
    assert said is not None
    step_db = STEPS_DB.get(name, 0.02)
    assert_power(said.rx, truth.lanes[0].rx, step_db=step_db)
    assert_power(said.tx, truth.lanes[0].tx, step_db=step_db)
    assert said.temp_c == pytest.approx(truth.temperature_c, abs=0.51)
    assert said.vcc_v == pytest.approx(truth.supply_v, abs=0.0051)
    assert said.bias_ma == pytest.approx(truth.lanes[0].bias_ma, abs=0.051)


@pytest.mark.parametrize("name", list(DESCRIBED))
async def test_a_described_table_gives_the_true_figures(name: str) -> None:
    async with asked(name) as (report, truth):
        assert report.answered, report.error
        lit = 0
        known = {str(n) for n in report.known_ports}
        assert len(known & truth.keys()) == len(truth)
        for port in report.ports:
            assert port.identity is not None, port.port
            assert_reading(port.reading, truth[port.port], name)
            lit += truth[port.port].measures
            if truth[port.port].measures:
                assert port.identity.reader == 'table "own"'
        assert lit


async def test_a_table_that_the_switch_does_not_have_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(DESCRIBED, "ridge", DESCRIBED["heath"])
    async with asked("ridge") as (report, _):
        assert report.ports[0].identity is not None
        assert (
            'table "own": the switch shows nothing at 1.3.6.1.4.1.32473.103.6.1.1.7; it has no '
            "such table, or this credential may not see it"
        ) in report.ports[0].identity.remarks
