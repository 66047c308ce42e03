"""Hosts that send more than anybody asked for are not listened to, by the system, until asked.

All switches are heard at one socket, so a host that floods it would push the answers of the others
out of its buffer. What this process throws away has been in that buffer already; a filter of the
socket (Linux, SO_ATTACH_FILTER; the instructions are those of classic BPF, linux/bpf_common.h and
linux/filter.h) throws it away before.
"""

from __future__ import annotations

import logging
import socket
import struct
from array import array
from collections import OrderedDict
from collections.abc import Iterable
from typing import Final

__all__ = ["MOST_A_SECOND", "MOST_BARRED", "Bar"]

log = logging.getLogger(__name__)

MOST_A_SECOND: Final = 500  # datagrams of an agent that nobody waits for; a usual one sends none
_MOST_OF_A_HOST: Final = 2000  # the same of all its ports: several switches may share an address
MOST_BARRED: Final = 64  # senders at once; the first of them is then listened to again

_ATTACH_FILTER, _DETACH_FILTER = 26, 27  # asm-generic/socket.h; the socket module has no name
_LOAD_WORD, _LOAD_HALF = 0x20, 0x28  # BPF_LD|BPF_ABS with BPF_W, BPF_H
_IF_EQUAL, _RETURN = 0x15, 0x06  # BPF_JMP|BPF_JEQ|BPF_K, BPF_RET|BPF_K
_NETWORK_HEADER: Final = -0x100000 % 2**32  # SKF_NET_OFF; without it offsets are in the UDP header
_SOURCE_AT: Final = {  # the address; RFC 791, 3.1; RFC 8200, 3
    socket.AF_INET: _NETWORK_HEADER + 12,
    socket.AF_INET6: _NETWORK_HEADER + 8,
}
_WHOLE: Final = 2**32 - 1


class Bar:
    """Who is barred from one socket: hosts with their port, or with port 0 whatever port it is."""

    def __init__(self, sock: socket.socket) -> None:
        self._socket = sock
        self._second = 0
        self._heard: dict[tuple[str, int], int] = {}
        self._barred: OrderedDict[tuple[str, int], None] = OrderedDict()
        self._told: set[str] = set()

    @property
    def barred(self) -> tuple[tuple[str, int], ...]:
        """Who is not listened to."""
        return tuple(self._barred)

    def unwanted(self, host: str, port: int, now_s: float) -> bool:
        """Count a datagram that nobody waits for; True if that bars its sender from now on.

        `now_s` is monotonic.
        """
        if int(now_s) != self._second:
            self._second = int(now_s)
            self._heard.clear()
        begun = False
        for sender, most in (((host, port), MOST_A_SECOND), ((host, 0), _MOST_OF_A_HOST)):
            self._heard[sender] = self._heard.get(sender, 0) + 1
            if self._heard[sender] > most and sender not in self._barred:
                self._barred[sender] = None
                begun = True
        if begun:
            while len(self._barred) > MOST_BARRED:
                self._barred.popitem(last=False)
            self._tell(host)
            self._attach()
        return begun

    def asked(self, host: str, port: int) -> None:
        """Listen again to one that is asked something now, with its count begun anew."""
        senders = ((host, port), (host, 0))
        for sender in senders:
            self._heard.pop(sender, None)
        if any(sender in self._barred for sender in senders):
            for sender in senders:
                self._barred.pop(sender, None)
            self._attach()

    def _tell(self, host: str) -> None:
        if len(self._told) < MOST_BARRED and host not in self._told:
            self._told.add(host)
            log.warning(
                "%s sent more than %d datagrams in a second that nobody had asked for: "
                "whenever it does, it is not listened to until it is asked again",
                host,
                MOST_A_SECOND,
            )

    def _attach(self) -> None:
        try:
            if not self._barred:
                self._socket.setsockopt(socket.SOL_SOCKET, _DETACH_FILTER, 0)
                return
            program = _program(self._socket.family, self._barred)
            held = array("B", program)  # until the call is over
            fprog = struct.pack("HP", len(program) // 8, held.buffer_info()[0])
            self._socket.setsockopt(socket.SOL_SOCKET, _ATTACH_FILTER, fprog)
        except OSError as error:
            log.warning("the system filters no datagrams of a flood: %s", error.strerror or error)


def _program(family: int, senders: Iterable[tuple[str, int]]) -> bytes:
    """Instructions that let everything pass but what these hosts send from these ports."""
    kind = socket.AddressFamily(family)
    program = b""
    for host, port in senders:
        words = [word for (word,) in struct.iter_unpack("!I", socket.inet_pton(kind, host))]
        tests = [(_LOAD_WORD, _SOURCE_AT[kind] + 4 * n, word) for n, word in enumerate(words)]
        if port:
            tests.append((_LOAD_HALF, 0, port))
        for n, (load, at, wanted) in enumerate(tests):
            past = 2 * (len(tests) - 1 - n) + 1  # somebody else: past the other tests and the end
            program += _instruction(load, at) + _instruction(_IF_EQUAL, wanted, past)
        program += _instruction(_RETURN, 0)
    return program + _instruction(_RETURN, _WHOLE)


def _instruction(code: int, figure: int, if_not: int = 0) -> bytes:
    """One struct sock_filter: how many instructions to leave out if the comparison fails."""
    return struct.pack("=HBBI", code, 0, if_not, figure)
