"""Stretches of time, merged and in order, and what a counter needs to ask of them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator

__all__ = ["Spans"]


class Spans:
    """Stretches [from, to) in UTC epoch seconds."""

    def __init__(self, stretches: Iterable[tuple[float, float]] = ()) -> None:
        merged: list[tuple[float, float]] = []
        for start, end in sorted(stretches):
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
            else:
                merged.append((start, end))
        self._stretches = merged
        self._starts = [start for start, _ in merged]

    def __iter__(self) -> Iterator[tuple[float, float]]:
        return iter(self._stretches)

    def covers(self, time_s: float) -> bool:
        """Whether the time lies in a stretch."""
        at = bisect_right(self._starts, time_s) - 1
        return at >= 0 and time_s < self._stretches[at][1]

    def last_edge(self, time_s: float) -> float | None:
        """When a stretch last began or ended, None if never yet."""
        at = bisect_right(self._starts, time_s) - 1
        if at < 0:
            return None
        start, end = self._stretches[at]
        return end if end <= time_s else start

    def begun(self, from_s: float, to_s: float) -> int:
        """How many stretches began in (from, to]."""
        return bisect_right(self._starts, to_s) - bisect_right(self._starts, from_s)

    def overlap(self, from_s: float, to_s: float) -> float:
        """How many seconds of [from, to) the stretches cover."""
        return sum(max(0.0, min(end, to_s) - max(start, from_s)) for start, end in self._stretches)
