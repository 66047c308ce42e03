"""Findings that do not wait for a window: down, dark, silent, without its module."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from strandkeeper.analysis.conditions import key_of, put
from strandkeeper.analysis.levels import judge_margin, judge_overload
from strandkeeper.analysis.state import EndLive
from strandkeeper.model.block import MISSING, Col, PowerCode
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import Direction, End

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run


def judge_row(run: Run, row: Sequence[int]) -> None:
    """Put or end what this row makes true or no longer true."""
    time = row[Col.TIME]
    live, active = run.live, run.live.active
    down = Severity.URGENT if live.up is False else None
    since = live.up_since_ms if live.up_since_ms != MISSING else time
    put(active, key_of(FindingKind.LINK_DOWN), down, since, time, run.tell)
    for which in (End.A, End.B):
        _judge_end(run, live.ends[which], which, time)
    _judge_first_reading(run, row)


def _judge_end(run: Run, end: EndLive, which: End, time: int) -> None:
    active, tell, limits = run.live.active, run.tell, run.facts.thresholds
    silent = end.misses >= limits.no_answer_misses and (
        end.asked_ms - end.miss_since_ms >= limits.no_answer_s * 1000
    )
    severity = Severity.WARNING if silent else None
    put(active, key_of(FindingKind.NO_ANSWER, end=which), severity, end.miss_since_ms, time, tell)
    dark = Severity.URGENT if end.dark_told and end.answers and end.lit_ever else None
    key = key_of(FindingKind.LIGHT_LOST, Direction.seen_by(which))
    if end.answers is not False:
        put(active, key, dark, end.dark_since_ms, time, tell)
        gone = Severity.URGENT if end.module_gone else None
        put(active, key_of(FindingKind.MODULE_MISSING, end=which), gone, time, time, tell)


def _judge_first_reading(run: Run, row: Sequence[int]) -> None:
    """Margin and overload at the very first reading; later ones wait for their window."""
    end = run.live.ends[row[Col.END]]
    direction = Direction.seen_by(End(row[Col.END]))
    if row[Col.RX_CODE] != PowerCode.MEASURED or end.judged:
        return
    end.judged = True
    facts, active, time = run.facts.direction(direction), run.live.active, row[Col.TIME]
    judge_margin(row[Col.RX], direction, facts, run.facts.thresholds, time, active, run.tell)
    judge_overload(row[Col.RX], direction, facts, time, active, run.tell, errors=False)
