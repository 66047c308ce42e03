"""Until when an answer is waited for, on the clock that never jumps."""

from __future__ import annotations

import asyncio
from typing import Final

from strandkeeper.snmp.engine import Report
from strandkeeper.snmp.pdus import Reply

__all__ = ["SILENCE", "Deadline"]

SILENCE: Final = Report("silence")

_LATE_LOOK_S = 0.05


class Deadline:
    """Puts SILENCE into an outcome that has not come in time.

    Time in which nobody here could look does not count: on a computer that is overloaded the answer
    may lie in the socket while its deadline passes. It is then waited for once more, as long as the
    look was late, at most `timeout_s`.
    """

    def __init__(self, outcome: asyncio.Future[Reply | Report], timeout_s: float) -> None:
        self._loop = asyncio.get_running_loop()
        self._outcome = outcome
        self._timeout_s = timeout_s
        self._due_s = self._loop.time() + timeout_s
        self._last = False
        self._timer = self._loop.call_at(self._due_s, self._look)

    def cancel(self) -> None:
        """It is no longer waited for."""
        self._timer.cancel()

    def _look(self) -> None:
        late_s = self._loop.time() - self._due_s
        if late_s > _LATE_LOOK_S and not self._last:
            self._last = True
            self._timer = self._loop.call_later(min(late_s, self._timeout_s), self._look)
        elif not self._outcome.done():
            self._outcome.set_result(SILENCE)
