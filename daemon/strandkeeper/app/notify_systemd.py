"""Tell the service manager that the daemon is ready, alive, or ending.

Source: sd_notify(3), "Standalone Implementations" (datagrams to NOTIFY_SOCKET), and
sd_watchdog_enabled(3) (WATCHDOG_USEC, WATCHDOG_PID). Outside a service manager nothing is sent.
"""

from __future__ import annotations

import logging
import os
import socket
from collections.abc import Mapping

__all__ = ["ServiceManager", "is_alive"]

log = logging.getLogger(__name__)

_STALLED_S = 30.0
_NO_POLL_ENDED_S = 120.0  # every poll has deadlines far below it


def is_alive(now_s: float, ticked_s: float, poll_ended_s: float) -> bool:
    """Whether the tick runs and polls come to an end (`poll_ended_s`: or none is under way).

    A switch that is silent ends its polls, too. A disk that hangs does not count: a restart would
    not mend it, and would lose the readings that wait in memory.
    """
    return now_s - ticked_s < _STALLED_S and now_s - poll_ended_s < _NO_POLL_ENDED_S


class ServiceManager:
    """`beat` is called from the tick itself, so that a tick that stands still sends nothing."""

    def __init__(self, environment: Mapping[str, str] | None = None) -> None:
        given = os.environ if environment is None else environment
        self._address = given.get("NOTIFY_SOCKET", "")
        self._watchdog_s = _watchdog_s(given) if self._address else None
        self._beaten_s: float | None = None

    def ready(self) -> None:
        """Everything runs."""
        self._send("READY=1")

    def stopping(self) -> None:
        """The end was asked for; what waits is being written."""
        self._send("STOPPING=1")

    def beat(self, now_s: float, *, alive: bool) -> None:
        """A sign of life, at most four in a watchdog's time; none while not `alive`."""
        if self._watchdog_s is None or not alive:
            return
        if self._beaten_s is None or now_s - self._beaten_s >= self._watchdog_s / 4:
            self._beaten_s = now_s
            self._send("WATCHDOG=1")

    def _send(self, text: str) -> None:
        """Never waits and never raises: a manager that does not listen must not stop the polls."""
        if not self._address:
            return
        address = self._address
        if address.startswith("@"):  # an abstract name
            address = "\0" + address[1:]
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as to:
                to.setblocking(False)
                to.sendto(text.encode(), address)
        except OSError as error:
            log.warning("the service manager was not told what=%s why=%s", text, error.strerror)


def _watchdog_s(given: Mapping[str, str]) -> float | None:
    """How long it waits for a sign of life, in s; None if it does not watch this process."""
    if given.get("WATCHDOG_PID", str(os.getpid())) != str(os.getpid()):
        return None
    try:
        microseconds = int(given.get("WATCHDOG_USEC", "0"))
    except ValueError:
        return None
    return microseconds / 1e6 if microseconds > 0 else None
