"""An agent that answers rightly, amid thousands of datagrams that nobody asked for.

    python -m tests.strandkeeper.snmp.flooding HOST SECONDS [MOST]

Its port is chosen by the system and printed; then it answers from a small switch's table, and sends
on unasked until the seconds are over or it has sent MOST. At the end it prints how many it sent.
"""

from __future__ import annotations

import contextlib
import itertools
import socket
import sys
import time
from collections.abc import Iterator

from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent

AT_ONCE = 2000
BROKEN = 3  # of the kinds of junk


def junk(answer: bytes, asked: ber.Asked) -> tuple[bytes, ...]:
    """A late duplicate, an answer to no question, 64 kB of nonsense, 64 kB under the right number.

    The last has a null for its error-status and thousands of varbinds.
    """
    pair = ber.tlv(ber.SEQUENCE, ber.tlv(ber.OID_TAG, b"\x2b\x06") + b"\x02\x01\x01")
    number, index = (ber.tlv(c.tag, c.body) for c in map(ber.integer, (asked.number, 0)))
    pdu = number + ber.tlv(ber.NULL, b"") + index + ber.tlv(ber.SEQUENCE, pair * 7000)
    head = ber.tlv(ber.INTEGER, b"\x01") + ber.tlv(ber.OCTETS, asked.community)
    broken = ber.tlv(ber.SEQUENCE, head + ber.tlv(ber.RESPONSE, pdu))
    wrong = ber.response(asked, [], number=asked.number + 100_000)
    return (answer, wrong, b"\x30\x83\x00\xfa\x00" + bytes(64_000), broken)


class Flooder:
    """Sends as fast as it can; what the system refuses is not sent."""

    def __init__(self, host: str) -> None:
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.bind((host, 0))
        self.socket.setblocking(False)
        self._agent = Agent(SmallSwitch().table)
        self._kinds: tuple[bytes, ...] = ()
        self._source = ("", 0)
        self.sent = 0

    def run(self, seconds: float, most: int) -> None:
        """Answer and flood."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for data, source in self._waiting():
                asked = ber.read_request(data)
                answer = self._agent._answer(asked)
                assert answer is not None
                self._kinds, self._source = junk(answer, asked), source
                for datagram in (self._kinds[BROKEN], self._kinds[BROKEN], answer):
                    self.socket.sendto(datagram, source)
            for kind in itertools.islice(itertools.cycle(self._kinds), AT_ONCE):
                if self.sent < most:
                    with contextlib.suppress(OSError):
                        self.socket.sendto(kind, self._source)
                        self.sent += 1
            time.sleep(0.02)  # so that it does not take the processor from those it floods

    def _waiting(self) -> Iterator[tuple[bytes, tuple[str, int]]]:
        with contextlib.suppress(OSError):
            while True:
                yield self.socket.recvfrom(65_535)


def main() -> None:
    """Flood."""
    host, seconds = sys.argv[1:3]
    flooder = Flooder(host)
    print(flooder.socket.getsockname()[1], flush=True)
    flooder.run(float(seconds), int(sys.argv[3]) if len(sys.argv) > 3 else 10**9)
    print(flooder.sent, flush=True)


if __name__ == "__main__":
    main()
