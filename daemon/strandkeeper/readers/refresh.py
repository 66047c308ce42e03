"""How often a switch renews its light figures, learned from how often any of them moves."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable
from statistics import median

__all__ = ["RefreshClock"]

_REMEMBERED = 9
_ENOUGH = 4


class RefreshClock:
    """Fed with every optics answer; all figures of a switch are renewed together, as agents do.

    Own design, no source.
    """

    def __init__(self) -> None:
        self._seen: Hashable = None
        self._moved_s: float | None = None
        self._gaps: deque[float] = deque(maxlen=_REMEMBERED)

    def feed(self, at_s: float, figures: Hashable) -> None:
        """Take the figures of one answer and its monotonic time, in s."""
        if figures == self._seen:
            return
        if self._moved_s is not None:
            self._gaps.append(at_s - self._moved_s)
        self._seen, self._moved_s = figures, at_s

    @property
    def interval_s(self) -> float | None:
        """The usual time between two changes, in s; None until enough were seen."""
        return float(median(self._gaps)) if len(self._gaps) >= _ENOUGH else None
