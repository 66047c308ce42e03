"""The proof on a terminal: a person at a pseudo-terminal answers, and pulls the plug."""

from __future__ import annotations

import asyncio
import os
import pty
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass

import pytest

from strandkeeper.cli.survey_learn import Lessons, is_the_way, learn_switches, prove_at
from strandkeeper.jobs.survey import SurveyedSwitch, survey_switch
from strandkeeper.model.names import SwitchName
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper_demo.personalities.interfaces import Neighbour
from strandkeeper_demo.personalities.physics import Pair
from strandkeeper_demo.personalities.responder import Box, serve
from strandkeeper_demo.personalities.tuning import TUNING

RIDGE = next(p for p in TUNING if p.name == "ridge")
REF = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="unused"))
NEAR = SwitchName("near")


@dataclass
class Bench:
    """An unknown switch that was surveyed and learned, and its plug at `port`."""

    client: SnmpClient
    surveyed: SurveyedSwitch
    lessons: Lessons
    pair: Pair
    box: Box
    port: str
    time_s: list[float]

    def pull(self) -> None:
        self.pair.unplug(0, self.pair.links[0][0])
        self.time_s[0] += 60


@asynccontextmanager
async def bench() -> AsyncIterator[Bench]:
    time_s = [1_767_268_800.0]
    pair = Pair(RIDGE.ports, RIDGE.ports, seed=3)
    box = Box(RIDGE, pair, 0, clock=lambda: time_s[0])
    number = pair.links[0][0]
    port = next(p.name for p in RIDGE.ports if p.number == number)
    box.neighbours = (Neighbour(port=number, system="lab-switch", far_port="Gi9"),)
    (wire,) = await serve([(box, ("127.0.0.1", 0))])
    host, udp = wire.get_extra_info("sockname")[:2]
    target = SwitchTarget(name=NEAR, host=host, port=udp, credentials=REF, timeout_s=0.5, retries=1)
    client = SnmpClient([(target, Community(version="2c", text=RIDGE.community))])
    await client.start()

    async def wait(seconds: float) -> None:
        time_s[0] += seconds

    try:
        surveyed = await survey_switch(client, target, lambda _: None)
        lessons = await learn_switches(client, [surveyed], lambda *_: None, wait=wait)
        yield Bench(client, surveyed, lessons, pair, box, port, time_s)
    finally:
        await client.close()
        wire.close()


class Person:
    """Sits at the other end of a terminal: reads, and types what belongs to what was read."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, answers: dict[str, str]) -> None:
        self._mine, theirs = pty.openpty()
        self._answers = answers
        self.does: dict[str, Callable[[], None]] = {}
        self.read = ""
        self.terminal = os.fdopen(theirs, "w", buffering=1, encoding="utf-8")
        self.keyboard = os.fdopen(os.dup(theirs), encoding="utf-8")
        monkeypatch.setattr(sys, "stdin", self.keyboard)
        monkeypatch.setattr(sys, "stderr", self.terminal)
        asyncio.get_running_loop().add_reader(self._mine, self._look)

    def _look(self) -> None:
        self.read += os.read(self._mine, 65536).decode()
        for sign in [s for s in self._answers if s in self.read]:
            if sign in self.does:
                self.does.pop(sign)()
            os.write(self._mine, self._answers.pop(sign).encode() + b"\n")

    async def leave(self) -> str:
        self.terminal.flush()
        await asyncio.sleep(0.05)
        asyncio.get_running_loop().remove_reader(self._mine)
        self.terminal.close()
        self.keyboard.close()
        os.close(self._mine)
        return self.read.replace("\r\n", "\n")


async def test_at_a_port_that_is_not_the_way_the_plug_is_pulled_and_the_column_proved(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with bench() as there:
        person = Person(monkeypatch, {"[y/n]": "n", "Press Enter": ""})
        person.does["Press Enter"] = there.pull
        await prove_at(there.client, there.surveyed, there.lessons, there.port)
        read = await person.leave()
    assert f"Does this computer reach the switch through its port {there.port}?" in read
    assert "Beyond it is lab-switch port Gi9." in read
    assert "This link is the way" not in read
    assert "went dark: it is receive power." in read


async def test_at_the_port_that_is_the_way_it_says_so_and_asks_before_anything_is_pulled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with bench() as there:
        person = Person(monkeypatch, {"cuts the way to it. [y/n]": "y", "all the same": "n"})
        await prove_at(there.client, there.surveyed, there.lessons, there.port)
        read = await person.leave()
    assert "This link is the way to that switch: while the plug is out it cannot be asked." in read
    assert "Press Enter" not in read
    assert "Nothing was proved." in read


async def test_who_goes_on_at_that_port_is_told_to_put_the_plug_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async with bench() as there:
        answers = {"cuts the way to it. [y/n]": "y", "all the same": "y", "Press Enter": ""}
        person = Person(monkeypatch, answers)

        def pull() -> None:
            there.pull()
            there.box.deaf = True  # its way is dark

        person.does["Press Enter"] = pull
        await prove_at(there.client, there.surveyed, there.lessons, there.port)
        read = await person.leave()
    assert read.index("This link is the way") < read.index("Press Enter")
    assert "Put the plug back: this link is the way to the switch." in read


async def test_a_port_that_is_not_there_is_said_with_those_that_are(
    capsys: pytest.CaptureFixture[str],
) -> None:
    async with bench() as there:
        await prove_at(there.client, there.surveyed, there.lessons, "Gi99")
    said = capsys.readouterr().err
    assert said.startswith("There is no port Gi99 to prove it at; there are: Gi1/1, ")
    assert there.port in said


@pytest.mark.parametrize(
    ("typed", "through"),
    [
        (["n"], False),
        (["y"], True),
        (["NO "], False),
        (["what?", "n"], False),
        (["what?", "which?", "how?"], True),
        ([""], True),
    ],
)
async def test_what_is_not_answered_counts_as_the_way(typed: list[str], through: bool) -> None:
    waiting = list(typed)

    async def answer(_: str) -> str:
        return waiting.pop(0) + "\n" if waiting[0] else ""

    assert await is_the_way((), answer, port="Gi1") is through
