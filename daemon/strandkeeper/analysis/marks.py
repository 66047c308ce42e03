"""What a person did, taking effect on the state."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strandkeeper.analysis import baseline
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import EventKind

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run


def apply(run: Run, mark: Mark) -> None:
    """Let one act take effect: the owner sets a baseline, finished rework breaks it."""
    for number, direction in enumerate((Direction.AB, Direction.BA)):
        if mark.direction not in (None, direction):
            continue
        slow = run.slow.directions[number]
        if mark.kind is MarkKind.BASELINE:
            if baseline.own_baseline(slow, mark.time_ms) and slow.baseline is not None:
                value = slow.baseline.level / 1000
                run.tell(mark.time_ms, EventKind.BASELINE_SET, direction=direction, value=value)
        elif mark.kind is MarkKind.REWORK_FINISH and baseline.break_baseline(slow, mark.time_ms):
            run.tell(mark.time_ms, EventKind.BASELINE_BROKEN, direction=direction, text="rework")
