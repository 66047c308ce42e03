"""What a closed day is good for: the weather learnt anew, slopes, drift and swing judged.

It is done in parts, one at each window that follows, one direction after the other, so that no
single poll has to wait for all of it. The windows are fixed by the record, so the parts are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from strandkeeper.analysis import steps, swing, trends
from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.analysis.slow import DirectionSlow
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import Direction

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run

PARTS: Final = 3 + len(trends.WINDOWS)  # weather, each slope, the decision, the swing


def begin(slow: DirectionSlow, direction: Direction) -> None:
    """A day was closed: its work is due, the second direction's after the first's."""
    slow.due = PARTS if direction is Direction.AB else 2 * PARTS


def go_on(run: Run, slow: DirectionSlow, direction: Direction, now_ms: int) -> None:
    """Do the part that is due at this window."""
    if slow.due <= PARTS:
        _do(run, slow, direction, PARTS - slow.due, now_ms)
    slow.due -= 1


def finish(run: Run, slow: DirectionSlow, direction: Direction, now_ms: int) -> None:
    """Do all that is still due: the next day is over, for want of windows in it."""
    while slow.due:
        go_on(run, slow, direction, now_ms)


def _do(run: Run, slow: DirectionSlow, direction: Direction, part: int, now_ms: int) -> None:
    if part == 0:
        before = slow.weather
        trends.learn_weather(slow)
        steps.recompensate(slow, before)
    elif part <= len(trends.WINDOWS):
        trends.find_slope(slow, trends.WINDOWS[part - 1])
    elif part < PARTS - 1:
        trends.decide(slow)
        _judge_drift(run, slow, direction, now_ms)
    else:
        limits = run.facts.thresholds
        swing.judge_swing(slow, direction, limits, now_ms, run.live.active, run.tell)


def _judge_drift(run: Run, slow: DirectionSlow, direction: Direction, now_ms: int) -> None:
    severity = Severity.WARNING if slow.trend.reported and slow.trend.value > 0 else None
    if slow.trend.reported and slow.trend.value <= 0:
        severity = Severity.NOTE
    key = key_of(FindingKind.DRIFT, direction)
    put(run.live.active, key, severity, now_ms, now_ms, run.tell)
