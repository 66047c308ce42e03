"""An SNMP agent on a real UDP socket that misbehaves on demand. v1 and v2c."""

from __future__ import annotations

import asyncio
import bisect
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from types import TracebackType
from typing import Any, Self

from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.ber import Asked, Cell, Oid

LOOPBACK = "127.0.0.1"
_TOO_BIG, _NO_SUCH_NAME, _GEN_ERR = 1, 2, 5


@dataclass(slots=True)
class Faults:
    """What is wrong with an agent just now."""

    silent: bool = False
    silent_below: Oid | None = None  # a request for an object below it is dropped without a word
    silent_over: int | None = None  # objects: a larger request is dropped without a word
    too_big_over: int | None = None  # objects: a larger request is answered tooBig
    gen_err_on: frozenset[Oid] = frozenset()
    nameless_error: bool = False  # the genErr has index 0
    leave_out: frozenset[Oid] = frozenset()
    shuffle: bool = False
    unrelated: bool = False  # answers with one object that nobody asked for
    wrong_number: bool = False
    twice: bool = False
    late_s: float = 0.0
    from_elsewhere: bool = False
    truncate_to: int | None = None
    flip: random.Random | None = None  # one to three octets of each answer are altered
    nonsense: tuple[bytes, ...] = ()  # sent before each answer
    loops: bool = False  # GETNEXT goes round in a circle
    only_v1: bool = False
    frozen: bool = False  # requests queue up and are answered on thawing


@dataclass
class Agent(asyncio.DatagramProtocol):
    """Answers from `table`. Use as an async context manager; `address` is where it listens."""

    table: dict[Oid, Cell]
    community: str = "look"
    host: str = LOOPBACK
    faults: Faults = field(default_factory=Faults)
    before_each: Callable[[], None] | None = None
    asked: list[Asked] = field(default_factory=list)
    _queued: list[tuple[bytes, Any]] = field(default_factory=list)
    _tasks: list[asyncio.TimerHandle] = field(default_factory=list)

    async def __aenter__(self) -> Self:
        loop = asyncio.get_running_loop()
        self._transport, _ = await loop.create_datagram_endpoint(
            lambda: self, local_addr=(self.host, 0)
        )
        self._elsewhere, _ = await loop.create_datagram_endpoint(
            asyncio.DatagramProtocol, local_addr=(self.host, 0)
        )
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for task in self._tasks:
            task.cancel()
        self._transport.close()
        self._elsewhere.close()
        await asyncio.sleep(0)

    @property
    def address(self) -> tuple[str, int]:
        host, port = self._transport.get_extra_info("sockname")[:2]
        return str(host), int(port)

    def thaw(self) -> None:
        """Go on after having been frozen: what has queued up is answered at once."""
        self.faults.frozen = False
        queued, self._queued = self._queued, []
        for data, source in queued:
            self.datagram_received(data, source)

    def datagram_received(self, data: bytes, source: tuple[str, int]) -> None:
        if self.faults.frozen:
            self._queued.append((data, source))
            return
        if data[4] == 3 or self.faults.silent:  # SNMPv3 is not spoken here
            return
        asked = ber.read_request(data)
        self.asked.append(asked)
        if asked.community != self.community.encode() or (self.faults.only_v1 and asked.version):
            return
        if self.before_each is not None:
            self.before_each()
        answer = self._answer(asked)
        if answer is not None:
            self._send(answer, source)

    def _send(self, answer: bytes, source: tuple[str, int]) -> None:
        faults = self.faults
        out = self._elsewhere if faults.from_elsewhere else self._transport
        for junk in faults.nonsense:
            out.sendto(junk, source)
        body = answer if faults.truncate_to is None else answer[: faults.truncate_to]
        if faults.flip is not None:
            body = _flipped(body, faults.flip)
        for _ in range(2 if faults.twice else 1):
            if faults.late_s:
                loop = asyncio.get_running_loop()
                self._tasks.append(loop.call_later(faults.late_s, self._send_late, body, source))
            else:
                out.sendto(body, source)

    def _send_late(self, body: bytes, source: tuple[str, int]) -> None:
        if not self._transport.is_closing():
            self._transport.sendto(body, source)

    def _answer(self, asked: Asked) -> bytes | None:
        faults = self.faults
        below = faults.silent_below
        if below is not None and any(oid[: len(below)] == below for oid in asked.oids):
            return None
        number = asked.number + 1 if faults.wrong_number else asked.number
        size = asked.second * len(asked.oids) if asked.kind == ber.BULK else len(asked.oids)
        if faults.silent_over is not None and size > faults.silent_over:
            return None
        if faults.too_big_over is not None and size > faults.too_big_over:
            return ber.response(asked, [], status=_TOO_BIG, number=number)
        if faults.unrelated:
            return ber.response(asked, [((1, 3, 6, 1, 9, 9), ber.integer(1))], number=number)
        if asked.kind == ber.GET:
            return self._get(asked, number)
        return self._next(asked, number)

    def _get(self, asked: Asked, number: int) -> bytes:
        failing = next((n for n, o in enumerate(asked.oids) if o in self.faults.gen_err_on), None)
        if failing is not None:
            index = 0 if self.faults.nameless_error else failing + 1
            return ber.response(asked, [], status=_GEN_ERR, index=index, number=number)
        found = []
        for n, oid in enumerate(asked.oids, start=1):
            cell = self._cell(oid)
            if asked.version == 0 and (cell.tag & 0x80 or cell.tag == ber.COUNTER64):
                return ber.response(asked, [], status=_NO_SUCH_NAME, index=n, number=number)
            if oid not in self.faults.leave_out:
                found.append((oid, cell))
        if self.faults.shuffle:
            found.reverse()
        return ber.response(asked, found, number=number)

    def _cell(self, oid: Oid) -> Cell:
        if oid in self.table:
            return self.table[oid]
        column = oid[:-1]
        known = any(o[: len(column)] == column for o in self.table)
        return ber.nothing(ber.NO_SUCH_INSTANCE if known else ber.NO_SUCH_OBJECT)

    def _next(self, asked: Asked, number: int) -> bytes:
        order = sorted(o for o in self.table if asked.version or self.table[o].tag != ber.COUNTER64)
        found: list[tuple[Oid, Cell]] = []
        after = asked.oids[0]
        for _ in range(asked.second if asked.kind == ber.BULK else 1):
            at = bisect.bisect_right(order, after)
            if self.faults.loops and found:
                at = bisect.bisect_right(order, asked.oids[0])
            if at >= len(order):
                if asked.version == 0:
                    return ber.response(asked, [], status=_NO_SUCH_NAME, index=1, number=number)
                found.append((after, ber.nothing(ber.END_OF_VIEW)))
                break
            after = order[at]
            found.append((after, self.table[after]))
        return ber.response(asked, found, number=number)


def _flipped(body: bytes, dice: random.Random) -> bytes:
    out = bytearray(body)
    for _ in range(dice.randint(1, 3)):
        out[dice.randrange(len(out))] ^= 1 << dice.randrange(8)
    return bytes(out)
