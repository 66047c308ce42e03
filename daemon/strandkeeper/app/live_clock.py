"""The two clocks of this machine, read for the record clock that decides."""

from __future__ import annotations

import time

from strandkeeper.store.record_time import Change, record_ms, start, watch

__all__ = ["LiveClock"]


def _wall_ms() -> int:
    return time.time_ns() // 1_000_000


def _mono_ms() -> int:
    return time.monotonic_ns() // 1_000_000


class LiveClock:
    """Record time now. `look` once a second; what it returns is for the store."""

    def __init__(self, newest_ms: int | None) -> None:
        self.first = start(_wall_ms(), _mono_ms(), newest_ms)
        self._clock = self.first.clock

    def now_ms(self) -> int:
        """Record time in ms of UTC; never decreases."""
        return record_ms(self._clock, _mono_ms())

    @property
    def trusted(self) -> bool:
        """Whether the time of day may be relied upon."""
        return self._clock.trusted

    def look(self) -> Change:
        """Compare with the wall clock and follow it as the record clock decides."""
        change = watch(self._clock, _wall_ms(), _mono_ms())
        self._clock = change.clock
        return change
