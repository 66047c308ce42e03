"""When a direction was last good: made after an hour, firm after a week, broken by new parts."""

from __future__ import annotations

from typing import Final

from strandkeeper.analysis.robust import middle, spread_of
from strandkeeper.analysis.slow import BaselineNote, DayRow, DirectionSlow, HoldNote, Window
from strandkeeper.model.block import MISSING
from strandkeeper.model.verdict import Baseline

FIRST_WINDOWS: Final = 12  # one hour
FIRM_DAYS: Final = 7
FIRM_SWING_CC: Final = 1000  # 10 °C


def take_first(slow: DirectionSlow, window: Window) -> bool:
    """Collect the first good hour; True when a provisional baseline was made of it.

    Good: light, and no damaged frame in the hour.
    """
    if slow.baseline is not None or not window.light or window.start_ms < slow.first_ms:
        return False
    if window.errors not in (MISSING, 0):
        slow.first = []
        return False
    if slow.by_loss is not None and slow.by_loss != window.by_loss:
        slow.first = []
    slow.by_loss = window.by_loss
    slow.first = [*slow.first, window.middle]
    if len(slow.first) < FIRST_WINDOWS:
        return False
    slow.baseline = BaselineNote(
        level=middle(slow.first),
        spread=spread_of(slow.first),
        since_ms=window.start_ms,
        by_loss=window.by_loss,
    )
    slow.first = []
    return True


def firm_up(slow: DirectionSlow, day: DayRow) -> bool:
    """Let a closed day count; True when that made the baseline firm.

    The level follows the median of the days until seven are in, unless a lasting step fell among
    them: the level from before it is then kept. Firm needs 10 °C of module swing as well.
    """
    note = slow.baseline
    if (
        note is None
        or note.firm
        or day.level == MISSING
        or day.start_ms < note.since_ms - 86_400_000
        or day.start_ms < slow.first_ms  # a day in which the baseline broke is two days
    ):
        return False
    _swing(note, day)
    if len(note.days) < FIRM_DAYS:
        note.days = [*note.days, day.level]
        clean = not any(step.time_ms >= note.since_ms for step in slow.steps)
        if clean and not note.by_owner:
            note.level, note.spread = middle(note.days), max(note.spread, day.spread)
    swung = note.warmest != MISSING and note.warmest - note.coldest >= FIRM_SWING_CC
    note.firm = len(note.days) >= FIRM_DAYS and swung
    return note.firm


def _swing(note: BaselineNote, day: DayRow) -> None:
    for temp in (day.receiver_low, day.receiver_high):
        if temp == MISSING:
            continue
        note.coldest = temp if note.coldest == MISSING else min(note.coldest, temp)
        note.warmest = temp if note.warmest == MISSING else max(note.warmest, temp)


def take_over(slow: DirectionSlow, was: Baseline, *, by_loss: bool) -> None:
    """Go on from the baseline of a verdict, as it stands: nothing else of its time is known."""
    level = round(was.loss.value * 1000)
    slow.by_loss = by_loss
    slow.baseline = BaselineNote(
        level=level,
        spread=round(was.spread.value * 1000),
        since_ms=was.since_ms,
        firm=was.firm,
        by_owner=was.by_owner,
        by_loss=by_loss,
        days=[level] * FIRM_DAYS,
    )


def break_baseline(slow: DirectionSlow, from_ms: int) -> bool:
    """Forget the baseline: the next good hour after `from_ms` makes a new one. True if it had.

    The step detector begins anew as well: what was before is no measure for what comes after.
    """
    had = slow.baseline is not None
    slow.baseline, slow.first, slow.first_ms = None, [], from_ms
    slow.by_loss, slow.added = None, MISSING
    watch = slow.watch
    watch.recent, slow.ring = [], []
    watch.found_ms, watch.guess_ms, watch.guess = MISSING, MISSING, 0
    slow.holds = [HoldNote(), HoldNote(), HoldNote()]
    return had


def own_baseline(slow: DirectionSlow, at_ms: int) -> bool:
    """Take the level of the last hour as good, because the owner says so. False: no readings."""
    levels = [w.middle for w in slow.hour if w.light and w.by_loss == slow.by_loss]
    if not levels and slow.hours and slow.hours[-1].level != MISSING:
        levels = [slow.hours[-1].level]
    if not levels or slow.by_loss is None:
        return False
    slow.baseline = BaselineNote(
        level=middle(levels),
        spread=spread_of(levels),
        since_ms=at_ms,
        by_owner=True,
        by_loss=slow.by_loss,
    )
    slow.holds = [HoldNote(), HoldNote(), HoldNote()]
    return True
