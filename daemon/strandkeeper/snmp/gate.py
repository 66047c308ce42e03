"""The one way in and out: only our own read requests leave, only awaited answers enter.

The library takes an answer from any address with the right number in it; the gate holds, for each
number sent and still awaited, the address it was sent to, and drops everything else before it is
decoded. Of one question no more than a few datagrams are decoded, and who sends without end is
barred (flood.py). It also holds the promise that nothing is ever written to a switch: a message
that is not a GET, GETNEXT or GETBULK does not leave.
"""

from __future__ import annotations

import asyncio
import logging
import socket
from collections.abc import Iterator
from contextlib import contextmanager

from pysnmp.carrier.asyncio.dgram.udp import UdpAsyncioTransport, UdpTransportAddress
from pysnmp.carrier.asyncio.dgram.udp6 import Udp6AsyncioTransport

from strandkeeper.snmp.flood import Bar
from strandkeeper.snmp.pdus import LARGEST_ODD
from strandkeeper.snmp.peek import glance

__all__ = ["MOST_DECODED", "Gate", "Peer", "WriteRefusedError", "make_gate"]

log = logging.getLogger(__name__)

READ_TAGS = frozenset({0xA0, 0xA1, 0xA5})  # GET, GETNEXT, GETBULK (RFC 3416, section 3)
_V1, _V3 = 0, 3
MOST_DECODED = 4  # datagrams of one question: a report or an answer, doubled or damaged on its way


class WriteRefusedError(RuntimeError):
    """Something tried to send what is not a read request: a bug of ours, never a switch's fault."""


class Peer(UdpTransportAddress):  # type: ignore[misc]  # the library is untyped
    """One acquaintance with one agent. Equal to nothing but itself.

    The library keeps what it learned of an agent's SNMPv3 engine under its address; a new Peer for
    the same address therefore starts afresh, which is how a replaced switch is met.
    """

    def __init__(self, _address: tuple[str | int, ...]) -> None:
        self.stranger: str | None = None
        self.decoded = 0
        self.flooded = False

    def __eq__(self, other: object) -> bool:
        return self is other

    def __ne__(self, other: object) -> bool:
        return self is not other

    __hash__ = object.__hash__

    @property
    def where(self) -> tuple[str, int]:
        """Host without zone, and port."""
        return (str(self[0]).partition("%")[0], int(self[1]))


class _Gated:
    """What both address families share; mixed in before the library's transport."""

    transport: asyncio.DatagramTransport | None

    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        super().__init__(loop=loop)  # type: ignore[call-arg]
        self.awaited: dict[int, Peer] = {}
        self.dropped = 0
        self.damaged = 0
        self.receive_buffer = 0
        self.bar: Bar | None = None
        self._sending = False
        self._sent: int | None = None
        self._send_error: OSError | None = None

    @contextmanager
    def sending(self) -> Iterator[None]:
        """Within it the library may send one message of ours; outside it nothing leaves."""
        self._sending, self._sent, self._send_error = True, None, None
        try:
            yield
        finally:
            self._sending = False

    def sent_number(self) -> int:
        """The number of the message just sent. Raises OSError if the system refused to send it."""
        if self._send_error is not None:
            raise self._send_error
        if self._sent is None:
            raise RuntimeError("the library sent nothing")
        return self._sent

    def send_message(self, message: bytes, peer: object) -> None:
        """Called by the library; lets read requests of ours out and nothing else."""
        seen = glance(message)
        if not self._sending or not isinstance(peer, Peer):
            return  # the library's own reply to something it was sent: it has nothing to say
        if seen is None or (seen.version != _V3 and seen.pdu_tag not in READ_TAGS):
            raise WriteRefusedError("only GET, GETNEXT and GETBULK may be sent")
        if seen.number in self.awaited:
            raise RuntimeError(f"message number {seen.number} is still in use")
        self._sent = seen.number
        self.awaited[seen.number] = peer
        peer.decoded = 0
        if self.transport is None or self.transport.is_closing():
            self._send_error = OSError("the socket is closed")
            return
        if self.bar is not None:
            self.bar.asked(*peer.where)
        self.transport.sendto(message, tuple(peer))

    def error_received(self, exc: Exception) -> None:
        """The system refused to send, or an ICMP message came."""
        if self._sending and isinstance(exc, OSError):
            self._send_error = exc

    def datagram_received(self, data: bytes, address: tuple[str, int]) -> None:
        """An answer is passed on only if its number is awaited from that very address."""
        seen = glance(data)
        peer = None if seen is None else self.awaited.get(seen.number)
        source = (str(address[0]).partition("%")[0], int(address[1]))
        if peer is not None and source != peer.where:
            peer.stranger = f"{source[0]} port {source[1]}"
            peer = None
        if seen is None or peer is None or peer.decoded >= MOST_DECODED:
            self._drop(source)
            return
        peer.decoded += 1
        if seen.version == _V1 and len(data) > LARGEST_ODD:
            self.damaged += 1  # of v1 the library makes objects, whatever it is
            return
        try:
            self._callback_function(self, peer, data)  # type: ignore[attr-defined]
        except Exception as error:  # noqa: BLE001  # the decoder raises anything on damaged octets
            self.damaged += 1
            log.debug("damaged answer from=%s error=%s", source[0], type(error).__name__)

    def _drop(self, source: tuple[str, int]) -> None:
        self.dropped += 1
        now_s = asyncio.get_running_loop().time()
        if self.bar is not None and self.bar.unwanted(*source, now_s):
            for peer in self.awaited.values():
                peer.flooded |= peer.where[0] == source[0]


class Gate(_Gated, UdpAsyncioTransport):  # type: ignore[misc]  # the library is untyped
    """The gate over IPv4."""


class Gate6(_Gated, Udp6AsyncioTransport):  # type: ignore[misc]  # the library is untyped
    """The gate over IPv6."""


async def make_gate(family: socket.AddressFamily, receive_buffer: int) -> Gate | Gate6:
    """An open gate whose socket holds as many answers as the system grants.

    The usual buffer holds about 90 answers; a burst beyond that is lost without a word.
    """
    loop = asyncio.get_running_loop()
    gate = Gate(loop) if family == socket.AF_INET else Gate6(loop)
    sock = socket.socket(family, socket.SOCK_DGRAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive_buffer)
    if family == socket.AF_INET6:
        # IPv4 has a gate of its own, and the bar reads but one kind of header
        sock.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
    sock.setblocking(False)
    sock.bind(("", 0))
    gate.bar = Bar(sock)
    gate.receive_buffer = sock.getsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF)
    await loop.create_datagram_endpoint(lambda: gate, sock=sock)
    return gate
