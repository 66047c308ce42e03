"""Very many small switches in one process, light enough not to be what is measured.

    python -m tests.bench.crowd --switches 1000 --port 16500 --seconds 900 --log arrivals.bin

Every switch is an address of 127.64.0.0/10 behind one UDP socket; the address that was asked is the
switch, and what the answer comes from (IP_PKTINFO, ip(7)). Each has the two fibre ports of
tests/strandkeeper/jobs/small_switch.py, with a clock, counters, light that wavers, and, if asked
for, links that flap. SNMP v1 and v2c, reading only. The time of every request is kept (monotonic
clock, microseconds) and written at the end: what the asking program did is told by those it asked.
On SIGUSR1 the power of the first half of them is cut for --cut-s; then their clocks begin anew.
"""

from __future__ import annotations

import argparse
import bisect
import heapq
import math
import random
import select
import signal
import socket
import struct
import time
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.strandkeeper.jobs.small_switch import DOT3, IF, IFX, SENSOR, SYSTEM, SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.ber import Cell, Oid

IP_PKTINFO = 8  # ip(7); not named by the socket module of every release
COMMUNITY = b"look"
FIRST = 0x7F400001  # 127.64.0.1
NOT_THERE = b"\x81\x00"
END_OF_VIEW = b"\x82\x00"
MOST_REPETITIONS = 32
WALKED = 1 << 32  # in the log beside the number of the switch: the request was a GETBULK


def host(number: int) -> str:
    """The address of switch `number`."""
    return socket.inet_ntoa(struct.pack("!I", FIRST + number))


@dataclass
class Ways:
    """How the crowd behaves; shares of the whole, chosen by the seed."""

    switches: int
    dead: float = 0.0
    slow: float = 0.0
    slow_s: float = 1.0
    flap_s: float = 0.0  # a link goes down for a fifth of each such span; 0: never
    cut_s: float = 15.0  # how long a cut of the power lasts

    def __post_init__(self) -> None:
        order = list(range(self.switches))
        random.Random(7).shuffle(order)
        dead = round(self.dead * self.switches)
        self.dead_ones = frozenset(order[:dead])
        self.slow_ones = frozenset(order[dead : dead + round(self.slow * self.switches)])


def encoded(cell: Cell) -> bytes:
    return ber.tlv(cell.tag, cell.body)


class Tables:
    """What every switch answers: cells that never change, and those that do, by time and number."""

    def __init__(self, ways: Ways) -> None:
        self._ways = ways
        self.booted_s = 0.0  # when the half whose power was cut began anew; 0: it was not
        table = SmallSwitch().table
        self.order = sorted(table)
        self._names = {oid: ber.tlv(ber.OID_TAG, ber.oid_body(oid)) for oid in table}
        self._still = {oid: encoded(cell) for oid, cell in table.items()}
        self._clock = (*SYSTEM, 3, 0)
        self._live: dict[Oid, tuple[str, int]] = {}
        for port in (1, 2):
            for column in (6, 10):
                self._live[(*IFX, column, port)] = ("octets", port)
            self._live[(*IFX, 7, port)] = ("frames", port)
            self._live[(*IF, 8, port)] = ("oper", port)
            self._live[(*SENSOR, 4, 1005 + 10 * port)] = ("rx", port)
        self._live[self._clock] = ("uptime", 0)
        assert set(self._live) <= set(table), "a live cell that the table does not have"
        assert (*DOT3, 3, 1) in table

    def pair(self, oid: Oid, number: int, now: float) -> bytes:
        """One varbind, encoded."""
        name = self._names.get(oid)
        if name is None:
            return ber.tlv(ber.SEQUENCE, ber.tlv(ber.OID_TAG, ber.oid_body(oid)) + NOT_THERE)
        if number < self._ways.switches // 2:
            now -= self.booted_s
        value = self._still[oid] if oid not in self._live else self._value(oid, number, now)
        return ber.tlv(ber.SEQUENCE, name + value)

    def after(self, oid: Oid) -> Oid | None:
        place = bisect.bisect_right(self.order, oid)
        return self.order[place] if place < len(self.order) else None

    def _down(self, number: int, port: int, now: float) -> bool:
        """Both switches of a pair see the same: pairs are 2k and 2k + 1, by port."""
        span = self._ways.flap_s
        return bool(span) and (now + 3.7 * (number // 2) + 1.9 * port) % span < span / 5

    def _value(self, oid: Oid, number: int, now: float) -> bytes:
        what, port = self._live[oid]
        if what == "uptime":
            return encoded(ber.ticks(int(now * 100) % 2**32))
        if what == "octets":
            return encoded(ber.counter64(int(now * 1e6)))
        if what == "frames":
            return encoded(ber.counter64(int(now * 1e3)))
        if self._down(number, port, now):
            return encoded(ber.integer(2 if what == "oper" else 0))
        waver = 10.0 * math.sin(now / 7 + number) + 10.0 * math.sin(now / 0.61 + port)
        return encoded(ber.integer(1 if what == "oper" else round(1000 + waver)))


@dataclass
class Crowd:
    """The socket and the log."""

    ways: Ways
    port: int
    times: array[float] = field(default_factory=lambda: array("d"))
    numbers: array[int] = field(default_factory=lambda: array("l"))
    dark_until_s: float = 0.0
    _late: list[tuple[float, int, bytes, bytes, tuple[str, int]]] = field(default_factory=list)
    _plans: dict[bytes, tuple[Oid, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._tables = Tables(self.ways)
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._socket.setsockopt(socket.IPPROTO_IP, IP_PKTINFO, 1)
        for option in (33, socket.SO_RCVBUF):  # 33: SO_RCVBUFFORCE, socket(7), for root
            try:
                self._socket.setsockopt(socket.SOL_SOCKET, option, 8 << 20)
                break
            except OSError:
                continue
        self._socket.bind(("0.0.0.0", self.port))
        self._socket.setblocking(False)

    def serve(self, seconds: float) -> None:
        """Answer until the time is over or SIGTERM comes."""
        ended: list[int] = []
        signal.signal(signal.SIGTERM, lambda *_: ended.append(1))
        signal.signal(signal.SIGUSR1, self._cut)
        end = time.monotonic() + seconds
        while not ended and (now := time.monotonic()) < end:
            wait = min(0.2, self._late[0][0] - now) if self._late else 0.2
            select.select([self._socket], [], [], max(0.0, wait))
            while self._late and self._late[0][0] <= time.monotonic():
                _, _, answer, ours, peer = heapq.heappop(self._late)
                self._send(answer, ours, peer)
            for data, ours, peer in self._waiting():
                self._take(data, ours, peer)

    def _cut(self, *_: object) -> None:
        self.dark_until_s = self._tables.booted_s = time.monotonic() + self.ways.cut_s

    def _waiting(self) -> Iterator[tuple[bytes, bytes, tuple[str, int]]]:
        for _ in range(64):
            try:
                data, told, _, peer = self._socket.recvmsg(65535, 64)
            except BlockingIOError:
                return
            yield data, told[0][2][8:12], peer

    def _take(self, data: bytes, ours: bytes, peer: tuple[str, int]) -> None:
        number = int.from_bytes(ours, "big") - FIRST
        if not (0 <= number < self.ways.switches and peer[0].startswith("127.")):
            return
        now = time.monotonic()
        self.times.append(now)
        self.numbers.append(number)
        dark = number < self.ways.switches // 2 and now < self.dark_until_s
        if dark or number in self.ways.dead_ones:
            return
        answer = self._answer(data, number, now)
        if answer is None:
            return
        if number in self.ways.slow_ones:
            due = now + self.ways.slow_s
            heapq.heappush(self._late, (due, len(self.times), answer, ours, peer))
            return
        self._send(answer, ours, peer)

    def _send(self, answer: bytes, ours: bytes, peer: tuple[str, int]) -> None:
        source = struct.pack("@I", 0) + ours + b"\0\0\0\0"
        self._socket.sendmsg([answer], [(socket.IPPROTO_IP, IP_PKTINFO, source)], 0, peer)

    def _answer(self, data: bytes, number: int, now: float) -> bytes | None:
        _, message, _ = ber.element(data, 0)
        _, version, at = ber.element(message, 0)
        _, community, at = ber.element(message, at)
        if community != COMMUNITY or version not in (b"\0", b"\1"):
            return None
        kind, pdu, _ = ber.element(message, at)
        if kind == ber.BULK:
            self.numbers[-1] |= WALKED
        _, request, at = ber.element(pdu, 0)
        _, first, at = ber.element(pdu, at)
        _, second, at = ber.element(pdu, at)
        _, listed, _ = ber.element(pdu, at)
        oids = self._plan(listed)
        if kind == ber.GET:
            pairs = [self._tables.pair(oid, number, now) for oid in oids]
        else:
            steps = min(int.from_bytes(second, "big"), MOST_REPETITIONS) if kind == ber.BULK else 1
            single = int.from_bytes(first, "big") if kind == ber.BULK else 0
            pairs = self._following(oids, single, steps, number, now)
        head = ber.tlv(ber.INTEGER, request) + b"\x02\x01\x00\x02\x01\x00"
        body = ber.tlv(ber.RESPONSE, head + ber.tlv(ber.SEQUENCE, b"".join(pairs)))
        lead = ber.tlv(ber.INTEGER, version) + ber.tlv(ber.OCTETS, community)
        return ber.tlv(ber.SEQUENCE, lead + body)

    def _following(
        self, oids: tuple[Oid, ...], single: int, steps: int, number: int, now: float
    ) -> list[bytes]:
        pairs = []
        for place, start in enumerate(oids):
            oid = start
            for _ in range(1 if place < single else steps):
                found = self._tables.after(oid)
                if found is None:
                    name = ber.tlv(ber.OID_TAG, ber.oid_body(oid))
                    pairs.append(ber.tlv(ber.SEQUENCE, name + END_OF_VIEW))
                    break
                oid = found
                pairs.append(self._tables.pair(oid, number, now))
        return pairs

    def _plan(self, listed: bytes) -> tuple[Oid, ...]:
        """The objects of a request; the same list comes again and again."""
        plan = self._plans.get(listed)
        if plan is None:
            oids, at = [], 0
            while at < len(listed):
                _, varbind, at = ber.element(listed, at)
                _, name, _ = ber.element(varbind, 0)
                oids.append(ber.read_oid(name))
            plan = tuple(oids)
            if len(self._plans) < 4096:
                self._plans[listed] = plan
        return plan

    def write_log(self, path: Path) -> None:
        """`count` as int64, the times as float64, the numbers as int64."""
        with path.open("wb") as out:
            out.write(struct.pack("=q", len(self.times)))
            self.times.tofile(out)
            self.numbers.tofile(out)


def read_log(path: Path, *, walks: bool = False) -> dict[int, list[float]]:
    """When each switch was asked, monotonic s; with `walks` only the GETBULKs of its walks."""
    raw = path.read_bytes()
    (count,) = struct.unpack_from("=q", raw)
    times = struct.unpack_from(f"={count}d", raw, 8)
    numbers = struct.unpack_from(f"={count}q", raw, 8 + 8 * count)
    found: dict[int, list[float]] = {}
    for number, at in zip(numbers, times, strict=True):
        if number & WALKED or not walks:
            found.setdefault(number & ~WALKED, []).append(at)
    return found


def config_text(ways: Ways, port: int, *, status_s: int, optics_s: int, batch_s: float) -> str:
    """The configuration for a crowd: switches 2k and 2k + 1 are joined by two links."""
    head = (
        'station = "crowd"\n[store]\npath = "record.db"\n'
        f"batch_s = {batch_s:g}\n[intervals]\nstatus_s = {status_s}\noptics_s = {optics_s}\n"
        "[metrics]\nport = 0\n[dashboard]\nport = 0\n"
    )
    parts = [head]
    for n in range(ways.switches):
        parts.append(
            f'[[switch]]\nname = "s{n}"\nhost = "{host(n)}"\nport = {port}\n'
            'snmp = { version = "2c", community_file = "community" }\n'
        )
    for n in range(0, ways.switches - 1, 2):
        for p in (1, 2):
            ends = "".join(
                f'[link.{end}]\nname = "{end}{number}"\nswitch = "s{number}"\nport = "Gi{p}"\n'
                'pmd = "1000BASE-LX10"\n'
                for end, number in (("a", n), ("b", n + 1))
            )
            parts.append(f'[[link]]\nname = "l{n}-{p}"\nstrands = 2\nlength_m = 900\n{ends}')
    return "".join(parts)


def write_config(folder: Path, text: str) -> Path:
    (folder / "community").write_bytes(COMMUNITY)
    (folder / "community").chmod(0o600)
    config = folder / "station.toml"
    config.write_text(text)
    return config


def main() -> None:
    """Be the crowd."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--switches", type=int, default=1000)
    parser.add_argument("--port", type=int, default=16500)
    parser.add_argument("--seconds", type=float, default=900.0)
    parser.add_argument("--dead", type=float, default=0.0)
    parser.add_argument("--slow", type=float, default=0.0)
    parser.add_argument("--slow-s", type=float, default=1.0)
    parser.add_argument("--flap-s", type=float, default=0.0)
    parser.add_argument("--cut-s", type=float, default=15.0)
    parser.add_argument("--log", type=Path)
    given = parser.parse_args()
    ways = Ways(given.switches, given.dead, given.slow, given.slow_s, given.flap_s, given.cut_s)
    crowd = Crowd(ways, given.port)
    print("ready", flush=True)
    crowd.serve(given.seconds)
    if given.log:
        crowd.write_log(given.log)


if __name__ == "__main__":
    main()
