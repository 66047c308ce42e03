"""Record time: the one clock of the record. Pure: clock readings come in, times go out.

Record time is a run's offset plus the monotonic clock, in whole milliseconds of UTC, and never
decreases within a file. The clock on the wall only sets the offset:

- it agrees (within TOLERANCE_MS): nothing happens;
- it jumps ahead: the record follows at once, a new epoch says by how much;
- it jumps back: the record goes on as before, untrusted, and if the clock stays there for
  PATIENCE_MS the record runs at half speed until the clock has caught up;
- at a start it reads earlier than the newest row or than the release: it cannot be right. Rows go
  on after the newest one, held under the epoch; once the clock is ahead of them they are dated:
  moved together by the same shift.

Retention never runs untrusted. Source: own design, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

__all__ = ["BUILT_MS", "Change", "Epoch", "Mode", "RecordClock", "record_ms", "start", "watch"]

BUILT_MS: Final = 1_793_491_200_000  # 2026-11-01: no clock that reads earlier can be right
TOLERANCE_MS: Final = 2_000  # what a disciplined clock may be slewed by between two looks
PATIENCE_MS: Final = 3_600_000
LEAST_SHIFT_MS: Final = 1
CATCH_UP_MOST_MS: Final = 86_400_000  # a clock further behind than a day is not set at all


class Mode(StrEnum):
    """How far the time of day can be believed."""

    TRUSTED = "trusted"
    HELD = "held"  # rows wait to be dated
    CATCHING_UP = "catching-up"  # half speed until the clock has caught up


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordClock:
    """The clock of one run. At monotonic `anchor_mono_ms` record time was `anchor_ms`.

    `epoch_start_ms` is the first record time of the running epoch, `since_mono_ms` when the clock
    on the wall was found to be where it is now.
    """

    mode: Mode
    anchor_ms: int
    anchor_mono_ms: int
    epoch_start_ms: int
    since_mono_ms: int

    @property
    def trusted(self) -> bool:
        """Whether the time of day may be relied upon."""
        return self.mode is Mode.TRUSTED


@dataclass(frozen=True, slots=True, kw_only=True)
class Epoch:
    """A row of time_epoch: from `start_ms` on, the clock stood `shift_ms` from record time."""

    start_ms: int
    shift_ms: int
    mode: Mode
    reason: str

    @property
    def trusted(self) -> bool:
        """Whether times under this epoch may be relied upon."""
        return self.mode is Mode.TRUSTED


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What a look at the clock brought. `epoch`: to be recorded.

    `date_by_ms`: the rows from `date_from_ms` to `date_until_ms`, both included, are to be moved
    ahead by so much, before `epoch` is recorded. Rows by the clock of this change are later.
    """

    clock: RecordClock
    epoch: Epoch | None = None
    date_from_ms: int | None = None
    date_until_ms: int = 0
    date_by_ms: int = 0


def record_ms(clock: RecordClock, mono_ms: int) -> int:
    """Record time at a reading of the monotonic clock."""
    passed = max(0, mono_ms - clock.anchor_mono_ms)
    return clock.anchor_ms + (passed // 2 if clock.mode is Mode.CATCHING_UP else passed)


def start(wall_ms: int, mono_ms: int, newest_ms: int | None, *, built_ms: int = BUILT_MS) -> Change:
    """The clock of a run that begins now, over a file whose newest row is `newest_ms`."""
    floor = built_ms if newest_ms is None else max(built_ms, newest_ms + 1)
    trusted = wall_ms >= floor
    begin = wall_ms if trusted else floor
    clock = RecordClock(
        mode=Mode.TRUSTED if trusted else Mode.HELD,
        anchor_ms=begin,
        anchor_mono_ms=mono_ms,
        epoch_start_ms=begin,
        since_mono_ms=mono_ms,
    )
    reason = "start" if trusted else "clock-behind-at-start"
    return Change(
        clock=clock,
        epoch=Epoch(start_ms=begin, shift_ms=wall_ms - begin, mode=clock.mode, reason=reason),
    )


def _begin(clock: RecordClock, mode: Mode, begin_ms: int, mono_ms: int) -> RecordClock:
    return replace(
        clock,
        mode=mode,
        anchor_ms=begin_ms,
        anchor_mono_ms=mono_ms,
        epoch_start_ms=begin_ms,
        since_mono_ms=mono_ms,
    )


def _changed(
    clock: RecordClock, mode: Mode, begin_ms: int, readings: tuple[int, int], reason: str
) -> Change:
    wall_ms, mono_ms = readings
    epoch = Epoch(
        start_ms=begin_ms,
        shift_ms=wall_ms - begin_ms,
        mode=mode,
        reason=reason,
    )
    return Change(clock=_begin(clock, mode, begin_ms, mono_ms), epoch=epoch)


def watch(clock: RecordClock, wall_ms: int, mono_ms: int, *, built_ms: int = BUILT_MS) -> Change:
    """Look at the clock on the wall, about once a second."""
    now_ms = record_ms(clock, mono_ms)
    gap_ms = wall_ms - now_ms
    readings = (wall_ms, mono_ms)
    if clock.mode is Mode.TRUSTED:
        if abs(gap_ms) <= TOLERANCE_MS:
            return Change(clock=clock)
        if gap_ms > 0:
            return _changed(clock, Mode.TRUSTED, wall_ms, readings, "clock-ahead")
        return _changed(clock, Mode.HELD, now_ms + LEAST_SHIFT_MS, readings, "clock-back")
    near_enough = -TOLERANCE_MS if clock.mode is Mode.HELD else 0
    if wall_ms >= built_ms and gap_ms >= near_enough:
        return _believe_again(clock, now_ms, readings)
    waited = mono_ms - clock.since_mono_ms >= PATIENCE_MS
    near = wall_ms >= built_ms and -gap_ms <= CATCH_UP_MOST_MS
    if clock.mode is Mode.HELD and waited and near:
        return _changed(clock, Mode.CATCHING_UP, now_ms, readings, "clock-stays-back")
    return Change(clock=clock)


def _believe_again(clock: RecordClock, now_ms: int, readings: tuple[int, int]) -> Change:
    """The clock is level with the record or ahead: held rows are dated by the difference."""
    wall_ms, _mono_ms = readings
    begin_ms = max(wall_ms, now_ms)
    change = _changed(clock, Mode.TRUSTED, begin_ms, readings, "clock-believed-again")
    if clock.mode is Mode.HELD and wall_ms > now_ms:
        return replace(
            change,
            date_from_ms=clock.epoch_start_ms,
            date_until_ms=now_ms,
            date_by_ms=wall_ms - now_ms,
        )
    return change
