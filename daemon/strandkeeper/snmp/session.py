"""Asking switches: gets and walks with deadlines, sizes that fit, and errors in words.

One request in flight per switch is the caller's affair (a poller asks one thing after another);
here about fifty are allowed at once over all switches, and suspects, which mostly cost a timeout,
have a small pool of their own so that they cannot fill it.
"""

from __future__ import annotations

import asyncio
import socket
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from strandkeeper.errors import MalformedAnswerError, NoAnswerError, RefusedError
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.snmp.credentials import Community, Credential, Usm
from strandkeeper.snmp.engine import CLOSING, Engine, Opening, Report
from strandkeeper.snmp.gate import Peer
from strandkeeper.snmp.pdus import Kind, PduShelf, Reply, build
from strandkeeper.snmp.sizes import Group, RequestSize, pack
from strandkeeper.snmp.usm_words import REFUSALS, TIME_REPORTS, UNKNOWN_ENGINE, refusal

__all__ = ["Answer", "Part", "SnmpClient", "Walk"]

IN_FLIGHT = 50
SUSPECTS_IN_FLIGHT = 16
RECEIVE_BUFFER = 8 << 20

_SYS_UP_TIME: Oid = (1, 3, 6, 1, 2, 1, 1, 3, 0)
_MAX_REPORTS = 5  # discovery and time, each once again, and one to spare
_RESOLVE_AGAIN_AFTER = 5
_TOO_BIG, _NO_SUCH_NAME, _GEN_ERR = 1, 2, 5  # RFC 3416 error-status
_NO_ACCESS, _AUTHORIZATION_ERROR = 6, 16
_REPETITIONS = 24


class _SilenceError(Exception):
    """Nothing came within the deadline; `reported` is the last report before it, if any."""

    def __init__(self, reported: str | None) -> None:
        super().__init__(reported)
        self.reported = reported


class _TooLargeError(Exception):
    """The switch cannot answer so many objects at once."""


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
        return max((p.received_s - p.sent_s) * 1000 for p in self.parts)


@dataclass(frozen=True, slots=True)
class Walk:
    """The rows of one column by index; `remark` says why it ended early, empty if it did not."""

    rows: dict[Oid, Value]
    remark: str = ""


@dataclass(slots=True)
class _Endpoint:
    target: SwitchTarget
    held: Credential
    opening: Opening
    family: int = 0
    peer: Peer | None = None
    size: RequestSize = field(default_factory=RequestSize)
    silent: int = 0

    @property
    def name(self) -> str:
        return f'switch "{self.target.name}" ({self.target.host} port {self.target.port})'

    def meet_anew(self) -> None:
        """Forget what the library learned of this agent's SNMPv3 engine."""
        if self.peer is not None:
            stranger = self.peer.stranger
            self.peer = Peer(tuple(self.peer))
            self.peer.stranger = stranger


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
        self._shelf = PduShelf()
        self._endpoints: dict[SwitchName, _Endpoint] = {}
        self._flight = asyncio.Semaphore(in_flight)
        self._suspects = asyncio.Semaphore(suspects_in_flight)
        self._receive_buffer = receive_buffer

    async def start(self) -> None:
        """Open the engine and its socket, and set every credential up before the first request."""
        await self._engine.open(self._receive_buffer)
        for target, held in self._targets:
            self._endpoints[target.name] = _Endpoint(target, held, self._engine.opening(held))

    async def close(self) -> None:
        """Close the sockets; whoever still waits gets NoAnswerError at once."""
        self._engine.close()
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

    def learned_size(self, switch: SwitchName) -> int:
        """How many objects one request to this switch may hold, as learned so far."""
        return self._endpoints[switch].size.limit

    def engine_id(self, switch: SwitchName) -> bytes | None:
        """The SNMPv3 engine ID of the switch, if it was met."""
        endpoint = self._endpoints[switch]
        if endpoint.peer is None or not isinstance(endpoint.held, Usm):
            return None
        return self._engine.engine_id(endpoint.family, endpoint.peer)

    async def probe(self, switch: SwitchName, *, suspect: bool = True) -> None:
        """Ask one small thing once. Raises NoAnswerError if nothing comes."""
        endpoint = self._endpoints[switch]
        try:
            await self._exchange(
                endpoint, self._get_pdu(endpoint, (_SYS_UP_TIME,)), suspect=suspect
            )
        except _SilenceError as silence:
            raise self._no_answer(endpoint, silence) from None

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
        """
        endpoint = self._endpoints[switch]
        groups = [o if isinstance(o, Group) else Group(None, (o,)) for o in oids]
        parts: list[Part] = []
        waiting = pack(groups, each, endpoint.size.limit)
        complete = True
        while waiting:
            request = waiting.pop(0)
            try:
                parts.append(await self._ask(endpoint, request, suspect=suspect))
            except _TooLargeError:
                waiting[:0] = self._split(endpoint, request, each)
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

    def _split(
        self, endpoint: _Endpoint, request: tuple[Oid, ...], each: tuple[Oid, ...]
    ) -> list[tuple[Oid, ...]]:
        if len(request) <= 1:
            raise MalformedAnswerError(
                f"{endpoint.name} says that a single value is too big to answer",
                hint="raise the maximum message size of its SNMP service",
            )
        endpoint.size.shrink(len(request))
        rest = tuple(o for o in request if o not in each)
        lead = [Group(rest[0], rest[1:])] if rest else []
        return pack(lead, each, endpoint.size.limit)

    async def walk(
        self, switch: SwitchName, column: Oid, *, max_rows: int = 8192, suspect: bool = False
    ) -> Walk:
        """All rows of one column, bounded in rows and in requests, stopping at agents that loop."""
        endpoint = self._endpoints[switch]
        bulk = endpoint.opening.model > 0
        repetitions = min(_REPETITIONS, endpoint.size.limit)
        rows: dict[Oid, Value] = {}
        last = column
        for _ in range(max_rows):
            try:
                reply = await self._next(endpoint, last, repetitions if bulk else 0, suspect)
            except _TooLargeError:
                bulk, repetitions = repetitions > 1, max(1, repetitions // 2)
                continue
            for oid, value in reply.varbinds:
                if oid[: len(column)] != column or value is Absent.END_OF_VIEW:
                    return Walk(rows)
                if oid <= last:
                    return Walk(rows, "the switch gave rows out of order, so the walk was stopped")
                rows[oid[len(column) :]] = value
                last = oid
                if len(rows) >= max_rows:
                    return Walk(rows, f"the walk was stopped after {max_rows} rows")
            if reply.error_status == _NO_SUCH_NAME:  # the end of what a v1 agent has
                return Walk(rows)
            if reply.error_status or not reply.varbinds:
                return Walk(rows, f"the switch broke the walk off (error {reply.error_status})")
        return Walk(rows, "the walk took too many requests and was stopped")

    async def _next(
        self, endpoint: _Endpoint, after: Oid, repetitions: int, suspect: bool
    ) -> Reply:
        version = endpoint.opening.pdu_version
        if repetitions:
            pdu = build(Kind.BULK, version, (after,), repetitions=repetitions)
        else:
            pdu = build(Kind.NEXT, version, (after,))
        reply, _, _ = await self._persist(endpoint, pdu, suspect=suspect, many=repetitions > 1)
        if reply.error_status == _TOO_BIG and repetitions:
            raise _TooLargeError
        if reply.error_status:
            return Reply(reply.error_status, reply.error_index, [])
        return reply

    async def _ask(self, endpoint: _Endpoint, request: tuple[Oid, ...], *, suspect: bool) -> Part:
        """One request of a get, asked again without the objects that spoil it."""
        asked = request
        values: dict[Oid, Value] = {}
        started = time.monotonic()
        while asked:
            pdu = self._get_pdu(endpoint, asked)
            reply, sent, received = await self._persist(
                endpoint, pdu, suspect=suspect, many=len(asked) > 1
            )
            if reply.error_status == 0:
                found = {oid: value for oid, value in reply.varbinds if oid in asked}
                self._require_some(endpoint, asked, found)
                values = {o: Absent.NOT_ANSWERED for o in request} | values | found
                endpoint.size.worked()
                return Part(values, sent, received)
            spoilt = self._spoilt(endpoint, reply, asked)
            values.update(spoilt)
            asked = tuple(o for o in asked if o not in spoilt)
        return Part(values, started, time.monotonic())

    @staticmethod
    def _require_some(
        endpoint: _Endpoint, asked: tuple[Oid, ...], found: Mapping[Oid, Value]
    ) -> None:
        if not found:
            raise MalformedAnswerError(
                f"{endpoint.name} answered with none of the {len(asked)} objects asked for",
                hint="its SNMP service is broken; try a later software of the switch",
            )

    def _spoilt(
        self, endpoint: _Endpoint, reply: Reply, asked: tuple[Oid, ...]
    ) -> dict[Oid, Value]:
        """Which objects the agent named as the reason why it answers nothing."""
        status, index = reply.error_status, reply.error_index
        if status == _TOO_BIG:
            raise _TooLargeError
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
        raise _TooLargeError  # an error that names nobody: ask in halves until one stands alone

    def _get_pdu(self, endpoint: _Endpoint, oids: tuple[Oid, ...]) -> Any:
        return self._shelf.get(endpoint.opening.pdu_version, oids)

    async def _persist(
        self, endpoint: _Endpoint, pdu: Any, *, suspect: bool, many: bool
    ) -> tuple[Reply, float, float]:
        """Ask, and again after silence; tell a request that is too large from a dead switch."""
        attempts = 1 if suspect else 1 + max(0, endpoint.target.retries)
        for attempt in range(attempts):
            try:
                return await self._exchange(endpoint, pdu, suspect=suspect)
            except _SilenceError as silence:
                last = attempt == attempts - 1
                if last and (not many or not await self._small_answers(endpoint, suspect)):
                    raise self._no_answer(endpoint, silence) from None
        raise _TooLargeError

    async def _small_answers(self, endpoint: _Endpoint, suspect: bool) -> bool:
        try:
            await self._exchange(
                endpoint, self._get_pdu(endpoint, (_SYS_UP_TIME,)), suspect=suspect
            )
        except _SilenceError:
            return False
        return True

    async def _exchange(
        self, endpoint: _Endpoint, pdu: Any, *, suspect: bool
    ) -> tuple[Reply, float, float]:
        """One request and its response, with the SNMPv3 exchanges that must come before it."""
        await self._locate(endpoint)
        async with self._suspects if suspect else self._flight:
            refused: str | None = None
            reported: str | None = None
            for _ in range(_MAX_REPORTS):
                sent_s = time.monotonic()
                outcome = await self._once(endpoint, pdu, reported)
                if isinstance(outcome, Reply):
                    endpoint.silent = 0
                    return outcome, sent_s, time.monotonic()
                reported = outcome.indication
                if reported == CLOSING:
                    raise NoAnswerError(f"{endpoint.name} was not waited for: the end has come")
                if reported in REFUSALS and reported not in (*TIME_REPORTS, UNKNOWN_ENGINE):
                    if refused is not None:
                        break
                    refused = reported
                    endpoint.meet_anew()
                elif reported not in (*TIME_REPORTS, UNKNOWN_ENGINE):
                    break
            raise self._refused(endpoint, refused or reported or "")

    async def _once(self, endpoint: _Endpoint, pdu: Any, reported: str | None) -> Reply | Report:
        peer = endpoint.peer
        if peer is None:
            raise _SilenceError(reported)
        if isinstance(endpoint.held, Usm):
            self._engine.enrol(endpoint.held, endpoint.family, peer)
        timeout_s = endpoint.target.timeout_s
        try:
            sent = self._engine.send(peer, endpoint.family, endpoint.opening, pdu, timeout_s)
        except OSError as error:
            raise NoAnswerError(
                f"{endpoint.name} cannot be reached: {error.strerror or error}",
                hint="check the network of this computer and the address of the switch",
            ) from error
        try:
            async with asyncio.timeout(timeout_s):
                return await sent.outcome
        except TimeoutError:
            endpoint.silent += 1
            if isinstance(endpoint.held, Usm):
                endpoint.meet_anew()  # a replaced switch answers only to its new engine ID
            raise _SilenceError(reported) from None
        finally:
            self._engine.forget(sent)

    async def _locate(self, endpoint: _Endpoint) -> None:
        """Find the address of a host, at first and again after a long silence."""
        if (
            endpoint.peer is not None
            and endpoint.silent % _RESOLVE_AGAIN_AFTER != _RESOLVE_AGAIN_AFTER - 1
        ):
            return
        loop = asyncio.get_running_loop()
        try:
            found = await loop.getaddrinfo(
                endpoint.target.host, endpoint.target.port, type=socket.SOCK_DGRAM
            )
        except OSError as error:
            if endpoint.peer is not None:
                return
            raise NoAnswerError(
                f'{endpoint.name}: the host name "{endpoint.target.host}" was not found',
                hint="check the spelling, or give the address in figures",
            ) from error
        family, _, _, _, address = found[0]
        if endpoint.peer is None or (str(address[0]), int(address[1])) != endpoint.peer.where:
            await self._engine.gate(family)
            endpoint.family = family
            endpoint.peer = Peer((str(address[0]), int(address[1])))

    def _no_answer(self, endpoint: _Endpoint, silence: _SilenceError) -> NoAnswerError:
        target = endpoint.target
        message = f"{endpoint.name} did not answer within {target.timeout_s:g} s"
        stranger = None if endpoint.peer is None else endpoint.peer.stranger
        if stranger is not None:
            return NoAnswerError(
                f"{message}; an answer came from {stranger} instead and was not taken",
                hint=f"if that is the same switch, give its address {stranger.split()[0]} as host",
            )
        if silence.reported is not None and isinstance(endpoint.held, Usm):
            return NoAnswerError(
                f"{endpoint.name} answers SNMPv3 but was silent to the request of user "
                f'"{endpoint.held.user}" ({endpoint.held.level})',
                hint="check the priv key and the priv protocol: "
                "many switches answer nothing to a wrong one",
            )
        if isinstance(endpoint.held, Community):
            hint = (
                "check its power and the way to it, the host and port, that SNMP "
                f"v{endpoint.held.version} is on, and the community: "
                "a wrong one is answered with silence"
            )
        else:
            hint = "check its power and the way to it, the host and port, and that SNMPv3 is on"
        return NoAnswerError(message, hint=hint)

    @staticmethod
    def _refused(endpoint: _Endpoint, indication: str) -> RefusedError:
        reason, hint = refusal(indication)
        user = f' "{endpoint.held.user}"' if isinstance(endpoint.held, Usm) else ""
        return RefusedError(f"{endpoint.name} {reason}{user and f' (user{user})'}", hint=hint)
