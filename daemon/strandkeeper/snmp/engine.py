"""The library's SNMP engine, one for the life of the process, and one exchange through it.

Only this file and its neighbours pdus.py and gate.py know the library. What it decides by clock is
not relied on: deadlines are the session's, on the monotonic clock. Its own bookkeeping timer, which
follows the wall clock and would stand still after a step back, is driven by the monotonic one here.
"""

from __future__ import annotations

import asyncio
import logging
import socket
from dataclasses import dataclass
from typing import Any, Final

from pyasn1.type import univ  # type: ignore[import-untyped]
from pysnmp.carrier.asyncio.dgram.udp import SNMP_UDP_DOMAIN
from pysnmp.carrier.asyncio.dgram.udp6 import SNMP_UDP6_DOMAIN
from pysnmp.carrier.asyncio.dispatch import AsyncioDispatcher
from pysnmp.entity import config
from pysnmp.entity.engine import SnmpEngine
from pysnmp.error import PySnmpError
from pysnmp.proto.error import StatusInformation

from strandkeeper.snmp.credentials import Credential, Usm
from strandkeeper.snmp.gate import Gate, Gate6, Peer, WriteRefusedError, make_gate
from strandkeeper.snmp.messages import lighten
from strandkeeper.snmp.pdus import READ_TAG_SETS, Reply, reply_of

__all__ = [
    "CLOSING",
    "Engine",
    "MonotonicDispatcher",
    "Opening",
    "Report",
    "Sent",
    "auth_protocol",
    "priv_protocol",
]

log = logging.getLogger(__name__)

CLOSING: Final = "closing"

_TICK_S = 1.0
_KEPT_LONGER_TICKS = 3  # the library forgets a request after the session has, never before

_AUTH = {
    "MD5": config.USM_AUTH_HMAC96_MD5,
    "SHA": config.USM_AUTH_HMAC96_SHA,
    "SHA-224": config.USM_AUTH_HMAC128_SHA224,
    "SHA-256": config.USM_AUTH_HMAC192_SHA256,
    "SHA-384": config.USM_AUTH_HMAC256_SHA384,
    "SHA-512": config.USM_AUTH_HMAC384_SHA512,
}
_PRIV = {
    "DES": config.USM_PRIV_CBC56_DES,
    "3DES": config.USM_PRIV_CBC168_3DES,
    "AES-128": config.USM_PRIV_CFB128_AES,
    "AES-192": config.USM_PRIV_CFB192_AES,
    "AES-256": config.USM_PRIV_CFB256_AES,
    "AES-192-B": config.USM_PRIV_CFB192_AES_BLUMENTHAL,
    "AES-256-B": config.USM_PRIV_CFB256_AES_BLUMENTHAL,
}
_LEVEL = {"noAuthNoPriv": 1, "authNoPriv": 2, "authPriv": 3}


@dataclass(frozen=True, slots=True)
class Report:
    """The agent (or the library) said no; `indication` is the library's word for it."""

    indication: str


@dataclass(frozen=True, slots=True)
class Sent:
    """A request on its way. Whoever holds it must hand it to `Engine.forget` in the end."""

    number: int
    gate: Gate | Gate6
    outcome: asyncio.Future[Reply | Report]


@dataclass(frozen=True, slots=True)
class Opening:
    """A credential as the engine wants it with each message."""

    model: int  # message processing: 0 v1, 1 v2c, 3 v3
    security_model: int
    security_name: Any
    level: int
    context: Any

    @property
    def pdu_version(self) -> int:
        """0 for v1, 1 for v2c and v3, as the library counts PDU kinds."""
        return min(self.model, 1)


class MonotonicDispatcher(AsyncioDispatcher):  # type: ignore[misc]  # the library is untyped
    """The library's dispatcher with its ticks on the clock that never jumps."""

    async def handle_timeout(self) -> None:
        """Tick until cancelled; the library runs this as a task."""
        while True:
            await asyncio.sleep(_TICK_S)
            try:
                self.handle_timer_tick(self.loop.time())
            except Exception:
                log.exception("the SNMP library's housekeeping failed")


class Engine:
    """Sends read requests and turns what comes back into a Reply or a Report."""

    def __init__(self) -> None:
        self._engine: Any = None
        self._gates: dict[int, Gate | Gate6] = {}
        self._domains = {socket.AF_INET: SNMP_UDP_DOMAIN, socket.AF_INET6: SNMP_UDP6_DOMAIN}
        self._communities: dict[str, Any] = {}
        self._master_keys: dict[Usm, tuple[Any, Any]] = {}
        self._enrolled: dict[tuple[bytes, str], Usm] = {}
        self._pending: set[asyncio.Future[Reply | Report]] = set()
        self._text: Any = None
        self._receive_buffer = 0

    async def open(self, receive_buffer: int) -> None:
        """Make the engine and its IPv4 socket; IPv6 is opened when a switch needs it."""
        self._receive_buffer = receive_buffer
        self._engine = SnmpEngine()
        lighten(self._engine)
        (self._text,) = self._engine.get_mib_builder().import_symbols(
            "SNMP-FRAMEWORK-MIB", "SnmpAdminString"
        )
        dispatcher = MonotonicDispatcher()
        dispatcher.set_timer_resolution(_TICK_S)
        self._engine.register_transport_dispatcher(dispatcher)
        await self.gate(socket.AF_INET)

    async def gate(self, family: int) -> Gate | Gate6:
        """The gate of an address family, opened when first wanted."""
        if family not in self._gates:
            kind = socket.AddressFamily(family)
            gate = await make_gate(kind, self._receive_buffer)
            self._engine.transport_dispatcher.register_transport(self._domains[kind], gate)
            self._gates[family] = gate
        return self._gates[family]

    @property
    def gates(self) -> tuple[Gate | Gate6, ...]:
        """The open gates."""
        return tuple(self._gates.values())

    @property
    def under_way(self) -> int:
        """Requests sent and not yet forgotten."""
        return len(self._pending) + sum(len(g.awaited) for g in self._gates.values())

    def close(self) -> None:
        """Close the sockets and stop the library's timer; requests under way end at once."""
        for outcome in self._pending:
            if not outcome.done():
                outcome.set_result(Report(CLOSING))
        if self._engine is not None and self._engine.transport_dispatcher is not None:
            self._engine.close_dispatcher()

    def opening(self, held: Credential) -> Opening:
        """How to open a switch with this credential. One row per community, however many use it."""
        if isinstance(held, Usm):
            level = _LEVEL[held.level]
            return Opening(3, 3, self._text(held.user), level, self._text(held.context))
        if held.text not in self._communities:
            name = f"c{len(self._communities)}"
            config.add_v1_system(self._engine, name, held.text, securityName=name)
            self._communities[held.text] = self._text(name)
        model = 0 if held.version == "1" else 1
        return Opening(model, model + 1, self._communities[held.text], 1, self._text(""))

    def enrol(self, held: Usm, family: int, peer: Peer) -> bool:
        """Set the user up for the engine met at `peer`; True if that engine is known by now.

        Keys are made for each engine from its ID, so that two switches may have one user name with
        different keys.
        """
        domain = self._domains[socket.AddressFamily(family)]
        model = self._engine.message_processing_subsystems[univ.Integer(3)]
        engine_id, _, _ = model.get_peer_engine_info(domain, peer)
        if engine_id is None:
            return False
        key = (bytes(engine_id), held.user)
        if self._enrolled.get(key) != held:
            self._add_user(held, engine_id)
            self._enrolled[key] = held
        return True

    def engine_id(self, family: int, peer: Peer) -> bytes | None:
        """The SNMPv3 engine ID met at `peer`, if any."""
        domain = self._domains[socket.AddressFamily(family)]
        model = self._engine.message_processing_subsystems[univ.Integer(3)]
        engine_id, _, _ = model.get_peer_engine_info(domain, peer)
        return None if engine_id is None else bytes(engine_id)

    def _add_user(self, held: Usm, engine_id: Any) -> None:
        auth, priv = auth_protocol(held), priv_protocol(held)
        if held not in self._master_keys:
            self._master_keys[held] = _master_keys(held, auth, priv)
        auth_key, priv_key = self._master_keys[held]
        config.add_v3_user(
            self._engine,
            held.user,
            auth,
            auth_key,
            priv,
            priv_key,
            securityEngineId=engine_id,
            authKeyType=config.USM_KEY_TYPE_MASTER,
            privKeyType=config.USM_KEY_TYPE_MASTER,
        )

    def send(self, peer: Peer, family: int, opening: Opening, pdu: Any, timeout_s: float) -> Sent:
        """Send one read request. Raises OSError if the system would not send it.

        The outcome never raises: it is a Reply, a Report, or never comes.
        """
        if pdu.tagSet not in READ_TAG_SETS:
            raise WriteRefusedError("only GET, GETNEXT and GETBULK may be sent")
        gate = self._gates[family]
        outcome: asyncio.Future[Reply | Report] = asyncio.get_running_loop().create_future()
        with gate.sending():
            try:
                self._send(peer, family, opening, pdu, timeout_s, outcome)
            except StatusInformation as error:
                outcome.set_result(Report(_indication(error)))
                return Sent(-1, gate, outcome)
            except PySnmpError as error:
                raise OSError(f"could not send: {error}") from error
            sent = Sent(gate.sent_number(), gate, outcome)
            self._pending.add(outcome)
            return sent

    def _send(
        self,
        peer: Peer,
        family: int,
        opening: Opening,
        pdu: Any,
        timeout_s: float,
        outcome: asyncio.Future[Reply | Report],
    ) -> None:
        self._engine.message_dispatcher.send_pdu(
            self._engine,
            self._domains[socket.AddressFamily(family)],
            peer,
            opening.model,
            opening.security_model,
            opening.security_name,
            opening.level,
            None,
            opening.context,
            opening.pdu_version,
            pdu,
            True,
            timeout_s / _TICK_S + _KEPT_LONGER_TICKS,
            _deliver,
            (outcome, opening.pdu_version),
        )

    def forget(self, sent: Sent) -> None:
        """Stop waiting: an answer that comes now is dropped at the gate."""
        sent.gate.awaited.pop(sent.number, None)
        self._pending.discard(sent.outcome)


def auth_protocol(held: Usm) -> Any:
    """The library's name of the user's authentication protocol."""
    return _AUTH[held.auth_protocol] if held.auth_protocol else config.USM_AUTH_NONE


def priv_protocol(held: Usm) -> Any:
    """The library's name of the user's privacy protocol."""
    return _PRIV[held.priv_protocol] if held.priv_protocol else config.USM_PRIV_NONE


def _deliver(*from_library: Any) -> None:
    """Called by the library with what came for one request (its own order of arguments)."""
    *_, pdu, status, _handle, context = from_library
    outcome, pdu_version = context
    if outcome.done():
        return
    if status is None:
        outcome.set_result(reply_of(pdu, pdu_version))
    else:
        outcome.set_result(Report(_indication(status)))


def _indication(status: Any) -> str:
    """The library's name for a report, which its own text form does not give."""
    name = type(status.get("errorIndication", status)).__name__
    return name[:1].lower() + name[1:]


def _master_keys(held: Usm, auth: Any, priv: Any) -> tuple[Any, Any]:
    """Pass phrases hashed once (RFC 3414, A.2): it costs milliseconds, and engines are many."""
    auth_key = config.AUTH_SERVICES[auth].hash_passphrase((held.auth_key or "").encode())
    priv_key = config.PRIV_SERVICES[priv].hash_passphrase(auth, (held.priv_key or "").encode())
    return auth_key, priv_key
