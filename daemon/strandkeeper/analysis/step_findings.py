"""What is told of steps: one that stands, several that belong together, damage going on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from strandkeeper.analysis import baseline, handling, steps
from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.analysis.slow import DirectionSlow, StepNote, Window
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import EventKind

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run


TOLD_MDB: Final = 500
WEEK_MS: Final = 7 * 86_400_000
MONTH_MS: Final = 30 * 86_400_000
REPEATED: Final = 3
DAMAGE_STEPS: Final = 3
STAYS: Final = 0.7  # damage does not heal by day
APART_MS: Final = 6 * 3_600_000


def judge(run: Run, slow: DirectionSlow, window: Window, direction: Direction) -> None:
    """Let a window count for the step detector, and put or end what it makes true."""
    settled = steps.take(slow, window)
    now_ms = window.start_ms + WINDOW_MS
    if settled is not None:
        _tell_step(run, settled, direction)
        if settled.size < TOLD_MDB and handling.near(run.live, settled):
            _replugged(run, slow, direction, now_ms)
    idle = not slow.steps and not slow.excursions and slow.watch.found_ms == MISSING
    if idle and key_of(FindingKind.STEP, direction) not in run.live.active:
        return
    active = run.live.active
    explained = _stands(run, direction, FindingKind.DAILY_SWING, FindingKind.FREEZING)
    repeated = len(recent_jumps(slow, now_ms)) >= REPEATED and not explained
    key = key_of(FindingKind.REPEATED_STEPS, direction)
    since = min(recent_jumps(slow, now_ms), default=now_ms)
    severity = Severity.WARNING if repeated else None
    put(active, key, severity, since, now_ms, run.tell)
    _judge_standing(run, slow, direction, now_ms, one_of_many=repeated or explained)
    _judge_damage(run, now_ms)


def _stands(run: Run, direction: Direction, *kinds: FindingKind) -> bool:
    """Whether one of these is a warning now."""
    told = [run.live.active.get(key_of(kind, direction)) for kind in kinds]
    return any(each is not None and each[1] >= Severity.WARNING for each in told)


def _tell_step(run: Run, step: StepNote, direction: Direction) -> None:
    """Put a step on record, unless it is one of many that a finding tells together."""
    together = (FindingKind.REPEATED_STEPS, FindingKind.DAILY_SWING, FindingKind.FREEZING)
    if _stands(run, direction, *together):
        return
    run.tell(
        step.time_ms,
        EventKind.STEP,
        direction=direction,
        value=step.size / 1000,
        uncertainty_ms=(step.high_ms - step.low_ms) // 2,
    )


def _replugged(run: Run, slow: DirectionSlow, direction: Direction, now_ms: int) -> None:
    """A plug that was pulled and pushed home scatters: the level since then is what is good.

    A jump that is told (worse by half a decibel or more) is held against the old level all the
    same: whoever left it so is to hear of it.
    """
    if baseline.break_baseline(slow, now_ms):
        run.tell(now_ms, EventKind.BASELINE_BROKEN, direction=direction, text="re-plugged")


def recent_jumps(slow: DirectionSlow, now_ms: int) -> list[int]:
    """Times of the last week's jumps of either sign, those that went back by themselves too."""
    times = [step.time_ms for step in slow.steps] + slow.excursions
    return sorted(time for time in times if time > now_ms - WEEK_MS)


def _judge_standing(
    run: Run, slow: DirectionSlow, direction: Direction, now_ms: int, *, one_of_many: bool
) -> None:
    """A step is true until a new baseline, or until the loss is back where it was."""
    watch = slow.watch
    guess = watch.guess if watch.found_ms != MISSING else 0
    since = slow.baseline.since_ms if slow.baseline else slow.first_ms
    standing = [step for step in slow.steps if step.time_ms > since]
    total = sum(step.size for step in standing) + guess
    severity = None
    if not one_of_many and (standing or guess) and abs(total) >= steps.LEAST_MDB:
        severity = Severity.WARNING if total >= TOLD_MDB else Severity.NOTE
    began = standing[-1].time_ms if standing else watch.guess_ms
    key = key_of(FindingKind.STEP, direction)
    put(run.live.active, key, severity, began, now_ms, run.tell)


def _judge_damage(run: Run, now_ms: int) -> None:
    """Several strands that lose in steps, over days: damage in progress."""
    if run.facts.strands == 1:
        return
    worse = [_worse(slow, now_ms) for slow in run.slow.directions]
    apart = _occasions(sorted(step.time_ms for steps_of in worse for step in steps_of))
    lasting = [_lasting(slow, now_ms) for slow in run.slow.directions]
    each = [sum(step.size for step in steps_of) for steps_of in worse]
    stays = all(left >= STAYS * up for left, up in zip(lasting, each, strict=True))
    on = apart >= DAMAGE_STEPS and min(each) >= TOLD_MDB and stays
    key = key_of(FindingKind.DAMAGE_IN_PROGRESS)
    put(run.live.active, key, Severity.URGENT if on else None, now_ms, now_ms, run.tell)


def _worse(slow: DirectionSlow, now_ms: int) -> list[StepNote]:
    return [s for s in slow.steps if s.size > 0 and s.time_ms > now_ms - MONTH_MS]


def _lasting(slow: DirectionSlow, now_ms: int) -> int:
    """What all of a month's steps together have left [0.001 dB]."""
    return sum(s.size for s in slow.steps if s.time_ms > now_ms - MONTH_MS)


def _occasions(times: list[int]) -> int:
    """How many of the times are well apart from the one before."""
    apart = 0
    last = MISSING
    for time in times:
        if time - last > APART_MS:
            apart += 1
            last = time
    return apart
