"""One echo request and its reply over ICMP: how long it took, or that nothing came.

Source: RFC 792 (echo), RFC 4443 section 4 (echo for IPv6), RFC 1071 (checksum).
"""

from __future__ import annotations

import asyncio
import os
import socket
import struct
import time
from dataclasses import dataclass
from typing import Final

__all__ = ["EchoRefusedError", "Echoes", "open_echoes"]

_REQUEST: Final = {socket.AF_INET: 8, socket.AF_INET6: 128}
_REPLY: Final = {socket.AF_INET: 0, socket.AF_INET6: 129}
_PROTOCOL: Final = {socket.AF_INET: socket.IPPROTO_ICMP, socket.AF_INET6: socket.IPPROTO_ICMPV6}
_HEADER: Final = struct.Struct("!BBHHH")  # type, code, checksum, identifier, sequence
_TOKEN: Final = 8  # octets that tell our replies from others
_IP_MTU_DISCOVER, _PROBE = 10, 3  # linux/in.h: never cut to pieces on the way
_MOST: Final = 65535


class EchoRefusedError(Exception):
    """No echo requests may be sent on this system; the text says what to set."""


@dataclass(frozen=True, slots=True)
class Echoes:
    """A socket to one address. One request at a time; close it in the end."""

    sock: socket.socket
    raw: bool

    async def ask(self, octets: int, sequence: int, deadline_s: float) -> float | None:
        """Milliseconds until the reply to a request with so many octets; None: none came.

        Raises OSError if it could not be sent, as where it is larger than the first hop carries.
        """
        loop = asyncio.get_running_loop()
        token = os.urandom(_TOKEN)
        request = _packet(self.sock.family, token, octets, sequence)
        began_s = time.monotonic()
        await loop.sock_sendall(self.sock, request)
        try:
            async with asyncio.timeout(deadline_s):
                while not self._answers(await loop.sock_recv(self.sock, _MOST), token, octets):
                    pass
        except TimeoutError:
            return None
        return (time.monotonic() - began_s) * 1000

    def _answers(self, data: bytes, token: bytes, octets: int) -> bool:
        """Whether this is the reply to the request with that token, whole."""
        if self.raw and self.sock.family == socket.AF_INET and data:
            data = data[4 * (data[0] & 0x0F) :]  # the IPv4 header before it
        whole = _HEADER.size + max(octets, _TOKEN)
        if len(data) != whole or data[0] != _REPLY[socket.AddressFamily(self.sock.family)]:
            return False
        return data[_HEADER.size : _HEADER.size + _TOKEN] == token

    def close(self) -> None:
        """Close the socket."""
        self.sock.close()


async def open_echoes(address: str) -> Echoes:
    """A socket to that address or name.

    Raises EchoRefusedError where the system allows none, OSError where there is no way to it.
    """
    found = await asyncio.get_running_loop().getaddrinfo(address, None, type=socket.SOCK_DGRAM)
    family, _, _, _, where = found[0]
    sock, raw = _socket(socket.AddressFamily(family))
    try:
        sock.setblocking(False)
        if family == socket.AF_INET:
            sock.setsockopt(socket.IPPROTO_IP, _IP_MTU_DISCOVER, _PROBE)
        sock.connect(where)
    except OSError:
        sock.close()
        raise
    return Echoes(sock, raw)


def _socket(family: socket.AddressFamily) -> tuple[socket.socket, bool]:
    """The kind of socket that needs no right if there is one, else the one that needs it."""
    for kind in (socket.SOCK_DGRAM, socket.SOCK_RAW):
        try:
            return socket.socket(family, kind, _PROTOCOL[family]), kind == socket.SOCK_RAW
        except PermissionError:
            continue
    raise EchoRefusedError(
        "this computer lets programs send no pings: set the sysctl net.ipv4.ping_group_range to "
        '"0 2147483647"'
    )


def _packet(family: int, token: bytes, octets: int, sequence: int) -> bytes:
    kind = _REQUEST[socket.AddressFamily(family)]
    body = token.ljust(octets, b"\x5a")
    identifier = int.from_bytes(token[:2], "big")
    bare = _HEADER.pack(kind, 0, 0, identifier, sequence & 0xFFFF) + body
    return _HEADER.pack(kind, 0, _checksum(bare), identifier, sequence & 0xFFFF) + body


def _checksum(data: bytes) -> int:
    """The Internet checksum of RFC 1071; the system makes its own for IPv6."""
    even = data + b"\0" * (len(data) % 2)
    total: int = sum(struct.unpack(f"!{len(even) // 2}H", even))
    while total >> 16:
        total = (total & 0xFFFF) + (total >> 16)
    return ~total & 0xFFFF
