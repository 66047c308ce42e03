"""The level diagram's two axes: dBm to px downward, places along the link in per cent. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.power import Measured, Power
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.optics.units import Dbm

__all__ = [
    "ENTERS",
    "FLOOR",
    "HEIGHT",
    "LAUNCH",
    "LEAVES",
    "LEFT",
    "RECEIVER",
    "RIGHT",
    "LevelScale",
    "level_scale",
    "measured_power",
]

HEIGHT: Final = 236
TOP, BOTTOM, FLOOR = 12, 206, 216
LEFT, LAUNCH, ENTERS, LEAVES, RECEIVER, RIGHT = 11.0, 17.0, 25.0, 76.0, 84.0, 97.0
_LEAST_SPAN_DB: Final = 12.0


@dataclass(frozen=True, slots=True)
class LevelScale:
    """dBm to px."""

    high: float
    low: float

    def y(self, dbm: float) -> float:
        """The height of a power, px from the top; what is out of view stands at the edge."""
        inside = min(self.high, max(self.low, dbm))
        return round(TOP + (self.high - inside) / (self.high - self.low) * (BOTTOM - TOP), 1)

    @property
    def ticks(self) -> range:
        """The round levels in view, dBm."""
        step = 5 if self.high - self.low <= 32 else 10
        return range(math.ceil(self.low / step) * step, math.floor(self.high) + 1, step)


def measured_power(power: Power) -> Dbm | None:
    """The level of a power that was measured."""
    return power.power if isinstance(power, Measured) else None


def level_scale(verdict: DirectionVerdict) -> LevelScale:
    """A scale that shows both levels, both limits and the accuracy of the received level."""
    sent, received = measured_power(verdict.tx), measured_power(verdict.rx)
    marks = (sent, received, verdict.sensitivity, verdict.overload)
    levels = [mark.value for mark in marks if mark is not None] or [-10.0]
    if received is not None:
        levels.append(received.value - verdict.accuracy.value)
    high, low = max(levels) + 2.5, min(levels) - 2.5
    if high - low < _LEAST_SPAN_DB:
        low = high - _LEAST_SPAN_DB
    return LevelScale(high, low)
