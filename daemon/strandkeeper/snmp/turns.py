"""So many at a time, first come, first served; whoever only waits does not keep others waiting."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager

__all__ = ["Turns"]


class Turns:
    """Places for what costs processor time and room in a socket.

    A place is held for `longest_s` at most: whatever has gone on for longer waits for a switch that
    is slow or dead, which costs nothing but patience, and a whole site of those must not hold up
    the rest.
    """

    def __init__(self, at_once: int, longest_s: float) -> None:
        self._places = asyncio.Semaphore(at_once)
        self._longest_s = longest_s

    @asynccontextmanager
    async def turn(self) -> AsyncIterator[None]:
        """Wait for a place and hold it, at most `longest_s` of it to the exclusion of others."""
        await self._places.acquire()
        place = ExitStack()
        place.callback(self._places.release)
        too_long = asyncio.get_running_loop().call_later(self._longest_s, place.close)
        try:
            yield
        finally:
            too_long.cancel()
            place.close()  # a second time does nothing
