"""How many switches are walked at a time, so that walks never make the others' polls late.

A walk is two dozen requests one after the other, each the cost of a poll. When a thousand switches
are walked at once, at the start or after the power of a whole site was cut, the polls of those that
are ready would stand in one line with all of that. A walk therefore waits for its turn; first come,
first served.

A switch that is slow to answer costs no processor time, only patience: a walk that has lasted
`longest_s` keeps going, but no longer keeps the next one waiting.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager

__all__ = ["AT_ONCE", "LONGEST_S", "WalkTurns"]

AT_ONCE = 16
LONGEST_S = 1.0


class WalkTurns:
    """Turns for all the walks of one client."""

    def __init__(self, at_once: int = AT_ONCE, longest_s: float = LONGEST_S) -> None:
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
