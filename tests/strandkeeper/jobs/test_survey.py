"""Surveys of invented switches over real UDP, and the configuration that comes of them."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.strandkeeper.jobs.small_switch import IF, SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent, Faults

from strandkeeper.config.load import loads
from strandkeeper.config.tomltext import comment, parse, quoted
from strandkeeper.jobs import survey
from strandkeeper.jobs.survey import SurveyedSwitch, survey_switch
from strandkeeper.jobs.survey_links import found_links
from strandkeeper.jobs.survey_toml import survey_text
from strandkeeper.model.names import SwitchName
from strandkeeper.model.power import Measured
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper_demo.personalities.interfaces import Neighbour
from strandkeeper_demo.personalities.physics import Pair
from strandkeeper_demo.personalities.responder import Box, serve
from strandkeeper_demo.personalities.tuning import TUNING

REF = CommunityRef(
    version="2c", community=SecretRef(kind=SecretKind.FILE, where="/x/lab.community")
)
NOW_S = 1_800_000_000.0


def silent(_: str) -> None:
    """No progress is shown."""


def target(n: int, address: tuple[str, int]) -> SwitchTarget:
    return SwitchTarget(
        name=SwitchName(f"{n}"), host=address[0], port=address[1], credentials=REF,
        timeout_s=0.4, retries=1,
    )  # fmt: skip


@asynccontextmanager
async def pair_of(
    first: str, second: str, *, one_way: bool = False
) -> AsyncIterator[list[tuple[str, int]]]:
    """The addresses of two switches that are joined, and hear each other by LLDP."""
    a, b = (next(p for p in TUNING if p.name == n) for n in (first, second))
    pair = Pair(a.ports, b.ports, seed=5)
    boxes = [Box(s, pair, n, clock=lambda: NOW_S) for n, s in enumerate((a, b))]
    names = [{p.number: p.name for p in s.ports} for s in (a, b)]
    boxes[0].neighbours = tuple(
        Neighbour(port=x, system=second, far_port=names[1][y]) for x, y in pair.links
    )
    if not one_way:
        boxes[1].neighbours = tuple(
            Neighbour(port=y, system=first, far_port=names[0][x]) for x, y in pair.links
        )
    transports = await serve([(box, ("127.0.0.1", 0)) for box in boxes])
    yield [t.get_extra_info("sockname")[:2] for t in transports]
    for transport in transports:
        transport.close()


async def surveyed(
    *addresses: tuple[str, int], community: str = "reads-only"
) -> list[SurveyedSwitch]:
    targets = [target(n, address) for n, address in enumerate(addresses)]
    client = SnmpClient([(t, Community(version="2c", text=community)) for t in targets])
    await client.start()
    try:
        return await asyncio.gather(*(survey_switch(client, t, silent) for t in targets))
    finally:
        await client.close()


async def test_two_surveyed_switches_give_links_with_both_ends() -> None:
    async with pair_of("marsh", "combe") as addresses:
        switches = await surveyed(*addresses)
    links = found_links(switches)
    assert [(x.a_port.name, x.b_port.name) for x in links] == [("Te1", "ten1"), ("Te2", "ten2")]
    settings = loads(survey_text(switches, {}), base=Path("/srv"))
    assert [s.name for s in settings.switches] == ["marsh", "combe"]
    first = settings.links[0]
    assert (first.name, first.a.port, first.b.port) == ("marsh Te1 to combe", "Te1", "ten1")
    assert (first.a.pmd, first.a.switch, first.b.switch) == ("10GBASE-SR", "marsh", "combe")


async def test_the_light_of_standard_sensors_is_sampled_with_its_reader() -> None:
    async with pair_of("marsh", "combe") as addresses:
        (marsh, _) = await surveyed(*addresses)
    te1 = marsh.ports[0]
    assert (te1.reader, te1.doubts) == ("entity-sensor", ())
    assert te1.reading is not None
    assert isinstance(te1.reading.rx, Measured)
    assert marsh.readers == ("entity-sensor",)


async def test_where_a_learned_table_is_named_is_a_line_to_take_the_mark_off() -> None:
    """At the one place of the switch where it works: before the table of its credential."""
    async with pair_of("ridge", "heath") as (first, _):
        (ridge,) = await surveyed(first)
    line = '# tables = ["ridge learned 1"]'
    text = survey_text([ridge], {})
    assert text.index("[[switch]]") < text.index(line) < text.index("[switch.snmp]")
    table = (
        '[[table]]\nname = "ridge learned 1"\nrx = { oid = "1.3.6.1.4.1.32473.1", unit = "dBm" }\n'
    )
    settings = loads(text.replace(line, line[2:]) + table, base=Path("/srv"))
    assert [t.name for t in settings.switches[0].tables] == ["ridge learned 1"]


async def test_one_direction_alone_makes_no_link_and_is_said() -> None:
    async with pair_of("marsh", "combe", one_way=True) as addresses:
        switches = await surveyed(*addresses)
    assert not found_links(switches)
    text = survey_text(switches, {})
    assert "#     hears combe, port ten1, but is not heard from there" in text
    assert not loads(text, base=Path("/srv")).links


async def test_a_far_switch_that_was_not_surveyed_is_named() -> None:
    async with pair_of("ridge", "heath") as (first, _):
        switches = await surveyed(first)
    heath = next(p for p in TUNING if p.name == "heath")
    far = next(p.name for p in heath.ports if p.fill.name == "LIT")
    assert f"#     hears heath, port {far}, which was not surveyed" in survey_text(switches, {})


@pytest.mark.parametrize("name", [p.name for p in TUNING if 1 in p.manners.versions])
async def test_every_invented_switch_is_surveyed_and_its_text_is_accepted(name: str) -> None:
    async with pair_of(name, "ridge") as (first, _):
        (switch,) = await surveyed(first)
    assert switch.error == ""
    personality = next(p for p in TUNING if p.name == name)
    assert switch.identity.enterprise == 32473
    assert len(switch.ports) >= len(personality.ports)
    settings = loads(survey_text([switch], {}), base=Path("/srv"))
    assert [s.host for s in settings.switches] == ["127.0.0.1"]


async def test_a_silent_switch_is_said_and_the_others_are_surveyed() -> None:
    async with (
        pair_of("ridge", "heath") as (first, _),
        Agent({}, faults=Faults(silent=True)) as dead,
    ):
        ridge, silent_one = await surveyed(first, dead.address)
    assert ridge.error == ""
    assert "did not answer" in silent_one.error
    assert "was not surveyed" in survey_text([ridge, silent_one], {})


async def test_an_agent_that_walks_in_circles_is_left_and_that_is_said() -> None:
    async with Agent(SmallSwitch().table, faults=Faults(loops=True)) as agent:
        (switch,) = await surveyed(agent.address, community="look")
    assert any("out of order" in remark for remark in switch.remarks)


async def test_a_survey_ends_after_so_many_rows_and_says_what_it_did_not_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(survey, "MAX_ALL_ROWS", 3)
    async with Agent(SmallSwitch().table) as agent:
        (switch,) = await surveyed(agent.address, community="look")
    assert "ports not read to the end: the survey ends after 3 rows" in switch.remarks


async def test_a_survey_ends_after_so_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(survey, "MAX_S", 0.0)
    async with Agent(SmallSwitch().table) as agent:
        (switch,) = await surveyed(agent.address, community="look")
        walked = [a for a in agent.asked if a.kind != ber.GET]
    assert not walked
    assert switch.remarks[0] == "ports not read to the end: the survey ends after 0 s"


async def test_a_survey_sends_only_read_requests() -> None:
    async with Agent(SmallSwitch().table) as agent:
        await surveyed(agent.address, community="look")
        kinds = {asked.kind for asked in agent.asked}
    assert kinds <= {ber.GET, ber.NEXT, ber.BULK}


HOSTILE = 'x"\n[[switch]]\nname = "evil"\nhost = "192.0.2.66"\n# \\ \x07\x7f\u2028'


async def test_nothing_that_a_switch_says_becomes_a_line_of_the_file() -> None:
    small = SmallSwitch()
    for oid in list(small.table):
        if oid[:-1] in {
            (*IF, 2),
            (1, 3, 6, 1, 2, 1, 31, 1, 1, 1, 1),
            (1, 3, 6, 1, 2, 1, 31, 1, 1, 1, 18),
        }:
            small.table[oid] = ber.text(f"{oid[-1]}{HOSTILE}")
        if oid[:7] == (1, 3, 6, 1, 2, 1, 1) and oid[7] in (1, 5):
            small.table[oid] = ber.text(HOSTILE)
        if oid[:10] == (1, 3, 6, 1, 2, 1, 47, 1, 1, 1) and oid[11] in (2, 7, 11):
            small.table[oid] = ber.text(HOSTILE)
    async with Agent(small.table) as agent:
        switches = await surveyed(agent.address, community="look")
    settings = loads(survey_text(switches, {}), base=Path("/srv"))
    assert [s.host for s in settings.switches] == ["127.0.0.1"]


@given(st.text())
def test_any_text_is_one_string_or_one_comment(text: str) -> None:
    kept = "".join("\ufffd" if 0xD800 <= ord(c) <= 0xDFFF else c for c in text)
    assert parse(f"{comment(text)}\nx = {quoted(text)}\n", "t") == {"x": kept}


async def test_the_command_writes_a_file_that_check_accepts(tmp_path: Path) -> None:
    (tmp_path / "look").write_text("reads-only\n", encoding="utf-8")
    output = tmp_path / "station.toml"
    async with pair_of("marsh", "combe") as addresses:
        hosts = [f"{host}:{port}" for host, port in addresses]
        code, out, err = await command(
            "survey", *hosts, "--community-file", str(tmp_path / "look"), "-o", str(output)
        )
        assert (code, err) == (0, "")
        assert "marsh: 4 ports, 4 with light readings (the standard sensors)" in out
        code, out, _ = await command("check", str(output))
        assert code in (0, 1)  # one invented port is dark
        assert "is in order: My station, 2 switches, 2 links." in out
        code, _, err = await command(
            "survey", *hosts, "--community-file", str(tmp_path / "look"), "-o", str(output)
        )
    assert code == 1
    assert "is there already, and a survey overwrites nothing" in err


async def test_a_survey_that_nobody_answers_writes_nothing(tmp_path: Path) -> None:
    output = tmp_path / "station.toml"
    async with Agent({}, faults=Faults(silent=True)) as dead:
        code, out, err = await command(
            "survey", f"127.0.0.1:{dead.address[1]}", "--community-env", "LOOK",
            "--timeout-s", "0.2", "--retries", "0", "-o", str(output),
        )  # fmt: skip
    assert (code, out) == (1, "")
    assert "did not answer" in err
    assert not output.exists()


async def command(*arguments: str) -> tuple[int, str, str]:
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "strandkeeper", *arguments,
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE,
        env={**os.environ, "LOOK": "reads-only"},
    )  # fmt: skip
    out, err = await process.communicate()
    return process.returncode or 0, out.decode(), err.decode()
