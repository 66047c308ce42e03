"""Every invented switch answers over UDP, and its ground truth is what it serves."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.bench.held_out_agents import HELD_OUT
from tests.strandkeeper_demo.net_snmp import ANSWER_DUE, SILENCE_DUE, ask, needs_tools

from strandkeeper.optics.sff8472 import decode_module
from strandkeeper.optics.units import Milliwatt
from strandkeeper_demo.mib import Oid, Value, dotted
from strandkeeper_demo.personalities.columns import reading
from strandkeeper_demo.personalities.interfaces import Neighbour, virtual_cells
from strandkeeper_demo.personalities.personality import Personality, Tables
from strandkeeper_demo.personalities.physics import Fill, Pair, PortNow, Quantity
from strandkeeper_demo.personalities.responder import Box, serve
from strandkeeper_demo.personalities.table import Published
from strandkeeper_demo.personalities.tuning import TUNING

NOW_S = 1_767_268_800.0  # 2026-01-01 12:00 UTC
PORT = 16_263
OWN = "1.3.6.1.4.1.32473"
BY_NAME = {p.name: p for p in (*TUNING, *HELD_OUT)}
NAMES = sorted(BY_NAME)
MISBEHAVE_ON_WALKS = [p.name for p in BY_NAME.values() if p.manners.turns_back or p.manners.gen_err]

# GET sysName.0 in v2c, put together by hand: version 1, community, PDU, one varbind
GET_SYS_NAME = bytes.fromhex(
    "302a020101"
    + "040a"
    + b"reads-only".hex()
    + "a019020101020100020100300e300c06082b060102010105000500"
)


@dataclass
class Clock:
    time_s: float = NOW_S

    def __call__(self) -> float:
        return self.time_s


@dataclass
class Bench:
    """One switch, joined to a second of its kind."""

    pair: Pair
    box: Box
    clock: Clock

    async def ask(self, tool: str, *how: str, version: str = "2c") -> str:
        if self.box.switch.manners.versions == (0,):
            version = "1"
        _, out = await ask(
            *(tool, f"-v{version}", "-c", "reads-only", *ANSWER_DUE),
            *("-On", "-Oe", "-Ot", *how[:-1], f"127.0.9.1:{PORT}", how[-1]),
        )
        return out

    async def walk(self, oid: str) -> list[Oid]:
        text = await self.ask("walk", oid)
        lines = (line.partition(" = ") for line in text.splitlines() if line.startswith("."))
        gone = ("No more", "No Such")
        return [dotted(n.lstrip(".")) for n, _, value in lines if not value.startswith(gone)]


def bench_of(switch: Personality, seed: int = 11) -> Bench:
    pair, clock = Pair(switch.ports, switch.ports, seed=seed), Clock()
    return Bench(pair, Box(switch, pair, 0, clock=clock), clock)


@pytest.fixture
async def served(request: pytest.FixtureRequest) -> AsyncIterator[Bench]:
    """The switch named by the test, on the network."""
    bench = bench_of(BY_NAME[request.param])
    (transport,) = await serve([(bench.box, ("127.0.9.1", PORT))])
    yield bench
    transport.close()
    await asyncio.sleep(0)


def test_there_are_enough_of_them_each_with_a_place_of_its_own() -> None:
    assert len(TUNING) >= 12
    assert sum(1 for p in HELD_OUT if p.truth().of(Quantity.RX)) >= 20
    assert len(BY_NAME) == len(TUNING) + len(HELD_OUT)
    assert len({p.arc for p in BY_NAME.values()}) == len(BY_NAME)
    assert len({p.about for p in BY_NAME.values()}) == len(BY_NAME)


@pytest.mark.parametrize("name", list(BY_NAME))
def test_no_port_shares_its_number_with_an_interface_that_is_none(name: str) -> None:
    """Also not after restarts, where the switch moves its numbers."""
    switch = BY_NAME[name]
    others = {oid[-1] for oid, _, _ in virtual_cells(switch.interfaces)}
    for boots in range(1, 10):
        assert others.isdisjoint(switch.interfaces.index(p.number, boots) for p in switch.ports)


def test_between_them_they_have_every_index_and_unit_that_switches_use() -> None:
    """The kinds of section 9 of the survey of practice: by index, and by step of the number."""
    truths = [t for p in BY_NAME.values() for t in p.truth().published]
    assert len({t.index for t in truths}) == 9
    steps = {
        quantity: {(t.unit.step, t.unit.dimension) for t in truths if t.quantity is quantity}
        for quantity in Quantity
    }
    powers = {(0.01, "dBm"), (0.001, "dBm"), (0.1, "dBm"), (1e-4, "mW"), (1e-3, "mW"), (1e-6, "mW")}
    assert powers <= steps[Quantity.RX]
    assert {(1 / 256, "°C"), (0.1, "°C"), (1.0, "°C")} <= steps[Quantity.TEMPERATURE]
    assert {(1e-3, "V"), (1e-4, "V"), (0.01, "V")} <= steps[Quantity.SUPPLY]
    assert {(0.002, "mA"), (0.001, "mA"), (0.1, "mA"), (1.0, "mA")} <= steps[Quantity.BIAS]


@needs_tools
@pytest.mark.parametrize("served", [n for n in NAMES if n not in MISBEHAVE_ON_WALKS], indirect=True)
async def test_a_walk_by_other_hands_finds_every_object_of_its_own(served: Bench) -> None:
    base = dotted(OWN)
    wanted = sorted(oid for oid in served.box.tables() if oid[: len(base)] == base)
    assert await served.walk(OWN) == wanted


@needs_tools
@pytest.mark.parametrize("served", NAMES, indirect=True)
async def test_it_says_who_it_is(served: Bench) -> None:
    text = await served.ask("get", "1.3.6.1.2.1.1.2.0")
    assert text.strip().endswith(f".{OWN}.{served.box.switch.arc}.1")


def _numbers(value: Value) -> Iterator[float]:
    """The numbers in a cell, by means of its own."""
    if isinstance(value, int):
        yield float(value)
    elif isinstance(value, str):
        text = value.replace("\u2212", "-").replace(",", ".")
        yield from (float(found) for found in re.findall(r"-?\d+(?:\.\d+)?", text))


def _cells_of(truth: Published, tables: Tables) -> Iterator[Value]:
    """The cells that the ground truth points at."""
    size = len(truth.column)
    for oid, (_, value) in tables.items():
        if oid[:size] != truth.column:
            continue
        index = oid[size:]
        if truth.kind_column is not None:
            if tables[*truth.kind_column, *index][1] != truth.kind:
                continue
        elif truth.kind is not None and truth.kind not in index:
            continue
        yield value


def _physical(port: PortNow, lane: int, truth: Published) -> float | None:
    figure = reading(port, lane, truth.quantity)
    if isinstance(figure, Milliwatt):
        return figure.to_dbm().value if truth.unit.dimension == "dBm" else figure.value
    return figure


@pytest.mark.parametrize("name", NAMES)
def test_its_ground_truth_is_what_it_serves(name: str) -> None:
    bench = bench_of(BY_NAME[name])
    # Hardware that is read twice a minute was read last on the minute: NOW_S is one.
    ports = [p for p in bench.pair.ports(0, NOW_S) if p.measures]
    for truth in bench.box.switch.truth().published:
        cells = list(_cells_of(truth, bench.box.tables()))
        by_lane = "lane" in truth.index.value
        for port in ports:
            for lane in range(len(port.lanes) if by_lane else 1):
                wanted = _physical(port, lane, truth)
                if wanted is None:
                    continue
                digit = _text_step(cells) if truth.is_text else 1.0
                half = 0.51 * digit * truth.unit.step
                found = [n * truth.unit.step for cell in cells for n in _numbers(cell)]
                near = min(abs(value - wanted) for value in found)
                assert near <= half, f"{name} {truth.quantity} {wanted} not in {found}"


def _text_step(cells: list[Value]) -> float:
    """Half of the last digit printed decides: the coarsest cell's."""
    shown = [str(c).replace(",", ".") for c in cells]
    places = [len(d) for c in shown for d in re.findall(r"\d\.(\d+)", c)]
    return 10.0 ** -min(places) if places else 1.0


@pytest.mark.parametrize("name", NAMES)
def test_receive_power_has_a_word_for_no_light_and_nothing_else_changes(name: str) -> None:
    bench = bench_of(BY_NAME[name])
    lit = [p for p in bench.pair.ports(0, NOW_S) if p.plan.fill is Fill.LIT]
    before = dict(bench.box.tables())
    for port in lit:
        bench.pair.unplug(0, port.plan.number)
    after = bench.box.tables()
    base = bench.box.switch.base
    truth = bench.box.switch.truth()
    rx = {t.column for t in truth.of(Quantity.RX)}
    changed = {o for o in before if o[: len(base)] == base and before[o] != after.get(o)}
    others = {t.column for t in truth.published} - rx
    assert not {o for o in changed if any(o[: len(c)] == c for c in others)}
    assert bool(rx) == bool({o for o in changed if any(o[: len(c)] == c for c in rx)})


@pytest.mark.parametrize("name", NAMES)
def test_a_module_pulled_out_and_another_put_in_have_different_serials(name: str) -> None:
    bench = bench_of(BY_NAME[name])
    modules = [p for p in bench.pair.ports(0, NOW_S) if p.serial]
    for port in modules[:1]:
        number = port.plan.number
        bench.pair.pull(0, number)
        out = next(p for p in bench.pair.ports(0, NOW_S) if p.plan.number == number)
        assert (out.present, out.up, out.serial) == (False, False, "")
        bench.pair.insert(0, number)
        new = next(p for p in bench.pair.ports(0, NOW_S) if p.plan.number == number)
        assert new.present
        assert new.serial != port.serial


@pytest.mark.parametrize("optic", ["1000BASE-LX10", "1000BASE-ZX", "10GBASE-LR"])
def test_light_that_arrives_is_less_than_was_sent_and_moves_slowly(optic: str) -> None:
    """SFF-8472 9.2 allows ±3 dB each; losses up to 20 dB are within these classes' budgets."""
    plans = tuple(replace(p, optic=optic) for p in BY_NAME["ridge"].ports)
    pair = Pair(plans, plans, seed=4)
    seen = []
    for minute in range(0, 180, 3):
        ports = [{p.plan.number: p for p in pair.ports(s, NOW_S + 60 * minute)} for s in (0, 1)]
        x, y = pair.links[0]
        sent, received = ports[1][y].lanes[0].tx, ports[0][x].lanes[0].rx
        assert sent is not None
        assert received is not None
        loss = (sent.to_dbm() - received.to_dbm()).value
        assert -2.0 < loss < 23.0
        seen.append(received.to_dbm())
    steps = [abs((b - a).value) for a, b in pairwise(seen)]
    assert 0.0 < max(steps) < 0.5
    assert len(set(seen)) > 20


@pytest.mark.parametrize("name", ["reef", "hollow"])
def test_raw_pages_decode_to_what_the_module_holds(name: str) -> None:
    """By the product's own decoder, which shares nothing with the encoder but the standard."""
    bench = bench_of(BY_NAME[name])
    tables, switch = bench.box.tables(), bench.box.switch
    columns = [column for column, _ in switch.truth().pages]
    for port in (p for p in bench.pair.ports(0, NOW_S) if p.measures):
        number = port.plan.number
        index = 100 + number if name == "hollow" else switch.if_index(number, 1)
        octets = b"".join(_octets(tables[*column, index][1]) for column in columns)
        half = len(octets) // 2
        module = decode_module(octets[:half], octets[half:])
        assert module.identity is not None
        assert module.diagnostics is not None
        assert module.identity.serial == port.serial
        assert module.diagnostics.temp_c == pytest.approx(port.temperature_c, abs=0.01)
        light = port.lanes[0].rx
        if light is not None:
            assert module.diagnostics.rx is not None
            shown = module.diagnostics.rx.value
            assert shown == pytest.approx(light.to_microwatt().value, abs=0.1)


def _octets(value: Value) -> bytes:
    assert isinstance(value, bytes)
    return value


@needs_tools
@pytest.mark.parametrize("served", ["spit"], indirect=True)
async def test_a_v1_switch_is_silent_to_v2c_and_names_what_it_lacks(served: Bench) -> None:
    assert served.box.switch.manners.versions == (0,)
    for_v1 = await served.ask("get", "1.3.6.1.2.1.1.5.0")
    assert "spit" in for_v1
    lacking = await served.ask("get", "1.3.6.1.2.1.31.1.1.1.6.1")
    assert "noSuchName" in lacking
    assert served.box.answer(GET_SYS_NAME) is None
    assert served.box.answer(GET_SYS_NAME.replace(b"\x02\x01\x01", b"\x02\x01\x00", 1)) is not None


@needs_tools
@pytest.mark.parametrize("served", ["skerry"], indirect=True)
async def test_small_answers_are_too_big_and_many_objects_meet_silence(served: Bench) -> None:
    names = [f"1.3.6.1.2.1.2.2.1.2.{500 + n}" for n in range(5)]
    few = await served.ask("get", names[0])
    assert "Port Gi1" in few
    _, out = await ask(
        *("get", "-v2c", "-c", "reads-only", *SILENCE_DUE, "-On"),
        *(f"127.0.9.1:{PORT}", *(names * 3)),
    )
    assert "Timeout" in out


@needs_tools
@pytest.mark.parametrize("served", ["combe"], indirect=True)
async def test_one_object_that_fails_spoils_its_request_alone(served: Bench) -> None:
    good = await served.ask("get", f"{OWN}.115.2.1.3.1")
    assert ": " in good
    bad = await served.ask("get", f"{OWN}.115.2.1.9.1")
    assert "genError" in bad


@needs_tools
@pytest.mark.parametrize("served", ["tor"], indirect=True)
async def test_a_walk_that_turns_back_is_noticed_by_other_hands(served: Bench) -> None:
    text = await served.ask("walk", OWN)
    assert "OID not increasing" in text


def test_a_restart_moves_ifindex_where_the_switch_does_that_and_uptime_everywhere() -> None:
    bench = bench_of(BY_NAME["skerry"])
    uptime, descr = dotted("1.3.6.1.2.1.1.3.0"), dotted("1.3.6.1.2.1.2.2.1.2")
    assert (*descr, 500) in bench.box.tables()
    bench.clock.time_s += 60
    bench.box.restart()
    assert bench.box.tables()[uptime][1] == 0
    assert (*descr, 500) not in bench.box.tables()
    assert (*descr, 540) in bench.box.tables()


def test_hardware_read_twice_a_minute_shows_the_same_figure_between() -> None:
    bench = bench_of(BY_NAME["skerry"])
    rx = bench.box.switch.truth().of(Quantity.RX)[0].column
    seen = []
    for second in range(0, 120, 5):
        bench.clock.time_s = NOW_S + second
        seen.append(next(v for o, (_, v) in bench.box.tables().items() if o[: len(rx)] == rx))
    assert 2 <= len(set(seen)) <= 4


def test_sensors_can_be_unavailable() -> None:
    marsh = BY_NAME["marsh"]
    assert marsh.sensors is not None
    bench = bench_of(replace(marsh, sensors=replace(marsh.sensors, status=2)))
    status = dotted("1.3.6.1.2.1.99.1.1.1.5")
    found = [v for o, (_, v) in bench.box.tables().items() if o[: len(status)] == status]
    assert found
    assert set(found) == {2}


def test_a_neighbour_is_heard_only_while_the_port_is_up() -> None:
    bench = bench_of(BY_NAME["ridge"])
    bench.box.neighbours = (Neighbour(port=5, system="far", far_port="Gi1/5"),)
    remote = dotted("1.0.8802.1.1.2.1.4.1.1")
    assert (*remote, 7, 0, 5, 1) in bench.box.tables()
    bench.pair.unplug(0, 5)
    assert (*remote, 7, 0, 5, 1) not in bench.box.tables()


def test_datagrams_cut_short_at_any_octet_are_met_with_silence() -> None:
    bench = bench_of(BY_NAME["ridge"])
    assert b"ridge" in (bench.box.answer(GET_SYS_NAME) or b"")
    for size in range(len(GET_SYS_NAME)):
        assert bench.box.answer(GET_SYS_NAME[:size]) is None


@settings(max_examples=500, deadline=None)
@given(place=st.integers(0, len(GET_SYS_NAME) - 1), octets=st.binary(max_size=12))
def test_damaged_datagrams_do_no_harm(place: int, octets: bytes) -> None:
    bench = bench_of(BY_NAME["tarn"])
    damaged = GET_SYS_NAME[:place] + octets + GET_SYS_NAME[place + len(octets) :]
    bench.box.answer(damaged)
    assert bench.box.answer(GET_SYS_NAME) is not None
