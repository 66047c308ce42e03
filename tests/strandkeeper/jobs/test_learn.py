"""Learning invented switches over real UDP: what is found, said, written and proved."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from strandkeeper.alerts.wording_identify import learned_lines
from strandkeeper.cli.survey_learn import prove
from strandkeeper.config.load import loads
from strandkeeper.errors import DeviceError
from strandkeeper.jobs.learn import Joint, Learned, learn, learn_together
from strandkeeper.jobs.learn_text import table_text
from strandkeeper.model.enterprise_table import parse_unit
from strandkeeper.model.identification import Candidate
from strandkeeper.model.names import SwitchName
from strandkeeper.model.reading import Quantity
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Pair
from strandkeeper_demo.personalities.physics import Quantity as True_
from strandkeeper_demo.personalities.responder import Box, serve
from strandkeeper_demo.personalities.table import Published
from strandkeeper_demo.personalities.tuning import TUNING

BY_NAME = {p.name: p for p in TUNING}
PUBLISH = [p.name for p in TUNING if p.truth().of(True_.RX)]
REF = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused"))


class Clock:
    """Simulated time: it goes by when somebody waits."""

    def __init__(self) -> None:
        self.time_s = 1_767_268_800.0

    def __call__(self) -> float:
        return self.time_s

    async def wait(self, seconds: float) -> None:
        self.time_s += seconds


@dataclass
class Bench:
    """Two switches of one kind joined to each other, and a client that may ask both."""

    client: SnmpClient
    clock: Clock
    pair: Pair
    names: tuple[SwitchName, SwitchName]
    boxes: tuple[Box, Box]

    async def learn(self) -> Learned:
        return await learn(self.client, self.names[0], wait=self.clock.wait)


@asynccontextmanager
async def bench_of(switch: Personality, seed: int = 3) -> AsyncIterator[Bench]:
    clock, pair = Clock(), Pair(switch.ports, switch.ports, seed=seed)
    boxes = (Box(switch, pair, 0, clock=clock), Box(switch, pair, 1, clock=clock))
    hosts = ("127.0.41.1", "127.0.41.2")
    names = (SwitchName("near"), SwitchName("far"))
    version = "1" if switch.manners.versions == (0,) else "2c"
    wires = await serve([(box, (host, 0)) for box, host in zip(boxes, hosts, strict=True)])
    addresses = [wire.get_extra_info("sockname") for wire in wires]
    held = Community(version=version, text=switch.community)
    targets = [
        SwitchTarget(name=n, host=h, port=p, credentials=REF, timeout_s=0.5, retries=1)
        for n, (h, p) in zip(names, addresses, strict=True)
    ]
    client = SnmpClient([(target, held) for target in targets])
    await client.start()
    try:
        yield Bench(client, clock, pair, names, boxes)
    finally:
        await client.close()
        for wire in wires:
            wire.close()


def best(learned: Learned, quantity: Quantity) -> tuple[Candidate, bool]:
    figures = [f for p in learned.proposals if (f := p.figure(quantity)) is not None]
    figure = max(figures, key=lambda f: f.ranked[0].probability)
    return figure.ranked[0], figure.confident


def right(candidate: Candidate, truths: tuple[Published, ...]) -> bool:
    """Column, kind and unit as the layout itself tells them."""
    for truth in truths:
        if candidate.place.column != truth.column or candidate.place.kind != truth.kind:
            continue
        if candidate.unit is None:
            return truth.names_unit
        unit = candidate.unit
        return float(unit.step) == pytest.approx(truth.unit.step) and (
            unit.dimension.value == truth.unit.dimension
        )
    return False


@pytest.mark.parametrize("name", PUBLISH)
async def test_receive_power_is_ranked_first_with_column_and_unit(name: str) -> None:
    async with bench_of(BY_NAME[name]) as bench:
        candidate, _ = best(await bench.learn(), Quantity.RX)
    assert right(candidate, BY_NAME[name].truth().of(True_.RX))


@pytest.mark.parametrize("name", ["fen", "reef", "hollow"])
async def test_a_switch_without_optics_of_its_own_is_offered_none(name: str) -> None:
    async with bench_of(BY_NAME[name]) as bench:
        learned = await bench.learn()
    assert learned.proposals == ()
    assert learned_lines(learned.proposals) == [
        "Nothing in the switch's own tables looks like the readings of modules."
    ]


async def test_a_walk_that_turns_back_ends_and_says_what_it_did_not_read() -> None:
    async with bench_of(BY_NAME["tor"]) as bench:
        learned = await bench.learn()
        assert bench.boxes[0].requests < 400
    assert any("out of order" in remark for remark in learned.remarks)


async def test_one_object_that_fails_does_not_hide_the_others() -> None:
    async with bench_of(BY_NAME["combe"]) as bench:
        learned = await bench.learn()
    assert learned.walked == 4  # two ports, temperature and bias
    assert any("broke the walk off" in remark for remark in learned.remarks)


async def test_the_far_end_helps_and_a_silent_one_does_no_harm() -> None:
    switch = BY_NAME["heath"]
    async with bench_of(switch) as bench:
        near, far = bench.names
        links = [
            Joint(a=near, a_index=switch.if_index(x, 1), b=far, b_index=switch.if_index(y, 1))
            for x, y in bench.pair.links
        ]
        both = await learn_together(bench.client, [near, far], links, wait=bench.clock.wait)
        here = both[near]
        assert isinstance(here, Learned)
        assert set(here.observations.far_sent) == {link.a_index for link in links}
        bench.boxes[1].deaf = True
        alone = await learn_together(bench.client, [near, far], links, wait=bench.clock.wait)
    assert isinstance(alone[far], DeviceError)
    assert isinstance(alone[near], Learned)


async def test_the_plug_that_is_pulled_proves_the_column() -> None:
    switch = BY_NAME["ridge"]
    (truth,) = switch.truth().of(True_.RX)
    asked: list[str] = []
    async with bench_of(switch) as bench:
        learned = await bench.learn()
        port = bench.pair.links[0][0]

        async def pull(text: str) -> None:
            asked.append(text)
            bench.pair.unplug(0, port)
            await bench.clock.wait(60)

        said = await prove(bench.client, bench.names[0], learned, pull, port="Gi1/5")
    column = ".".join(map(str, truth.column))
    assert said == [f"column {column} went dark: it is receive power."]
    assert "port Gi1/5" in asked[0]
    assert "Never look into a fibre" in asked[0]


def adopted(text: str) -> str:
    """What stands in the file once a person has taken the first # off each line."""
    return "".join(line.removeprefix("#") + "\n" for line in text.splitlines())


@pytest.mark.parametrize("name", [n for n in PUBLISH if n != "spit"])
async def test_the_proposal_is_all_comments_and_a_valid_table_once_adopted(name: str) -> None:
    async with bench_of(BY_NAME[name]) as bench:
        learned = await bench.learn()
    text = table_text(learned.proposals[0], "learned 1")
    assert all(line.startswith("#") for line in text.splitlines())
    settings = loads(f'station = "S"\n{SWITCH}\n{adopted(text)}', base=Path("/"))
    (target,) = settings.switches
    (table,) = target.tables
    candidate, _ = best(learned, Quantity.RX)
    assert table.columns[Quantity.RX].oid == candidate.place.column
    assert table.columns[Quantity.RX].unit == candidate.unit


SWITCH = """
[[switch]]
name = "lab"
host = "192.0.2.1"
tables = ["learned 1"]
[switch.snmp]
version = "2c"
community_file = "x"
"""


async def test_what_is_said_names_the_column_the_unit_and_the_reasons() -> None:
    async with bench_of(BY_NAME["ridge"]) as bench:
        learned = await bench.learn()
    lines = learned_lines(learned.proposals)
    told = next(line for line in lines if line.startswith("  receive power: "))
    assert "column 1.3.6.1.4.1.32473.101.2.1.1.9 in 0.01 dBm" in told
    assert any("because" in line for line in lines)
    assert "None of them is used before you write it down yourself." in lines[-1]
    assert best(learned, Quantity.RX)[0].unit == parse_unit("0.01 dBm")
