"""What became of a direction, in the model's types: compensation, drift, steps, the one word."""

from __future__ import annotations

from strandkeeper.analysis.conditions import Active, key_of
from strandkeeper.analysis.slow import DirectionSlow, StepNote
from strandkeeper.analysis.swing import swing_of
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import Drift, Interval, Step, Trend
from strandkeeper.optics.units import Db

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


def daily_swing(slow: DirectionSlow) -> Db | None:
    """Typical range of a day beyond the noise, None before three days are in."""
    return Db(swing_of(slow) / 1000) if len(slow.days) >= 3 else None


def word(slow: DirectionSlow, direction: Direction, active: Active) -> Trend:
    """The one word for the first screen: the most alarming that is so."""
    told = active.get(key_of(FindingKind.STEP, direction))
    if key_of(FindingKind.FLICKER, direction) in active:
        return Trend.FLICKERING
    repeated = key_of(FindingKind.REPEATED_STEPS, direction) in active
    if repeated or (told is not None and told[1] >= Severity.WARNING):
        return Trend.JUMPED
    if slow.trend.reported and slow.trend.value > 0:
        return Trend.CREEPING
    swings = (FindingKind.DAILY_SWING, FindingKind.FREEZING)
    if any(key_of(kind, direction) in active for kind in swings):
        return Trend.SWINGS
    return Trend.STEADY if len(slow.days) >= 1 else Trend.TOO_EARLY
