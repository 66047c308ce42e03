"""Asking switches: gets and walks with deadlines, sizes that fit, and errors in words.

One request in flight per switch is the caller's affair (a poller asks one thing after another);
here about fifty are allowed at once over all switches, and suspects, which mostly cost a timeout,
have a small pool of their own so that they cannot fill it.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from strandkeeper.errors import MalformedAnswerError, NoAnswerError, RefusedError
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.snmp.credentials import Credential, Usm
from strandkeeper.snmp.endpoint import Endpoint, no_answer
from strandkeeper.snmp.engine import Engine
from strandkeeper.snmp.exchange import Exchanges, SilenceError, TooLargeError
from strandkeeper.snmp.pdus import Reply
from strandkeeper.snmp.sizes import Group, pack
from strandkeeper.snmp.walks import Bounds, Walk, walk_column

__all__ = ["Answer", "Part", "SnmpClient", "Walk"]

IN_FLIGHT = 50
SUSPECTS_IN_FLIGHT = 16
RECEIVE_BUFFER = 8 << 20

_TOO_BIG, _NO_SUCH_NAME = 1, 2  # RFC 3416 error-status
_NO_ACCESS, _AUTHORIZATION_ERROR = 6, 16


@dataclass(frozen=True, slots=True)
class Part:
    """One exchange of an answer: what was asked with what came, and when (monotonic seconds)."""

    values: Mapping[Oid, Value]
    sent_s: float
    received_s: float


@dataclass(frozen=True, slots=True)
class Answer:
    """Every object that was asked, with its value or the reason why it has none.

    An object asked in several requests (`each`, group keys) keeps the value of the first here, and
    all of them in `parts`. `complete` False: the switch fell silent after a part.
    """

    values: Mapping[Oid, Value]
    parts: tuple[Part, ...]
    complete: bool = True

    @property
    def round_trip_ms(self) -> float:
        """The slowest exchange."""
        return max(((p.received_s - p.sent_s) * 1000 for p in self.parts), default=0.0)


@dataclass(slots=True)
class _Losses:
    """The time that an agent's failures have cost one get, in s, and how much of it may be.

    A part of an agent that hangs fails only after the agent's own patience, object by object.
    """

    most_s: float
    taken_s: float = 0.0

    def add(self, reply: Reply, taken_s: float) -> None:
        """Count an answer that says no more than that something failed."""
        if reply.error_status not in (_TOO_BIG, _NO_SUCH_NAME, _NO_ACCESS, _AUTHORIZATION_ERROR):
            self.taken_s += taken_s

    @property
    def too_many(self) -> bool:
        """Whether to leave it at that."""
        return self.taken_s > self.most_s


class SnmpClient:
    """Asks switches by name. Reading only: see gate.py.

    Raises NoAnswerError, RefusedError or MalformedAnswerError, each a sentence with what to do.
    """

    def __init__(
        self,
        targets: Iterable[tuple[SwitchTarget, Credential]],
        *,
        in_flight: int = IN_FLIGHT,
        suspects_in_flight: int = SUSPECTS_IN_FLIGHT,
        receive_buffer: int = RECEIVE_BUFFER,
    ) -> None:
        self._targets = list(targets)
        self._engine = Engine()
        self._endpoints: dict[SwitchName, Endpoint] = {}
        self._exchanges = Exchanges(self._engine, in_flight, suspects_in_flight)
        self._receive_buffer = receive_buffer
        self._engine_ids: dict[bytes, dict[SwitchName, tuple[str, int]]] = {}

    async def start(self) -> None:
        """Open the engine and its socket, and set every credential up before the first request."""
        await self._engine.open(self._receive_buffer)
        for target, held in self._targets:
            self._endpoints[target.name] = Endpoint(target, held, self._engine.opening(held))

    async def close(self) -> None:
        """Close the sockets; whoever still waits gets NoAnswerError at once."""
        self._engine.close()
        self._exchanges.close()
        await asyncio.sleep(0)

    @property
    def receive_buffer(self) -> int:
        """Octets of receive buffer that the system granted."""
        return min((g.receive_buffer for g in self._engine.gates), default=0)

    @property
    def dropped(self) -> int:
        """Datagrams that were no awaited answer: late, doubled, from elsewhere, nonsense."""
        return sum(g.dropped + g.damaged for g in self._engine.gates)

    @property
    def under_way(self) -> int:
        """Requests sent and neither answered nor given up."""
        return self._engine.under_way

    def target(self, switch: SwitchName) -> SwitchTarget:
        """What the configuration says of a switch."""
        return self._endpoints[switch].target

    def learned_size(self, switch: SwitchName) -> int:
        """How many objects one request to this switch may hold, as learned so far."""
        return self._endpoints[switch].size.limit

    def engine_id(self, switch: SwitchName) -> bytes | None:
        """The SNMPv3 engine ID of the switch, if it was met."""
        endpoint = self._endpoints[switch]
        if endpoint.peer is None or not isinstance(endpoint.held, Usm):
            return None
        return self._engine.engine_id(endpoint.family, endpoint.peer)

    def engine_shared_with(self, switch: SwitchName) -> tuple[SwitchName, ...]:
        """Switches asked this about before, at other addresses, that have its SNMPv3 engine ID."""
        engine_id, mine = self.engine_id(switch), self._endpoints[switch].peer
        if engine_id is None or mine is None:
            return ()
        known = self._engine_ids.setdefault(engine_id, {})
        known[switch] = mine.where
        return tuple(name for name, where in known.items() if where != mine.where)

    async def probe(self, switch: SwitchName, *, suspect: bool = True) -> None:
        """Ask one small thing once. Raises NoAnswerError if nothing comes."""
        endpoint = self._endpoints[switch]
        try:
            await self._exchanges.small(endpoint, suspect=suspect)
        except SilenceError as silence:
            raise no_answer(endpoint, silence.reported) from None

    async def get(
        self,
        switch: SwitchName,
        oids: Sequence[Oid | Group],
        *,
        each: tuple[Oid, ...] = (),
        suspect: bool = False,
    ) -> Answer:
        """Ask for objects, in as many requests as this switch needs, `each` in every one of them.

        A Group is kept together where it fits, and its key goes with each piece where it does not.
        Objects that the switch fails on are FAILED, and so are those not asked yet once its
        failures have taken twice the time it has for one answer.
        """
        endpoint = self._endpoints[switch]
        groups = [o if isinstance(o, Group) else Group(None, (o,)) for o in oids]
        parts: list[Part] = []
        waiting = pack(groups, each, endpoint.size.limit)
        complete = True
        losses = _Losses(2 * endpoint.target.timeout_s)
        too_large: int | None = None
        while waiting:
            request = waiting.pop(0)
            try:
                parts.append(await self._ask(endpoint, request, losses, suspect=suspect))
                if too_large is not None and set(request) - set(each):
                    # it answers a part of what was too much: now that is sure
                    endpoint.size.shrink(too_large)
                    too_large = None
            except TooLargeError as large:
                waiting[:0] = self._split(endpoint, request, each)
                too_large = len(request) if large.learn else too_large
            except NoAnswerError:
                if not parts:
                    raise
                complete = False
                break
        values: dict[Oid, Value] = {}
        for part in reversed(parts):
            values.update(part.values)
        for group in groups:
            for oid in (*group.oids, *(() if group.key is None else (group.key,))):
                values.setdefault(oid, Absent.NOT_ANSWERED)
        return Answer(values, tuple(parts), complete)

    @staticmethod
    def _split(
        endpoint: Endpoint, request: tuple[Oid, ...], each: tuple[Oid, ...]
    ) -> list[tuple[Oid, ...]]:
        if len(request) <= 1:
            raise MalformedAnswerError(
                f"{endpoint.name} says that a single value is too big to answer",
                hint="raise the maximum message size of its SNMP service",
            )
        rest = tuple(o for o in request if o not in each)
        lead = [Group(rest[0], rest[1:])] if rest else []
        return pack(lead, each, min(endpoint.size.limit, len(request) // 2))

    async def walk(
        self,
        switch: SwitchName,
        column: Oid,
        *,
        after: Oid | None = None,
        max_rows: int = Bounds().rows,
        max_s: float = Bounds().seconds,
        pause_s: float = 0.0,
        suspect: bool = False,
    ) -> Walk:
        """All rows of one column, bounded in rows, octets, time and requests, away from loops.

        `after`: begin behind this object of it, to go on with a walk that was stopped. `pause_s`:
        wait so long between two requests.
        """
        return await walk_column(
            self._exchanges,
            self._endpoints[switch],
            column,
            Bounds(rows=max_rows, seconds=max_s, pause_s=pause_s),
            after=after,
            suspect=suspect,
        )

    async def _ask(
        self, endpoint: Endpoint, request: tuple[Oid, ...], losses: _Losses, *, suspect: bool
    ) -> Part:
        """One request of a get, asked again without the objects that spoil it."""
        asked = request
        values: dict[Oid, Value] = {}
        started = time.monotonic()
        while asked:
            reply, sent, received = await self._exchanges.get(endpoint, asked, suspect=suspect)
            if reply.error_status == 0:
                found = {oid: value for oid, value in reply.varbinds if oid in asked}
                self._require_some(endpoint, asked, found)
                values = {o: Absent.NOT_ANSWERED for o in request} | values | found
                endpoint.size.worked()
                return Part(values, sent, received)
            losses.add(reply, received - sent)
            spoilt = (
                dict.fromkeys(asked, Absent.FAILED)
                if losses.too_many
                else self._spoilt(endpoint, reply, asked)
            )
            values.update(spoilt)
            asked = tuple(o for o in asked if o not in spoilt)
        return Part(values, started, time.monotonic())

    @staticmethod
    def _require_some(
        endpoint: Endpoint, asked: tuple[Oid, ...], found: Mapping[Oid, Value]
    ) -> None:
        if not found:
            raise MalformedAnswerError(
                f"{endpoint.name} answered with none of the {len(asked)} objects asked for",
                hint="its SNMP service is broken; try a later software of the switch",
            )

    def _spoilt(self, endpoint: Endpoint, reply: Reply, asked: tuple[Oid, ...]) -> dict[Oid, Value]:
        """Which objects the agent named as the reason why it answers nothing."""
        status, index = reply.error_status, reply.error_index
        if status == _TOO_BIG:
            raise TooLargeError
        if status in (_NO_ACCESS, _AUTHORIZATION_ERROR):
            raise RefusedError(
                f"{endpoint.name} refused access (error {status})",
                hint="allow this community or user to read: give it a view of the whole tree, "
                "and use the security level that the switch asks of the user",
            )
        reason = Absent.NO_SUCH_OBJECT if status == _NO_SUCH_NAME else Absent.FAILED
        if 0 < index <= len(asked):
            return {asked[index - 1]: reason}
        if len(asked) == 1:
            return {asked[0]: reason}
        raise TooLargeError(learn=False)  # it names nobody: ask in halves until one stands alone
