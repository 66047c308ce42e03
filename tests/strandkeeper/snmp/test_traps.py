"""Traps and informs as Net-SNMP's own programs send them; forged, repeated and broken ones."""

from __future__ import annotations

import asyncio
import os
import shutil
import socket
import subprocess
from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.strandkeeper.snmp import ber

from strandkeeper.model.names import SwitchName
from strandkeeper.model.trap import Trap, TrapKind
from strandkeeper.snmp.credentials import Community, Usm
from strandkeeper.snmp.trap_decode import claim_of
from strandkeeper.snmp.traps import TrapListener, TrapSource

pytestmark = pytest.mark.skipif(
    shutil.which("snmptrap") is None and os.environ.get("STRANDKEEPER_NO_SKIPS") != "1",
    reason="NOT RUN: snmptrap (Debian package snmp) is missing",
)

LAB: Final = SwitchName("lab")
ENGINE: Final = "0x8000000001020304"
USER: Final = Usm(
    user="watcher",
    auth_protocol="SHA-256",
    auth_key="tide-table-7",
    priv_protocol="AES-128",
    priv_key="spring-low-9",
)
V3: Final = [
    *("-v3", "-l", "authPriv", "-u", "watcher", "-a", "SHA-256", "-A", "tide-table-7"),
    *("-x", "AES", "-X", "spring-low-9"),
]
DOWN: Final = "1.3.6.1.6.3.1.1.5.3"
UP: Final = "1.3.6.1.6.3.1.1.5.4"
ABOUT_7: Final = [
    *("1.3.6.1.2.1.2.2.1.1.7", "i", "7"),
    *("1.3.6.1.2.1.2.2.1.7.7", "i", "1"),
    *("1.3.6.1.2.1.2.2.1.8.7", "i", "2"),
]


class Ear:
    """A listener for one switch on this machine, and what it heard."""

    def __init__(self, held: Community | Usm, *, addresses: Sequence[str], rate: float) -> None:
        self.heard: list[Trap] = []
        source = TrapSource(switch=LAB, addresses=frozenset(addresses), held=held)
        self.listener = TrapListener(("127.0.0.1", 0), [source], self.heard.append, rate_per_s=rate)

    async def start(self) -> Ear:
        await self.listener.start()
        return self

    async def send(
        self, program: str, credential: Sequence[str], *rest: str, directory: Path
    ) -> subprocess.CompletedProcess[str]:
        where = f"127.0.0.1:{self.listener.port}"
        env = {**os.environ, "MIBS": "", "SNMPCONFPATH": str(directory)}
        env["SNMP_PERSISTENT_DIR"] = str(directory)
        command = [program, "-r", "0", "-t", "20", *credential, where, *rest]
        return await asyncio.to_thread(
            subprocess.run,
            command,
            capture_output=True,
            text=True,
            timeout=30,
            env=env,
            check=False,
        )

    async def until(self, count: int) -> list[Trap]:
        for _ in range(100):
            if len(self.heard) >= count:
                break
            await asyncio.sleep(0.05)
        return self.heard

    async def settle(self) -> dict[str, int]:
        await asyncio.sleep(0.3)
        return {name: n for name, n in self.listener.totals().items() if n}


@pytest.fixture
async def by_community() -> AsyncIterator[Ear]:
    ear = await Ear(
        Community(version="2c", text="look-only"), addresses=["127.0.0.1"], rate=1000
    ).start()
    yield ear
    ear.listener.close()


@pytest.fixture
async def by_user() -> AsyncIterator[Ear]:
    ear = await Ear(USER, addresses=["127.0.0.1"], rate=1000).start()
    yield ear
    ear.listener.close()


async def test_a_v2c_trap_is_taken(by_community: Ear, tmp_path: Path) -> None:
    await by_community.send(
        "snmptrap", ["-v2c", "-c", "look-only"], "4200", DOWN, *ABOUT_7, directory=tmp_path
    )
    assert await by_community.until(1) == [
        Trap(switch=LAB, kind=TrapKind.LINK_DOWN, uptime_cs=4200, if_index=7)
    ]


async def test_a_v1_trap_means_the_same(by_community: Ear, tmp_path: Path) -> None:
    # generic-trap 2 is linkDown (RFC 1157); enterprise, agent address, generic, specific, uptime
    rest = ["1.3.6.1.4.1.8072.3.2.10", "127.0.0.1", "2", "0", "4200", *ABOUT_7]
    await by_community.send("snmptrap", ["-v1", "-c", "look-only"], *rest, directory=tmp_path)
    assert await by_community.until(1) == [
        Trap(switch=LAB, kind=TrapKind.LINK_DOWN, uptime_cs=4200, if_index=7)
    ]


async def test_an_inform_is_answered_and_counted_once(by_community: Ear, tmp_path: Path) -> None:
    done = await by_community.send(
        "snmpinform", ["-v2c", "-c", "look-only"], "4300", UP, *ABOUT_7, directory=tmp_path
    )
    assert done.returncode == 0, done.stderr
    heard = await by_community.until(1)
    assert [t.kind for t in heard] == [TrapKind.LINK_UP]


async def test_a_v3_trap_is_proven_by_the_keys_of_its_sender(by_user: Ear, tmp_path: Path) -> None:
    rest = ["4200", DOWN, *ABOUT_7]
    await by_user.send("snmptrap", [*V3, "-e", ENGINE], *rest, directory=tmp_path)
    assert await by_user.until(1) == [
        Trap(switch=LAB, kind=TrapKind.LINK_DOWN, uptime_cs=4200, if_index=7)
    ]


async def test_a_v3_inform_is_answered(by_user: Ear, tmp_path: Path) -> None:
    done = await by_user.send("snmpinform", V3, "4300", UP, *ABOUT_7, directory=tmp_path)
    assert done.returncode == 0, done.stderr
    heard = await by_user.until(1)
    assert [t.kind for t in heard] == [TrapKind.LINK_UP]


@pytest.mark.parametrize(
    ("credential", "outcome"),
    [
        pytest.param(["-v2c", "-c", "guessed"], "wrong-credential", id="another community"),
        pytest.param(
            [*V3[:-1], "wrong-key-1", "-e", ENGINE], "not-proven", id="another privacy key"
        ),
        pytest.param(
            ["-v3", "-l", "noAuthNoPriv", "-u", "watcher", "-e", ENGINE],
            "wrong-credential",
            id="the right name without any key",
        ),
        pytest.param(
            [*V3[:8], "wrong-key-2", *V3[9:], "-e", ENGINE], "not-proven", id="another auth key"
        ),
    ],
)
async def test_a_forged_one_is_dropped(
    by_user: Ear, tmp_path: Path, credential: list[str], outcome: str
) -> None:
    await by_user.send("snmptrap", credential, "4200", DOWN, *ABOUT_7, directory=tmp_path)
    totals = await by_user.settle()
    assert by_user.heard == []
    assert set(totals) == {outcome}


async def test_a_stranger_is_dropped_whatever_it_knows(tmp_path: Path) -> None:
    ear = await Ear(
        Community(version="2c", text="look-only"), addresses=["192.0.2.9"], rate=10
    ).start()
    try:
        await ear.send(
            "snmptrap", ["-v2c", "-c", "look-only"], "1", DOWN, *ABOUT_7, directory=tmp_path
        )
        assert await ear.settle() == {"stranger": 1}
        assert ear.heard == []
    finally:
        ear.listener.close()


async def test_a_replayed_datagram_is_taken_once(by_community: Ear, tmp_path: Path) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as tap:
        tap.bind(("127.0.0.1", 0))
        tap.settimeout(10)
        real, by_community.listener._address = by_community.listener.port, tap.getsockname()
        where = f"127.0.0.1:{tap.getsockname()[1]}"
        command = ["snmptrap", "-v2c", "-c", "look-only", where, "4200", DOWN, *ABOUT_7]
        env = {**os.environ, "MIBS": "", "SNMP_PERSISTENT_DIR": str(tmp_path)}
        await asyncio.to_thread(subprocess.run, command, env=env, timeout=20, check=True)
        datagram = await asyncio.to_thread(tap.recv, 65535)
        for _ in range(5):
            tap.sendto(datagram, ("127.0.0.1", real))
    assert await by_community.settle() == {"taken": 1, "again": 4}
    assert len(by_community.heard) == 1


async def test_broken_octets_are_counted_and_end_nothing(by_community: Ear, tmp_path: Path) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        for data in (
            b"",
            b"\x30",
            b"\x30\x82\xff\xff\x02",
            bytes(range(256)),
            b"\x30\x03\x02\x01\x01",
        ):
            sender.sendto(data, ("127.0.0.1", by_community.listener.port))
    assert await by_community.settle() == {"malformed": 5}
    await by_community.send(
        "snmptrap", ["-v2c", "-c", "look-only"], "9", DOWN, *ABOUT_7, directory=tmp_path
    )
    assert len(await by_community.until(1)) == 1


async def test_a_storm_is_cut_to_the_rate() -> None:
    ear = await Ear(
        Community(version="2c", text="look-only"), addresses=["127.0.0.1"], rate=2
    ).start()
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
            for number in range(20):
                storm = notification(LINK_DOWN, 7, number + 1)
                sender.sendto(storm, ("127.0.0.1", ear.listener.port))
        await asyncio.sleep(1.0)  # what is held back comes within half a second
        totals = await ear.settle()
        assert 10 <= totals["taken"] < 20  # a burst of 5 s, then 2 a second
        assert totals["taken"] + totals["too-many"] == 20
    finally:
        ear.listener.close()


@given(st.binary(max_size=300))
def test_any_octets_claim_something_or_nothing(data: bytes) -> None:
    claim_of(data)


def notification(
    kind: Sequence[int], port: int, uptime_cs: int, *, inform: int | None = None, relayed: str = ""
) -> bytes:
    """A v2c trap, or an inform with that request number, by hand (RFC 3416, section 4.2.6)."""
    cells = [
        ((1, 3, 6, 1, 2, 1, 1, 3, 0), ber.ticks(uptime_cs)),
        ((1, 3, 6, 1, 6, 3, 1, 1, 4, 1, 0), ber.pointer(tuple(kind))),
        ((1, 3, 6, 1, 2, 1, 2, 2, 1, 1, port), ber.integer(port)),
        ((1, 3, 6, 1, 6, 3, 1, 1, 4, 3, 0), ber.pointer((1, 3, 6, 1, 4, 1, 32473))),
    ]
    if relayed:
        octets = bytes(int(part) for part in relayed.split("."))
        cells.append(((1, 3, 6, 1, 6, 3, 18, 1, 3, 0), ber.Cell(0x40, octets)))
    body = b"".join(
        ber.tlv(0x30, ber.tlv(0x06, ber.oid_body(oid)) + ber.tlv(cell.tag, cell.body))
        for oid, cell in cells
    )
    number = ber.integer(1 if inform is None else inform)
    pdu = ber.tlv(0x02, number.body) + b"\x02\x01\x00\x02\x01\x00" + ber.tlv(0x30, body)
    tag = 0xA7 if inform is None else 0xA6
    return ber.tlv(0x30, b"\x02\x01\x01" + ber.tlv(0x04, b"look-only") + ber.tlv(tag, pdu))


LINK_DOWN: Final = (1, 3, 6, 1, 6, 3, 1, 1, 5, 3)
LINK_UP: Final = (1, 3, 6, 1, 6, 3, 1, 1, 5, 4)
COLD_START: Final = (1, 3, 6, 1, 6, 3, 1, 1, 5, 1)


async def test_an_inform_that_is_sent_again_is_answered_again_and_counted_once(
    by_community: Ear,
) -> None:
    """Its sender did not get the answer, so it sends the same one, with the same number."""
    datagram = notification(LINK_UP, 7, 4300, inform=77)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        sender.bind(("127.0.0.1", 0))
        sender.settimeout(10)
        for _ in range(3):
            sender.sendto(datagram, ("127.0.0.1", by_community.listener.port))
            answer = await asyncio.to_thread(sender.recv, 65535)
            assert ber.tlv(0x02, ber.integer(77).body) in answer  # the number of the request
            assert answer[answer.index(b"look-only") + len(b"look-only")] == ber.RESPONSE
    assert await by_community.settle() == {"taken": 1, "again": 2}


async def test_a_trap_is_read_by_its_objects_however_many_come_with_them(
    by_community: Ear,
) -> None:
    """The enterprise comes as one more object (RFC 3584, 3.1)."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        where = ("127.0.0.1", by_community.listener.port)
        sender.sendto(notification(LINK_DOWN, 7, 4200), where)
    assert await by_community.until(1) == [
        Trap(switch=LAB, kind=TrapKind.LINK_DOWN, uptime_cs=4200, if_index=7)
    ]


@pytest.mark.parametrize(
    ("generic", "kind"),
    [
        ("0", TrapKind.COLD_START),
        ("1", TrapKind.WARM_START),
        ("3", TrapKind.LINK_UP),
        ("4", TrapKind.OTHER),
        ("6", TrapKind.OTHER),
    ],
)
async def test_the_generic_numbers_of_v1_traps_are_those_of_rfc_3584(
    by_community: Ear, tmp_path: Path, generic: str, kind: TrapKind
) -> None:
    """3.1: 1.3.6.1.6.3.1.1.5 and the number plus one; 6 is the enterprise's own event."""
    rest = ["1.3.6.1.4.1.32473.1", "127.0.0.1", generic, "3", "4200", *ABOUT_7]
    await by_community.send("snmptrap", ["-v1", "-c", "look-only"], *rest, directory=tmp_path)
    assert [t.kind for t in await by_community.until(1)] == [kind]


@pytest.mark.parametrize("version", ["1", "2c"])
async def test_of_two_switches_behind_one_relay_the_trap_says_which(
    tmp_path: Path, version: str
) -> None:
    """v1 by its agent address, v2c by snmpTrapAddress; both relayed from 127.0.0.1."""
    heard: list[Trap] = []
    held = Community(version="2c", text="look-only")
    sources = [
        TrapSource(switch=SwitchName(n), addresses=frozenset({"127.0.0.1", a}), held=held)
        for n, a in (("quay", "192.0.2.10"), ("jetty", "192.0.2.20"))
    ]
    listener = TrapListener(("127.0.0.1", 0), sources, heard.append)
    await listener.start()
    try:
        if version == "2c":
            with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as relay:
                datagram = notification(LINK_DOWN, 7, 4200, relayed="192.0.2.20")
                relay.sendto(datagram, ("127.0.0.1", listener.port))
        else:
            agent = ["1.3.6.1.4.1.32473.1", "192.0.2.20", "2", "0", "4200", *ABOUT_7]
            where = f"127.0.0.1:{listener.port}"
            env = {**os.environ, "MIBS": "", "SNMP_PERSISTENT_DIR": str(tmp_path)}
            command = ["snmptrap", "-v1", "-c", "look-only", where, *agent]
            await asyncio.to_thread(subprocess.run, command, env=env, timeout=20, check=True)
        for _ in range(100):
            if heard:
                break
            await asyncio.sleep(0.05)
    finally:
        listener.close()
    assert [t.switch for t in heard] == ["jetty"]


async def test_of_a_storm_the_last_state_of_each_port_is_taken() -> None:
    """Two hundred changes of two ports at once, far over the rate; the last is up, and down."""
    ear = await Ear(
        Community(version="2c", text="look-only"), addresses=["127.0.0.1"], rate=4
    ).start()
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
            for n in range(100):
                for port, kinds in ((7, (LINK_DOWN, LINK_UP)), (8, (LINK_UP, LINK_DOWN))):
                    datagram = notification(kinds[n % 2], port, 1000 + n)
                    sender.sendto(datagram, ("127.0.0.1", ear.listener.port))
                await asyncio.sleep(0)
        await ear.until(22)
        totals = await ear.settle()
        last = {t.if_index: (t.kind, t.uptime_cs) for t in ear.heard}
        assert last == {7: (TrapKind.LINK_UP, 1099), 8: (TrapKind.LINK_DOWN, 1099)}
        assert totals["taken"] == len(ear.heard) < 40
        assert totals["taken"] + totals["too-many"] == 200
    finally:
        ear.listener.close()


async def test_a_start_and_the_links_that_come_up_after_it_are_all_heard(
    by_community: Ear,
) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        where = ("127.0.0.1", by_community.listener.port)
        sender.sendto(notification(COLD_START, 0, 12), where)
        for port in range(1, 49):
            sender.sendto(notification(LINK_UP, port, 300 + port), where)
    heard = await by_community.until(49)
    assert [t.kind for t in heard] == [TrapKind.COLD_START, *[TrapKind.LINK_UP] * 48]
    assert {t.if_index for t in heard[1:]} == set(range(1, 49))


async def test_a_switch_that_lost_its_boots_is_still_heard(by_user: Ear, tmp_path: Path) -> None:
    """It counts its boots from the beginning; there is no report to learn of that from."""
    for boots, uptime in ((9, "4200"), (2, "4300"), (3, "4400")):
        clock = ["-e", ENGINE, "-Z", f"{boots},1000"]
        await by_user.send("snmptrap", [*V3, *clock], uptime, DOWN, *ABOUT_7, directory=tmp_path)
    assert [t.uptime_cs for t in await by_user.until(3)] == [4200, 4300, 4400]
