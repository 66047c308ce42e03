"""Repeatable noise: a pure function of seed, stream and time, so that history and live are one.

The generator is the SplitMix64 finaliser (Steele, Lea and Flood, OOPSLA 2014); interpolating
between its values is common practice, no source.
"""

from __future__ import annotations

import zlib
from functools import lru_cache

__all__ = ["Noise"]

_MASK = (1 << 64) - 1


def _mix(number: int) -> int:
    """SplitMix64: 64 well-stirred bits from a 64-bit number."""
    z = (number + 0x9E3779B97F4A7C15) & _MASK
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
    return z ^ (z >> 31)


@lru_cache(maxsize=256)
def _stream(seed: int, name: str) -> int:
    return _mix((seed << 32) ^ zlib.crc32(name.encode()))


@lru_cache(maxsize=4096)
def _knot(stream: int, step: int) -> float:
    return _mix(stream ^ (step & _MASK)) / 2**63 - 1.0


class Noise:
    """All random-looking movement of one station."""

    def __init__(self, seed: int) -> None:
        self._seed = seed

    def smooth(self, name: str, time_s: float, period_s: float) -> float:
        """Slow wandering in -1..1 that turns about every `period_s`."""
        stream = _stream(self._seed, name)
        step, rest = divmod(time_s, period_s)
        left, right = _knot(stream, int(step)), _knot(stream, int(step) + 1)
        share = rest / period_s
        share = share * share * (3 - 2 * share)
        return left + (right - left) * share

    def grain(self, name: str, time_s: float) -> float:
        """Restlessness from second to second: mean 0, standard deviation 1, bounded at ±3.

        The sum of three even variates of ±1 has a variance of 1, and a shape near enough to the
        normal one for a module's noise.
        """
        bits = _mix(_stream(self._seed, name) ^ (int(time_s) & _MASK))
        parts = (bits & 0x1FFFFF, (bits >> 21) & 0x1FFFFF, (bits >> 42) & 0x1FFFFF)
        return sum(parts) / 2**20 - 3.0
