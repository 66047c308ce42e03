"""What a live view remembers of one direction: start, best, the last minute. No clock."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.model.power import Measured, NoLight, Power

__all__ = ["Track"]

KEPT: Final = 60
HALF_MINUTE_MS: Final = 30_000


@dataclass(slots=True)
class Track:
    """Fed with every reading; powers in dBm, times in ms."""

    first: float | None = None
    best: float | None = None
    now: float | None = None
    dark: bool = False
    changed_ms: int | None = None
    sent: float | None = None
    readings: deque[tuple[int, float | None]] = field(default_factory=lambda: deque(maxlen=KEPT))

    def take(self, time_ms: int, rx: Power, tx: Power) -> None:
        """One reading; the same time again is none."""
        if self.readings and self.readings[-1][0] >= time_ms:
            return
        before = self.now
        self.dark = isinstance(rx, NoLight)
        self.now = rx.power.value if isinstance(rx, Measured) else None
        self.sent = tx.power.value if isinstance(tx, Measured) else None
        self.readings.append((time_ms, self.now))
        if self.now != before or self.changed_ms is None:
            self.changed_ms = time_ms
        if self.now is not None:
            self.first = self.now if self.first is None else self.first
            self.best = self.now if self.best is None else max(self.best, self.now)

    @property
    def change(self) -> float | None:
        """Since the start, positive is more light [dB]."""
        return None if self.now is None or self.first is None else self.now - self.first

    @property
    def peak(self) -> float | None:
        """Between the extremes of the last half minute [dB]."""
        if not self.readings:
            return None
        since = self.readings[-1][0] - HALF_MINUTE_MS
        values = [v for t, v in self.readings if v is not None and t >= since]
        return max(values) - min(values) if len(values) > 1 else None
