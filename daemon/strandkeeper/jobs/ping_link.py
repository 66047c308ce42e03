"""Pings across one link, small and large, one at a time, and what the newest twenty brought."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from strandkeeper.jobs.echo import Echoes, EchoRefusedError, open_echoes
from strandkeeper.model.ping import Pings, PingTally

__all__ = ["LinkPinger"]

SMALL = 56  # octets
DEADLINE_S = 1.0
EVERY_S = 20.0
_KEPT = 20


class LinkPinger:
    """Pings one address. A small and a large one a round, the second once the first has ended."""

    def __init__(self, address: str, octets: int, clock: Callable[[], float]) -> None:
        self._address = address
        self._octets = octets
        self._clock = clock
        self._due_s = float("-inf")
        self._sequence = 0
        self._small: deque[float | None] = deque(maxlen=_KEPT)
        self._large: deque[float | None] = deque(maxlen=_KEPT)
        self._trouble = ""

    async def pings(self) -> Pings:
        """What is known now, after another round if one is due. Raises nothing."""
        if self._clock() >= self._due_s:
            self._due_s = self._clock() + EVERY_S
            await self._round()
        return Pings(
            address=self._address,
            octets=self._octets,
            small=_tally(self._small),
            large=_tally(self._large),
            trouble=self._trouble,
        )

    async def _round(self) -> None:
        try:
            echoes = await open_echoes(self._address)
        except EchoRefusedError as refused:
            self._trouble = str(refused)
            return
        except OSError as error:
            self._trouble = f"there is no way to it ({error.strerror})"
            return
        self._trouble = ""
        try:
            self._small.append(await self._one(echoes, SMALL))
            self._large.append(await self._one(echoes, self._octets))
        finally:
            echoes.close()

    async def _one(self, echoes: Echoes, octets: int) -> float | None:
        """One ping; what cannot be sent, for want of a way or of room, is lost."""
        self._sequence += 1
        try:
            return await echoes.ask(octets, self._sequence, DEADLINE_S)
        except OSError:
            return None


def _tally(kept: deque[float | None]) -> PingTally:
    came = sum(ms is not None for ms in kept)
    return PingTally(sent=len(kept), came=came, ms=kept[-1] if kept else None)
