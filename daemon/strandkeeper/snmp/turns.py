"""So many at a time, first come, first served; whoever only waits does not keep others waiting."""

from __future__ import annotations

import asyncio
import math
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Final

__all__ = ["Turns", "wanted_s"]

_SCHEDSTAT: Final = Path("/proc/thread-self/schedstat")  # ns on the processor, ns waiting for it


def wanted_s() -> float:
    """Processor time that this thread has had or waited for, s; only had, where no more is told."""
    try:
        had, waited, _ = _SCHEDSTAT.read_text().split()
    except (OSError, ValueError):
        return time.thread_time()
    return (int(had) + int(waited)) / 1e9


class Turns:
    """Places for what costs processor time and room in a socket.

    A place is held for `longest_s` at most: whatever has gone on for longer waits for a switch that
    is slow or dead, which costs nothing but patience, and a whole site of those must not hold up
    the rest. But as long as this thread wants more than the share `busy` of a processor, it is we
    who are slow, and the place is held on: else a slow computer would give up every place and do
    everything at once.
    """

    def __init__(self, at_once: int, longest_s: float, busy: float = math.inf) -> None:
        self._places = asyncio.Semaphore(at_once)
        self._longest_s = longest_s
        self._busy = busy

    @asynccontextmanager
    async def turn(self) -> AsyncIterator[None]:
        """Wait for a place and hold it, `longest_s` of it to the exclusion of others."""
        await self._places.acquire()
        place = _Place(self._places, self._longest_s, self._busy)
        try:
            yield
        finally:
            place.give_up()


class _Place:
    """One place that is held; given up by itself in time."""

    def __init__(self, places: asyncio.Semaphore, longest_s: float, busy: float) -> None:
        self._places = places
        self._longest_s = longest_s
        self._busy = busy
        self._held = True
        self._wait()

    def _wait(self) -> None:
        loop = asyncio.get_running_loop()
        before_s = 0.0 if self._busy == math.inf else wanted_s()
        self._timer = loop.call_later(self._longest_s, self._too_long, loop.time(), before_s)

    def _too_long(self, since_s: float, before_s: float) -> None:
        lasted_s = asyncio.get_running_loop().time() - since_s
        if self._busy != math.inf and wanted_s() - before_s > self._busy * lasted_s:
            self._wait()
        else:
            self.give_up()

    def give_up(self) -> None:
        """Let the next one in; a second time does nothing."""
        self._timer.cancel()
        if self._held:
            self._held = False
            self._places.release()
