"""Whether an end reports at all, and whether what it reports is alive."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.analysis.slow import EndSlow, Window
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import End

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run

MUTE_WINDOWS: Final = 3
FROZEN_WINDOWS: Final = 288  # a day
MOVED_CC: Final = 300  # a temperature that moves by 3 °C moves a live reading's last digit
FINE_MDB: Final = 50  # a coarser reading may stand still honestly


def judge(run: Run, end: EndSlow, which: End, seen: Window | None, now_ms: int) -> None:
    """Judge one end by a window in which it answered; `seen` is the light it measured."""
    mute = seen is None or not (seen.light or seen.dark)
    end.mute_windows = min(MUTE_WINDOWS, end.mute_windows + 1) if mute else 0
    live = run.live.ends[which]
    severity = None
    if end.mute_windows >= MUTE_WINDOWS:
        severity = Severity.WARNING if live.lit_ever else Severity.NOTE
    key = key_of(FindingKind.NO_READINGS, end=which)
    put(run.live.active, key, severity, now_ms, now_ms, run.tell)
    if seen is not None and seen.light:
        _judge_frozen(run, end, which, seen, now_ms)


def _judge_frozen(run: Run, end: EndSlow, which: End, seen: Window, now_ms: int) -> None:
    power, windows, low, high = end.frozen
    same = seen.peak == 0 and seen.rx == power and end.temp != MISSING
    if same:
        end.frozen = (power, windows + 1, min(low, end.temp), max(high, end.temp))
    else:
        end.frozen = (seen.rx, 0, end.temp, end.temp)
    _, windows, low, high = end.frozen
    fine = run.slow.directions[1 - which].grain <= FINE_MDB
    frozen = fine and windows >= FROZEN_WINDOWS and high - low >= MOVED_CC
    key = key_of(FindingKind.FROZEN_FIGURE, end=which)
    put(run.live.active, key, Severity.NOTE if frozen else None, now_ms, now_ms, run.tell)
