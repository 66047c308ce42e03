"""Agents that send without end: what is decoded, what the system keeps away, what is said."""

from __future__ import annotations

import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.strandkeeper.snmp import ber, flooding
from tests.strandkeeper.snmp.agents import Agent
from tests.strandkeeper.snmp.conftest import QUAY, MakeClient, target

from strandkeeper.errors import DeviceError, NoAnswerError
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.flood import MOST_A_SECOND, MOST_BARRED, Bar
from strandkeeper.snmp.session import SnmpClient

UPTIME: Oid = (1, 3, 6, 1, 2, 1, 1, 3, 0)
NAME: Oid = (1, 3, 6, 1, 2, 1, 1, 5, 0)
LOOK = Community(version="2c", text="look")
ROOT = Path(__file__).parents[3]

Families = pytest.mark.parametrize(
    ("family", "one", "other"),
    [
        (socket.AF_INET, "127.0.0.1", "127.0.0.2"),
        (socket.AF_INET, "127.0.0.1", "127.0.0.1"),
        (socket.AF_INET6, "::1", "::1"),
    ],
)


@contextmanager
def sockets(family: int, *hosts: str) -> Iterator[list[socket.socket]]:
    """A socket at each host, at ports of the system's."""
    made = [socket.socket(family, socket.SOCK_DGRAM) for _ in hosts]
    try:
        for sock, host in zip(made, hosts, strict=True):
            sock.bind((host, 0))
            sock.settimeout(5)
        yield made
    finally:
        for sock in made:
            sock.close()


def barred(bar: Bar, host: str, port: int, now_s: float = 1.0) -> list[bool]:
    """One datagram more than is let pass in a second."""
    return [bar.unwanted(host, port, now_s) for _ in range(MOST_A_SECOND + 1)]


@Families
def test_a_sender_that_is_barred_is_not_heard_until_it_is_asked(
    family: int, one: str, other: str
) -> None:
    """`other` may be another port of the same host: that is heard all the while."""
    with sockets(family, one, one, other) as (ears, flooder, calm):
        bar = Bar(ears)
        where = flooder.getsockname()[:2]
        assert barred(bar, *where) == [False] * MOST_A_SECOND + [True]
        assert bar.barred == (where,)
        for sock in (flooder, flooder, calm):
            sock.sendto(b"x", ears.getsockname())
        assert ears.recvfrom(9)[1][:2] == calm.getsockname()[:2]
        bar.asked(*where)
        assert bar.barred == ()
        flooder.sendto(b"y", ears.getsockname())
        assert ears.recvfrom(9)[0] == b"y", "what it sent while it was barred is gone"


def test_a_host_that_sends_from_many_ports_is_barred_as_a_whole() -> None:
    with sockets(socket.AF_INET, "127.0.0.1", "127.0.0.2", "127.0.0.3") as (ears, flooder, calm):
        bar = Bar(ears)
        for n in range(2001):
            bar.unwanted("127.0.0.2", 10_000 + n, 1.0)
        assert bar.barred == (("127.0.0.2", 0),)
        for sock in (flooder, calm):
            sock.sendto(b"x", ears.getsockname())
        assert ears.recvfrom(9)[1] == calm.getsockname()
        bar.asked("127.0.0.2", 161)
        assert bar.barred == ()


def test_the_count_is_one_of_a_second() -> None:
    with sockets(socket.AF_INET, "127.0.0.1") as (ears,):
        bar = Bar(ears)
        for second in range(20):
            for _ in range(MOST_A_SECOND):
                assert not bar.unwanted("127.0.0.2", 161, second + 0.5)
        assert bar.barred == ()


def test_so_many_are_barred_and_no_more() -> None:
    """The filter of that many is still one that the system takes; the first one is heard again."""
    with sockets(socket.AF_INET6, "::1", "::1") as (ears, sender):
        bar = Bar(ears)
        barred(bar, *sender.getsockname()[:2])
        for n in range(MOST_BARRED):
            barred(bar, f"2001:db8::{n:x}", 161)
        assert len(bar.barred) == MOST_BARRED
        sender.sendto(b"x", ears.getsockname())
        assert ears.recvfrom(9)[0] == b"x"


class Broken(Agent):
    """Before each answer: so many large ones under the awaited number that are none."""

    first = 0

    def _answer(self, asked: ber.Asked) -> bytes | None:
        answer = super()._answer(asked)
        assert answer is not None
        self.faults.nonsense = (flooding.junk(answer, asked)[flooding.BROKEN],) * self.first
        return answer


async def test_of_one_question_a_few_datagrams_are_decoded_and_no_more(
    client_of: MakeClient,
) -> None:
    async with Broken({UPTIME: ber.ticks(7)}) as agent:
        client = await client_of((target(agent.address, timeout_s=1.0, retries=0), LOOK))
        (gate,) = client._engine.gates
        agent.first = 3
        assert (await client.get(QUAY, [UPTIME])).values[UPTIME] == 7
        assert gate.dropped == 0
        agent.first = 50
        with pytest.raises(NoAnswerError):
            await client.get(QUAY, [UPTIME])
        assert gate.dropped == 46 + 1, "four are decoded; the true answer comes after them"


@pytest.mark.parametrize("version", ["1", "2c"])
async def test_a_large_answer_in_an_unusual_encoding_is_asked_for_in_parts(
    client_of: MakeClient, version: str
) -> None:
    """Of v1 every answer is left to the library; of v2c one with an integer of twelve octets."""
    texts = {(*NAME[:-1], n): ber.text("x" * 300) for n in range(28)}
    if version == "2c":
        texts[(*NAME[:-1], 0)] = ber.Cell(ber.INTEGER, bytes(11) + b"\x05")
    async with Agent(texts | {UPTIME: ber.ticks(7)}) as agent:
        client = await client_of(agent.address, version=version)
        answer = await client.get(QUAY, sorted(texts))
        assert answer.complete
        assert [answer.values[oid] for oid in sorted(texts)[1:]] == [b"x" * 300] * 27
        assert max(len(asked.oids) for asked in agent.asked[2:]) <= 14
        assert client.dropped >= 1


@contextmanager
def flood(host: str, seconds: float) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """The agent of flooding.py and its port; it is gone at the end."""
    command = [sys.executable, "-m", "tests.strandkeeper.snmp.flooding", host, str(seconds)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        try:
            yield process, int(process.stdout.readline())
        finally:
            process.kill()


async def polls(client: SnmpClient, switch: str, most: int) -> list[DeviceError]:
    """Ask so often; the errors."""
    errors = []
    for _ in range(most):
        try:
            await client.get(SwitchName(switch), [UPTIME, NAME])
        except DeviceError as error:
            errors.append(error)
    return errors


async def test_a_flood_is_kept_away_and_the_others_are_heard(client_of: MakeClient) -> None:
    async with Agent({UPTIME: ber.ticks(5), NAME: ber.text("calm")}) as calm:
        with flood("127.0.0.2", 60.0) as (process, port):
            client = await client_of(
                (target(("127.0.0.2", port), name="flooding", timeout_s=0.2), LOOK),
                (target(calm.address, name="calm", timeout_s=1.0, retries=2), LOOK),
            )
            (gate,) = client._engine.gates
            assert gate.bar is not None
            for _ in range(6):
                asked = len(calm.asked)
                await polls(client, "flooding", 1)
                assert await polls(client, "calm", 20) == []
                assert len(calm.asked) - asked <= 20 + 10, "asked again and again"
            assert process.poll() is None, "the flood was over before the end"
            assert gate.bar.barred == (("127.0.0.2", port),)
            for _ in range(2000):  # what was in the socket before; then nothing comes
                dropped = client.dropped
                await polls(client, "calm", 20)
                if client.dropped == dropped:
                    break
            assert client.dropped == dropped
            assert client.under_way == 0
