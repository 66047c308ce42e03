"""Pings on the loopback network, and across a cable between namespaces that loses or shortens."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp.agents import Agent, Faults

from strandkeeper.config.load import loads
from strandkeeper.jobs.echo import EchoRefusedError, open_echoes
from strandkeeper.jobs.ping_link import DEADLINE_S, EVERY_S, LinkPinger
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.ping import Pings, PingTally
from strandkeeper.model.poll import LinkEnd
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.store import Batch, open_reader, open_writer


def may_ping() -> bool:
    for kind in (socket.SOCK_DGRAM, socket.SOCK_RAW):
        try:
            socket.socket(socket.AF_INET, kind, socket.IPPROTO_ICMP).close()
        except PermissionError:
            continue
        return True
    return False


ROOT = os.geteuid() == 0 and shutil.which("ip") is not None
STRICT = os.environ.get("STRANDKEEPER_NO_SKIPS") == "1"
pings_here = pytest.mark.skipif(
    not may_ping() and not STRICT, reason="NOT RUN: this system lets these tests send no pings"
)
as_root = pytest.mark.skipif(not ROOT and not STRICT, reason="NOT RUN: needs root and iproute2")


class Clock:
    """Time that the test moves."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


async def rounds(pinger: LinkPinger, clock: Clock, count: int) -> Pings:
    for _ in range(count):
        said = await pinger.pings()
        clock.now_s += EVERY_S
    return said


@pings_here
@pytest.mark.parametrize("address", ["127.0.0.77", "localhost"])
async def test_pings_of_the_loopback_come_back_small_and_large(address: str) -> None:
    clock = Clock()
    said = await rounds(LinkPinger(address, 1400, clock), clock, 3)
    assert (said.trouble, said.small.came, said.large.came) == ("", 3, 3)
    assert said.small.ms is not None
    assert 0 < said.small.ms < DEADLINE_S * 1000
    assert not said.only_large_fail


@pings_here
async def test_no_more_than_the_newest_twenty_are_counted_and_none_before_its_time() -> None:
    clock = Clock()
    pinger = LinkPinger("127.0.0.77", 200, clock)
    assert (await rounds(pinger, clock, 25)).small.sent == 20
    clock.now_s -= EVERY_S
    await pinger.pings()
    clock.now_s += EVERY_S / 2
    before = (await pinger.pings()).small
    assert (await pinger.pings()).small == before


@pings_here
async def test_a_reply_to_another_request_is_not_taken() -> None:
    """A second pinger's replies arrive at a raw socket, too; each waits for its own."""
    first, second = await open_echoes("127.0.0.77"), await open_echoes("127.0.0.77")
    try:
        answers = await asyncio.gather(
            *(e.ask(octets, 1, DEADLINE_S) for e, octets in ((first, 56), (second, 1400)))
        )
    finally:
        first.close()
        second.close()
    assert all(ms is not None for ms in answers)


async def test_a_name_that_nobody_has_is_said() -> None:
    said = await LinkPinger("nobody.invalid", 1400, Clock()).pings()
    assert said.small.sent == 0
    assert said.words.startswith("no ping to nobody.invalid: there is no way to it (")


@as_root
def test_a_system_that_allows_no_pings_says_what_to_set() -> None:
    """As nobody in a namespace of its own, where the system's range of groups is empty."""
    script = (
        "import asyncio, os; os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
        "from strandkeeper.jobs.ping_link import LinkPinger\n"
        "print(asyncio.run(LinkPinger('127.0.0.1', 1400, lambda: 0.0).pings()).words)\n"
    )
    done = subprocess.run(
        ["unshare", "--net", sys.executable, "-c", LOADED + script],
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert done.stdout == (
        "no ping to 127.0.0.1: this computer lets programs send no pings: set the sysctl "
        'net.ipv4.ping_group_range to "0 2147483647"\n'
    )


LOADED = "import concurrent.futures.thread, encodings.idna, strandkeeper.jobs.ping_link\n"
PING_HERE = """
import asyncio, json, os, sys
from dataclasses import asdict
{before}
from strandkeeper.jobs.ping_link import EVERY_S, LinkPinger
now = [0.0]
async def pings():
    pinger = LinkPinger("10.77.0.2", {octets}, lambda: now[0])
    for _ in range({count}):
        said = await pinger.pings()
        now[0] += EVERY_S
    return said
said = asyncio.run(pings())
print(json.dumps([said.words, asdict(said)]))
"""
UNPRIVILEGED = (
    'open("/proc/sys/net/ipv4/ping_group_range", "w").write("65534 65534")\n'
    "import concurrent.futures.thread, encodings.idna, strandkeeper.jobs.ping_link\n"
    "os.setgroups([]); os.setgid(65534); os.setuid(65534)"
)


class Cable:
    """Two namespaces of this test's own, joined by a pair of virtual ports."""

    def __init__(self) -> None:
        self.here, self.there = f"ping{os.getpid()}-a", f"ping{os.getpid()}-b"

    def run(self, *command: str, inside: str = "") -> str:
        lead = ["ip", "netns", "exec", inside] if inside else []
        done = subprocess.run(
            [*lead, *command], capture_output=True, text=True, timeout=120, check=True
        )
        return done.stdout

    def lay(self) -> None:
        for name in (self.here, self.there):
            self.run("ip", "netns", "add", name)
        self.run("ip", "-n", self.here, "link", "add", "p0", "type", "veth", "peer", "name", "p1")
        self.run("ip", "-n", self.here, "link", "set", "p1", "netns", self.there)
        for name, port, address in ((self.here, "p0", "1"), (self.there, "p1", "2")):
            self.run("ip", "-n", name, "address", "add", f"10.77.0.{address}/24", "dev", port)
            self.run("ip", "-n", name, "link", "set", port, "up")

    def take_away(self) -> None:
        for name in (self.here, self.there):
            subprocess.run(["ip", "netns", "delete", name], capture_output=True, check=False)

    def ping(self, count: int, octets: int = 1400, before: str = "") -> tuple[str, dict[str, Any]]:
        script = PING_HERE.format(count=count, octets=octets, before=before)
        words, said = json.loads(self.run(sys.executable, "-c", script, inside=self.here))
        return str(words), said


@pytest.fixture
def cable() -> Iterator[Cable]:
    laid = Cable()
    try:
        laid.lay()
        yield laid
    finally:
        laid.take_away()


@as_root
def test_across_a_good_cable_all_come_back_also_without_any_right(cable: Cable) -> None:
    """As nobody, whose group the system allows to ping."""
    _, said = cable.ping(5, before=UNPRIVILEGED)
    assert (said["small"]["came"], said["large"]["came"]) == (5, 5)


@as_root
def test_a_way_that_carries_no_long_frames_loses_the_large_ones_alone(cable: Cable) -> None:
    """The far port's MTU is small: it drops longer frames, as a line does that damages them."""
    cable.run("ip", "-n", cable.there, "link", "set", "p1", "mtu", "600")
    words, said = cable.ping(5)
    assert (said["small"]["came"], said["large"]["came"]) == (5, 0)
    assert words == (
        "5 of 5 small and 0 of 5 large pings (1400 octets) to 10.77.0.2 came back: frames are "
        "damaged on the way, or it carries no frames so long"
    )


@as_root
def test_a_port_here_that_is_too_small_loses_the_large_ones_too(cable: Cable) -> None:
    cable.run("ip", "-n", cable.here, "link", "set", "p0", "mtu", "600")
    _, said = cable.ping(3)
    assert (said["small"]["came"], said["large"]["came"]) == (3, 0)


@as_root
def test_a_cable_that_is_cut_brings_none_back(cable: Cable) -> None:
    cable.run("ip", "-n", cable.there, "link", "set", "p1", "down")
    words, _ = cable.ping(2)
    assert words == "none of 2 pings to 10.77.0.2 came back"


END_B = LinkEnd(LinkName("shore"), End.B)
STATION = """
[[switch]]
name = "quay"
host = "{host}"
port = {port}
timeout_s = 0.2
retries = 0
snmp = {{ version = "2c", community_env = "UNUSED" }}

[[link]]
name = "shore"
a = {{ name = "Lab" }}
b = {{ name = "Quay", switch = "quay", port = "Gi1", ping = "127.0.0.77", ping_octets = 1000 }}
"""


@pings_here
@pytest.mark.parametrize("silent", [False, True])
async def test_a_poll_brings_the_pings_whether_the_switch_answers_or_not(
    silent: bool, tmp_path: Path
) -> None:
    async with Agent(SmallSwitch().table, faults=Faults(silent=silent)) as agent:
        host, port = agent.address
        settings = loads(STATION.format(host=host, port=port), base=tmp_path)
        client = SnmpClient([(settings.switches[0], Community(version="2c", text="look"))])
        await client.start()
        poller = SwitchPoller(client, SwitchName("quay"), {END_B: PortName("Gi1")})
        poll = await poller.poll(1000, optics=False)
        await client.close()
    assert poll.answered is not silent
    assert (poll.pings[END_B].address, poll.pings[END_B].octets) == ("127.0.0.77", 1000)
    assert poll.pings[END_B].large.came == 1
    writer = open_writer(str(tmp_path / "record.db"), reserve=False)
    writer.append(Batch(switches=(poll,)))
    writer.close()
    record = open_reader(str(tmp_path / "record.db"))
    assert [health.pings for health in record.switches()] == [poll.pings]
    record.close()


def tally(came: int, sent: int = 20) -> PingTally:
    return PingTally(sent=sent, came=came, ms=0.4)


@pytest.mark.parametrize(
    ("small", "large", "only_large"),
    [(20, 20, False), (20, 19, False), (20, 18, True), (15, 14, False), (18, 15, False),
     (18, 10, True), (0, 0, False)],
)  # fmt: skip
def test_large_ones_are_said_to_fail_only_where_small_ones_do_not(
    small: int, large: int, only_large: bool
) -> None:
    said = Pings(address="192.0.2.20", octets=1400, small=tally(small), large=tally(large))
    assert said.only_large_fail is only_large


async def test_a_refusal_of_the_system_is_trouble_and_no_loss(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def refuses(_: str) -> Callable[[], None]:
        raise EchoRefusedError("not here")

    monkeypatch.setattr("strandkeeper.jobs.ping_link.open_echoes", refuses)
    said = await LinkPinger("192.0.2.20", 1400, Clock()).pings()
    assert (said.trouble, said.small.sent) == ("not here", 0)
