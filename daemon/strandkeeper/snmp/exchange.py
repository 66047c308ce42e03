"""One question and its answer: deadlines, repetition, SNMPv3 met anew, silence understood."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import time
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any

from strandkeeper.errors import NoAnswerError
from strandkeeper.model.oid import Oid
from strandkeeper.snmp.credentials import Usm
from strandkeeper.snmp.deadline import SILENCE, Deadline
from strandkeeper.snmp.endpoint import Endpoint, no_answer, refused
from strandkeeper.snmp.engine import CLOSING, Engine, Report
from strandkeeper.snmp.gate import Peer
from strandkeeper.snmp.pdus import Kind, PduShelf, Reply, build
from strandkeeper.snmp.turns import Turns
from strandkeeper.snmp.usm_words import REFUSALS, TIME_REPORTS, UNKNOWN_ENGINE

__all__ = ["Exchanges", "SilenceError", "TooLargeError"]

_SYS_UP_TIME: Oid = (1, 3, 6, 1, 2, 1, 1, 3, 0)
_MAX_REPORTS = 5  # discovery and time, each once again, and one to spare
_RESOLVE_AGAIN_AFTER = 5
_LOOK_UPS = 4
_LOOK_UP_S = 5.0  # for a name; a resolver alone may take half a minute
_BURST_S = 0.25  # an answer that takes longer is no longer part of a burst


class SilenceError(Exception):
    """Nothing came within the deadline; `reported` is the last report before it, if any."""

    def __init__(self, reported: str | None) -> None:
        super().__init__(reported)
        self.reported = reported


class TooLargeError(Exception):
    """The switch cannot answer so many objects at once; `learn`: and will not the next time."""

    def __init__(self, *, learn: bool = True) -> None:
        super().__init__(learn)
        self.learn = learn


class Exchanges:
    """Carries questions of one engine, so many at once, suspects in a pool of their own."""

    def __init__(self, engine: Engine, in_flight: int, suspects_in_flight: int) -> None:
        self._engine = engine
        self._shelf = PduShelf()
        self._flight = Turns(in_flight, _BURST_S)
        self._suspects = Turns(suspects_in_flight, _BURST_S)
        self._look_ups = ThreadPoolExecutor(_LOOK_UPS, "names")

    def close(self) -> None:
        """Wait for no name server any longer."""
        self._look_ups.shutdown(wait=False, cancel_futures=True)

    async def get(
        self, endpoint: Endpoint, oids: tuple[Oid, ...], *, suspect: bool
    ) -> tuple[Reply, float, float]:
        """GET, with the monotonic times of sending and receiving. Raises as `persist` does."""
        pdu = self._shelf.get(endpoint.opening.pdu_version, oids)
        return await self.persist(endpoint, pdu, suspect=suspect, many=len(oids) > 1)

    async def after(
        self, endpoint: Endpoint, oid: Oid, repetitions: int, *, suspect: bool
    ) -> Reply:
        """GETBULK, or GETNEXT for no repetitions. Raises as `persist` does."""
        version = endpoint.opening.pdu_version
        kind = Kind.BULK if repetitions else Kind.NEXT
        pdu = build(kind, version, (oid,), repetitions=repetitions)
        reply, _, _ = await self.persist(endpoint, pdu, suspect=suspect, many=repetitions > 1)
        return reply

    async def small(self, endpoint: Endpoint, *, suspect: bool) -> None:
        """Ask the clock, once. Raises SilenceError."""
        pdu = self._shelf.get(endpoint.opening.pdu_version, (_SYS_UP_TIME,))
        await self._exchange(endpoint, pdu, suspect=suspect)

    async def persist(
        self, endpoint: Endpoint, pdu: Any, *, suspect: bool, many: bool
    ) -> tuple[Reply, float, float]:
        """Ask, and again after silence; tell a request that is too large from a dead switch.

        Raises NoAnswerError, RefusedError, or TooLargeError if only small requests are answered.
        """
        attempts = 1 if suspect else 1 + max(0, endpoint.target.retries)
        for attempt in range(attempts):
            try:
                return await self._exchange(endpoint, pdu, suspect=suspect)
            except SilenceError as silence:
                last = attempt == attempts - 1
                if last and (not many or not await self._small_answers(endpoint, suspect)):
                    raise no_answer(endpoint, silence.reported) from None
        raise TooLargeError

    async def _small_answers(self, endpoint: Endpoint, suspect: bool) -> bool:
        try:
            await self.small(endpoint, suspect=suspect)
        except SilenceError:
            return False
        return True

    async def _exchange(
        self, endpoint: Endpoint, pdu: Any, *, suspect: bool
    ) -> tuple[Reply, float, float]:
        """One request and its response, with the SNMPv3 exchanges that must come before it."""
        await self._locate(endpoint)
        async with (self._suspects if suspect else self._flight).turn():
            denied: str | None = None
            reported: str | None = None
            for _ in range(_MAX_REPORTS):
                sent_s = time.monotonic()
                outcome = await self._once(endpoint, pdu, reported)
                if isinstance(outcome, Reply):
                    endpoint.answered()
                    return outcome, sent_s, time.monotonic()
                reported = outcome.indication
                if reported == CLOSING:
                    raise NoAnswerError(f"{endpoint.name} was not waited for: the end has come")
                if reported in REFUSALS and reported not in (*TIME_REPORTS, UNKNOWN_ENGINE):
                    if denied is not None:
                        break
                    denied = reported
                    endpoint.meet_anew()
                elif reported not in (*TIME_REPORTS, UNKNOWN_ENGINE):
                    break
            raise refused(endpoint, denied or reported or "")

    async def _once(self, endpoint: Endpoint, pdu: Any, reported: str | None) -> Reply | Report:
        peer = endpoint.peer
        if peer is None:
            raise SilenceError(reported)
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
        deadline = Deadline(sent.outcome, timeout_s)
        try:
            found = await sent.outcome
        finally:
            deadline.cancel()
            self._engine.forget(sent)
        if found is SILENCE:
            endpoint.silent += 1
            if isinstance(endpoint.held, Usm):
                endpoint.meet_anew()  # a replaced switch answers only to its new engine ID
            raise SilenceError(reported)
        return found

    async def _locate(self, endpoint: Endpoint) -> None:
        """Find the address of a host, at first and again after a long silence."""
        if (
            endpoint.peer is not None
            and endpoint.silent % _RESOLVE_AGAIN_AFTER != _RESOLVE_AGAIN_AFTER - 1
        ):
            return
        target = endpoint.target
        try:
            found = await self._addresses(target.host, target.port)
        except OSError as error:
            if endpoint.peer is not None:
                return
            what, check = "not found", "the spelling"
            if isinstance(error, TimeoutError):
                what, check = "not looked up in time", "the name server"
            elif "%" in target.host:
                check = "that this computer has the interface after the %"
            raise NoAnswerError(
                f'{endpoint.name}: the host name "{target.host}" was {what}',
                hint=f"check {check}, or give the address in figures",
            ) from error
        family, _, _, _, address = found[0]
        if endpoint.peer is None or (str(address[0]), int(address[1])) != endpoint.peer.where:
            await self._engine.gate(family)
            endpoint.family = family
            endpoint.peer = Peer(address)  # of IPv6 with the interface, which fe80:: needs

    async def _addresses(self, host: str, port: int) -> list[Any]:
        """Where a host is. Figures never wait behind names that a dead name server holds up."""
        ask = partial(socket.getaddrinfo, host, port, type=socket.SOCK_DGRAM)
        with contextlib.suppress(socket.gaierror):
            return ask(flags=socket.AI_NUMERICHOST)
        found = asyncio.get_running_loop().run_in_executor(self._look_ups, ask)
        return await asyncio.wait_for(found, _LOOK_UP_S)
