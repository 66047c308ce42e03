"""What became of a direction, in the model's types: compensation, drift, steps, the one word."""

from __future__ import annotations

from strandkeeper.analysis.slow import DirectionSlow, StepNote
from strandkeeper.model.verdict import Drift, Interval, Step

__all__ = ["coefficients", "drift", "steps"]

MOVED_MDB = 300  # beyond the tracking error of a laser's monitor


def coefficients(slow: DirectionSlow) -> tuple[float, float] | None:
    """Compensation in use at sender and receiver [dB/°C], None where none is used."""
    if not slow.weather[5]:
        return None
    return slow.weather[0] / 10, slow.weather[1] / 10


def drift(slow: DirectionSlow) -> Drift | None:
    """The slope of the window that reports it or of the longest one, None before there is any."""
    note = slow.trend
    if not note.window_days:
        return None
    low, high = note.value - note.half, note.value + note.half
    return Drift(
        slope=Interval(value=note.value / 1000, low=low / 1000, high=high / 1000),
        window_days=note.window_days,
        reported=note.reported,
        season_excluded=note.season_excluded,
    )


def _step(note: StepNote) -> Step:
    size = Interval(value=note.size / 1000, low=note.size_low / 1000, high=note.size_high / 1000)
    return Step(
        time_ms=note.time_ms,
        time_low_ms=note.low_ms,
        time_high_ms=note.high_ms,
        size=size,
        transmitter_moved=abs(note.tx_change) >= MOVED_MDB,
    )


def steps(slow: DirectionSlow) -> tuple[Step, ...]:
    """Settled steps, the oldest first."""
    return tuple(_step(note) for note in slow.steps[-32:])
