"""Listens for what switches send by themselves: traps and informs of v1, v2c and v3.

A datagram is looked at in this order, and counted where it ends: its source must be a switch, no
faster than the rate allowed; it must be SNMP; it must claim that switch's own credential; the
library then decodes it and, for v3, proves it. An inform is answered, which is a response and no
request: nothing but answers ever leaves this socket.

What comes faster than the rate is held back, the newest of each port alone, and passed on when
there is room again: of a storm the last state is never lost.
"""

from __future__ import annotations

import asyncio
import hmac
import logging
import socket
from collections import Counter, OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from pysnmp.carrier.asyncio.dgram import udp, udp6
from pysnmp.carrier.asyncio.dgram.udp import UdpAsyncioTransport
from pysnmp.carrier.asyncio.dgram.udp6 import Udp6AsyncioTransport
from pysnmp.entity import config
from pysnmp.entity.engine import SnmpEngine
from pysnmp.entity.rfc3413 import ntfrcv
from pysnmp.proto.rfc1902 import OctetString

from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid, Value
from strandkeeper.model.trap import Trap
from strandkeeper.snmp.credentials import Community, Credential, Usm
from strandkeeper.snmp.engine import MonotonicDispatcher, auth_protocol, priv_protocol
from strandkeeper.snmp.pdus import plain
from strandkeeper.snmp.peek import glance
from strandkeeper.snmp.trap_decode import Claim, claim_of, port_key, trap_of

__all__ = ["TrapListener", "TrapSource"]

log = logging.getLogger(__name__)

_ENGINES_A_SWITCH: Final = 8
_REMEMBERED: Final = 256
_HELD_BACK: Final = 64  # ports of one switch
SNMP_TRAP_ADDRESS: Final = (1, 3, 6, 1, 6, 3, 18, 1, 3, 0)  # RFC 3584, section 3.1
_BURST_S: Final = 5.0
_RESPONSE, _REPORT = 0xA2, 0xA8  # RFC 3416, section 3
_V3: Final = 3
_IPV4_OCTETS: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapSource:
    """One switch: the addresses it may send from, and its credential."""

    switch: SwitchName
    addresses: frozenset[str]
    held: Credential


@dataclass(slots=True)
class _Known:
    """What is remembered of one switch."""

    source: TrapSource
    budget: float
    filled_s: float
    engines: set[bytes] = field(default_factory=set)
    seen: OrderedDict[tuple[tuple[Oid, Value], ...], None] = field(default_factory=OrderedDict)
    held: OrderedDict[bytes, tuple[bytes, tuple[str, int]]] = field(default_factory=OrderedDict)
    release: asyncio.TimerHandle | None = None


class _Listening:
    """What both address families share; mixed in before the library's transport."""

    transport: asyncio.DatagramTransport | None

    def __init__(self, loop: asyncio.AbstractEventLoop, allows: Callable[..., bool]) -> None:
        super().__init__(loop=loop)  # type: ignore[call-arg]
        self._allows = allows
        self._answering = False
        self.damaged = 0

    def datagram_received(self, data: bytes, address: tuple[str, int]) -> None:
        """Only what may be a notification of a known switch is passed to the library."""
        if self._allows(data, address):
            self.deliver(data, address)

    def deliver(self, data: bytes, address: tuple[str, int]) -> None:
        """Pass it to the library."""
        self._answering = True
        try:
            self._callback_function(self, address, data)  # type: ignore[attr-defined]
        except Exception as error:  # noqa: BLE001  the decoder raises anything on damaged octets
            self.damaged += 1
            log.debug("damaged notification from=%s error=%s", address[0], type(error).__name__)
        finally:
            self._answering = False

    def send_message(self, message: bytes, address: Any) -> None:
        """Called by the library; lets an answer to the datagram in hand out, and nothing else."""
        seen = glance(message)
        if not self._answering or seen is None or self.transport is None:
            return
        if seen.version == _V3 or seen.pdu_tag in (_RESPONSE, _REPORT):
            self.transport.sendto(message, tuple(address)[:2])


class _Listener(_Listening, UdpAsyncioTransport):  # type: ignore[misc]  # the library is untyped
    """Over IPv4."""


class _Listener6(_Listening, Udp6AsyncioTransport):  # type: ignore[misc]  # the library is untyped
    """Over IPv6."""


class TrapListener:
    """`heard` is called with each notification that passed; `counts` says what became of all."""

    def __init__(
        self,
        address: tuple[str, int],
        sources: Iterable[TrapSource],
        heard: Callable[[Trap], None],
        *,
        rate_per_s: float = 10.0,
    ) -> None:
        self._address = address
        self._heard = heard
        self._rate = rate_per_s
        self.counts: Counter[str] = Counter()
        self._known = [_Known(source, rate_per_s * _BURST_S, 0.0) for source in sources]
        self._engine: Any = None
        self._gate: _Listener | _Listener6 | None = None
        self._current: Sequence[_Known] = ()
        self._users: dict[str, Usm] = {}

    async def start(self) -> None:
        """Open the port. Raises OSError if it cannot be had."""
        loop = asyncio.get_running_loop()
        family = socket.AF_INET6 if ":" in self._address[0] else socket.AF_INET
        sock = socket.socket(family, socket.SOCK_DGRAM)
        try:
            sock.setblocking(False)
            sock.bind(self._address)
        except OSError:
            sock.close()
            raise
        self._engine = SnmpEngine()
        self._engine.register_transport_dispatcher(MonotonicDispatcher())
        six = family == socket.AF_INET6
        gate: _Listener | _Listener6
        gate = _Listener6(loop, self._allows) if six else _Listener(loop, self._allows)
        self._gate = gate
        await loop.create_datagram_endpoint(lambda: gate, sock=sock)
        domain = udp6.SNMP_UDP6_DOMAIN if six else udp.SNMP_UDP_DOMAIN
        self._engine.transport_dispatcher.register_transport(domain, self._gate)
        self._set_up_credentials()
        ntfrcv.NotificationReceiver(self._engine, self._take)

    @property
    def port(self) -> int:
        """The port it listens on."""
        if self._gate is None or self._gate.transport is None:
            return self._address[1]
        return int(self._gate.transport.get_extra_info("sockname")[1])

    def close(self) -> None:
        """Close the port."""
        for known in self._known:
            if known.release is not None:
                known.release.cancel()
        if self._engine is not None and self._engine.transport_dispatcher is not None:
            self._engine.close_dispatcher()

    def totals(self) -> Mapping[str, int]:
        """What became of every datagram so far."""
        damaged = 0 if self._gate is None else self._gate.damaged
        passed = self.counts["passed-on"] - damaged - self.counts["taken"] - self.counts["again"]
        return {
            **{name: self.counts[name] for name in _OUTCOMES},
            "malformed": self.counts["malformed"] + damaged,
            "not-proven": max(0, passed),
        }

    def _set_up_credentials(self) -> None:
        communities: set[str] = set()
        for known in self._known:
            held = known.source.held
            if isinstance(held, Community):
                if held.text not in communities:
                    name = f"c{len(communities)}"
                    config.add_v1_system(self._engine, name, held.text, securityName=name)
                    communities.add(held.text)
            elif self._users.setdefault(held.user, held) == held:
                self._add_user(held, None)
            else:
                log.warning(
                    "informs of this user are not taken: another switch has it with other keys "
                    "switch=%s user=%s",
                    known.source.switch,
                    held.user,
                )

    def _add_user(self, held: Usm, engine_id: bytes | None) -> None:
        """For informs (our own engine), or for the traps of one engine of the switch."""
        more = {} if engine_id is None else {"securityEngineId": OctetString(engine_id)}
        config.add_v3_user(
            self._engine,
            held.user,
            auth_protocol(held),
            held.auth_key,
            priv_protocol(held),
            held.priv_key,
            **more,
        )

    def _allows(self, data: bytes, address: tuple[str, int]) -> bool:
        """Whether the library may see it; counted under the reason if not."""
        source = str(address[0]).partition("%")[0].removeprefix("::ffff:")
        here = [k for k in self._known if source in k.source.addresses]
        outcome = self._judged(here, data, address)
        if outcome != "held":
            self.counts[outcome] += 1
        return outcome == "passed-on"

    def _judged(self, here: Sequence[_Known], data: bytes, address: tuple[str, int]) -> str:
        if not here:
            return "stranger"
        claim = claim_of(data)
        if claim is None:
            return "malformed"
        fitting = [k for k in here if _matches(claim, k.source.held)]
        if not fitting:
            return "wrong-credential"
        known = fitting[0]
        if not self._within_rate(known):
            return self._hold(known, data, address)
        if claim.version == _V3 and not self._enrolled(known, claim):
            return "wrong-credential"
        self._current = fitting
        return "passed-on"

    def _hold(self, known: _Known, data: bytes, address: tuple[str, int]) -> str:
        """Keep it until there is room, in the place of an earlier one of the same port."""
        key = port_key(data)
        overtaken = known.held.pop(key, None) is not None
        if len(known.held) >= _HELD_BACK:
            known.held.popitem(last=False)
            overtaken = True
        known.held[key] = (data, address)
        self._release_later(known)
        return "too-many" if overtaken else "held"

    def _release_later(self, known: _Known) -> None:
        if known.release is None:
            loop = asyncio.get_running_loop()
            known.release = loop.call_later(1 / self._rate, self._release, known)

    def _release(self, known: _Known) -> None:
        """Pass on the one that has waited longest, and the others in their turn."""
        known.release = None
        if self._gate is None or not known.held:
            return
        _, (data, address) = known.held.popitem(last=False)
        if known.held:
            self._release_later(known)
        if self._allows(data, address):
            self._gate.deliver(data, address)

    def _within_rate(self, known: _Known) -> bool:
        now_s = asyncio.get_running_loop().time()
        refill = (now_s - known.filled_s) * self._rate
        known.budget = min(self._rate * _BURST_S, known.budget + refill)
        known.filled_s = now_s
        if known.budget < 1:
            return False
        known.budget -= 1
        return True

    def _enrolled(self, known: _Known, claim: Claim) -> bool:
        """Make the user's keys for the engine that a trap names; a few engines a switch at most.

        A trap's sender is the authority on itself (RFC 3414, 3.1): only who holds the keys can
        have made it, whatever engine it names.
        """
        held = known.source.held
        if not isinstance(held, Usm) or not claim.engine_id or claim.engine_id in known.engines:
            return True
        if claim.engine_id == bytes(self._engine.snmpEngineID):
            return True
        if len(known.engines) >= _ENGINES_A_SWITCH:
            return False
        known.engines.add(claim.engine_id)
        self._add_user(held, claim.engine_id)
        return True

    def _take(self, *from_library: Any) -> None:
        """Called by the library with a notification that is what it claims to be."""
        variables = [(tuple(oid), plain(value)) for oid, value in from_library[4]]
        if not self._current:
            return
        known = _origin(self._current, dict(variables).get(SNMP_TRAP_ADDRESS))
        if _is_again(known, tuple(variables)):
            self.counts["again"] += 1
            return
        self.counts["taken"] += 1
        self._heard(trap_of(known.source.switch, variables))


_OUTCOMES: Final = ("taken", "again", "stranger", "wrong-credential", "too-many")


def _is_again(known: _Known, variables: tuple[tuple[Oid, Value], ...]) -> bool:
    """Retransmitted, or sent again by somebody: the switch's clock in it makes each one single."""
    if variables in known.seen:
        return True
    known.seen[variables] = None
    if len(known.seen) > _REMEMBERED:
        known.seen.popitem(last=False)
    return False


def _origin(fitting: Sequence[_Known], address: Value | None) -> _Known:
    """Of several switches behind one relay the one whose address the notification itself gives.

    A v1 trap names it as its agent-addr, which the library turns into snmpTrapAddress.
    """
    if isinstance(address, bytes) and len(address) == _IPV4_OCTETS:
        text = ".".join(str(octet) for octet in address)
        return next((k for k in fitting if text in k.source.addresses), fitting[0])
    return fitting[0]


def _matches(claim: Claim, held: Credential) -> bool:
    """Whether it claims this credential at its full strength."""
    if isinstance(held, Community):
        return claim.version != _V3 and hmac.compare_digest(claim.community, held.text.encode())
    if claim.version != _V3:
        return False
    if not claim.user and not claim.authenticated:
        return True  # the sender of an inform asks for our engine first (RFC 3414, section 4)
    if not hmac.compare_digest(claim.user, held.user.encode()):
        return False
    if held.auth_protocol is not None and not claim.authenticated:
        return False
    return held.priv_protocol is None or claim.private
