"""An invented switch on the network: UDP on loopback, SNMP v1 and v2c, reading only.

Light: without the SNMP library, so that dozens of them can run in one process.
"""

from __future__ import annotations

import asyncio
import time
from bisect import bisect_right
from collections.abc import Callable, Iterable
from typing import Final

from strandkeeper_demo.mib import Oid
from strandkeeper_demo.personalities import ber
from strandkeeper_demo.personalities.interfaces import Neighbour
from strandkeeper_demo.personalities.personality import Personality, Tables, tables_at
from strandkeeper_demo.personalities.physics import Pair

__all__ = ["Box", "boxes_of", "serve"]

TOO_BIG, NO_SUCH_NAME, GEN_ERR = 1, 2, 5
UP_BEFORE_S: Final = 40 * 86400.0
MAX_REPETITIONS: Final = 100
GRAIN_S: Final = 0.25  # one instant serves all requests that come within it
COUNTER64: Final = 0x46

Clock = Callable[[], float]
Found = tuple[Oid, bytes]


class Box:
    """One switch of a pair: its state, and the answers it gives. `deaf`: it hears nothing."""

    def __init__(
        self, switch: Personality, pair: Pair, side: int, *, clock: Clock = time.time
    ) -> None:
        self.switch = switch
        self.boots = 1
        self.deaf = False
        self.requests = 0
        self.neighbours: tuple[Neighbour, ...] = ()
        self.pair = pair
        self._side = side
        self._clock = clock
        self._booted_s = clock() - UP_BEFORE_S
        self._made: tuple[float, int, tuple[object, ...]] | None = None
        self._tables: Tables = {}
        self._order: list[Oid] = []

    def restart(self) -> None:
        """Start over: uptime from zero, and other ifIndex where the switch does that."""
        self._booted_s = self._clock()
        self.boots += 1

    def tables(self) -> Tables:
        """All instances now."""
        self._refresh()
        return self._tables

    def answer(self, datagram: bytes) -> bytes | None:
        """The response to a datagram, None for silence."""
        self.requests += 1
        try:
            request = ber.read_request(datagram)
        except ber.BadMessageError:
            return None
        manners = self.switch.manners
        if self.deaf or request.version not in manners.versions:
            return None
        if request.community != self.switch.community.encode():
            return None
        if manners.drop_varbinds is not None and len(request.oids) > manners.drop_varbinds:
            return None
        self._refresh()
        response = self._respond(request)
        if len(response) > manners.drop_octets:
            return None
        if len(response) > manners.max_octets:
            return ber.encode_response(request, [], status=TOO_BIG)
        return response

    def _refresh(self) -> None:
        now = self._clock()
        now -= now % GRAIN_S
        state = (now, self.boots, self.pair.touched())
        if state != self._made:
            self._tables = tables_at(
                self.switch,
                self.pair,
                self._side,
                time_s=now,
                booted_s=self._booted_s,
                boots=self.boots,
                neighbours=self.neighbours,
            )
            self._order = sorted(self._tables)
            self._made = state

    def _respond(self, request: ber.Request) -> bytes:
        if request.tag == ber.GET_BULK and request.version > 0:
            return self._bulk(request)
        if request.tag not in (ber.GET, ber.GET_NEXT):
            return self._failed(request, GEN_ERR, 1)
        v1 = request.version == 0
        after = self._after_in_v1 if v1 else self._after
        look = self._at if request.tag == ber.GET else after
        found: list[Found] = []
        for place, oid in enumerate(request.oids, 1):
            one = look(oid)
            if self._fails_on(one[0]):
                return self._failed(request, GEN_ERR, place)
            if v1 and _not_in_v1(one[1]):
                return self._failed(request, NO_SUCH_NAME, place)
            found.append(one)
        return self._packed(request, found)

    def _bulk(self, request: ber.Request) -> bytes:
        """GETBULK (RFC 3416 4.2.3), cut to what an answer may hold: fewer is always allowed."""
        alone = max(0, min(request.first, len(request.oids)))
        found = [self._after(oid) for oid in request.oids[:alone]]
        last = list(request.oids[alone:])
        room = self.switch.manners.max_octets - 100
        size = 0
        for _ in range(min(max(request.second, 0), MAX_REPETITIONS) if last else 0):
            step = [self._after(oid) for oid in last]
            size += sum(len(value) + len(oid) + 12 for oid, value in step)
            if size > room and found:
                break
            found += step
            last = [oid for oid, _ in step]
            if all(value == ber.END_OF_VIEW for _, value in step):
                break
        failing = next((n for n, (oid, _) in enumerate(found, 1) if self._fails_on(oid)), 0)
        if failing:
            return self._failed(request, GEN_ERR, min(failing, len(request.oids)))
        return self._packed(request, found)

    def _packed(self, request: ber.Request, found: list[Found]) -> bytes:
        kept = found[: self.switch.manners.max_varbinds]
        return ber.encode_response(request, [ber.varbind(oid, value) for oid, value in kept])

    def _failed(self, request: ber.Request, status: int, index: int) -> bytes:
        bindings = [ber.varbind(oid, ber.NULL) for oid in request.oids]
        return ber.encode_response(request, bindings, status=status, index=index)

    def _fails_on(self, oid: Oid) -> bool:
        bad = self.switch.manners.gen_err
        return bad is not None and oid[: len(bad)] == bad

    def _at(self, oid: Oid) -> Found:
        cell = self._tables.get(oid)
        if cell is not None:
            return oid, ber.encode_value(*cell)
        place = bisect_right(self._order, oid[:-1])
        column = place < len(self._order) and self._order[place][: len(oid) - 1] == oid[:-1]
        return oid, ber.NO_SUCH_INSTANCE if column else ber.NO_SUCH_OBJECT

    def _after(self, oid: Oid) -> Found:
        turn = self.switch.manners.turns_back
        if turn is not None and oid == turn[0]:
            oid = turn[1]
        place = bisect_right(self._order, oid)
        if place == len(self._order):
            return oid, ber.END_OF_VIEW
        found = self._order[place]
        return found, ber.encode_value(*self._tables[found])

    def _after_in_v1(self, oid: Oid) -> Found:
        """The next that v1 can say: what has a 64-bit counter is passed over (RFC 3584 4.2.2.1)."""
        found = self._after(oid)
        while found[1][0] == COUNTER64:
            found = self._after(found[0])
        return found


def _not_in_v1(value: bytes) -> bool:
    return value[0] in (0x80, 0x81, 0x82, COUNTER64)


class _Wire(asyncio.DatagramProtocol):
    """A socket in front of a box."""

    def __init__(self, box: Box) -> None:
        self._box = box
        self._transport: asyncio.DatagramTransport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._transport = transport  # type: ignore[assignment]

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        response = self._box.answer(data)
        if response is not None and self._transport is not None:
            self._transport.sendto(response, addr)


def boxes_of(
    a: Personality, b: Personality, *, seed: int, clock: Clock = time.time
) -> tuple[Box, Box]:
    """Two switches joined by fibre, each hearing the other by LLDP."""
    pair = Pair(a.ports, b.ports, seed=seed)
    boxes = Box(a, pair, 0, clock=clock), Box(b, pair, 1, clock=clock)
    names = [{port.number: port.name for port in switch.ports} for switch in (a, b)]
    for side, other in ((0, 1), (1, 0)):
        boxes[side].neighbours = tuple(
            Neighbour(
                port=ends[side],
                system=(a, b)[other].name,
                far_port=names[other][ends[other]],
            )
            for ends in pair.links
        )
    return boxes


async def serve(
    boxes: Iterable[tuple[Box, tuple[str, int]]],
) -> list[asyncio.DatagramTransport]:
    """Put boxes on the network at their addresses; close what comes back when done.

    Raises OSError when an address is taken.
    """
    loop = asyncio.get_running_loop()
    open_ones: list[asyncio.DatagramTransport] = []
    try:
        for box, address in boxes:
            transport, _ = await loop.create_datagram_endpoint(
                lambda box=box: _Wire(box),  # type: ignore[misc]
                local_addr=address,
            )
            open_ones.append(transport)
    except OSError:
        for transport in open_ones:
            transport.close()
        raise
    return open_ones
