"""The analysis' memory at a start: as stored, or made again from the record."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from strandkeeper.analysis import engine
from strandkeeper.errors import StrandkeeperError
from strandkeeper.jobs.entries import decide
from strandkeeper.model.block import Block
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.mark import Mark
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import PeriodStat
from strandkeeper.store import RecordReader

__all__ = ["Remembered", "rebuilt_state", "stored_state"]

log = logging.getLogger(__name__)

_ROWS_A_BLOCK = 20_000
_MOST_ENTRIES = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """A state, and the periods that closed while rows were judged again to reach it."""

    state: engine.LinkState
    stats: tuple[PeriodStat, ...] = ()


def stored_state(record: RecordReader, facts: LinkFacts) -> Remembered:
    """The state of a link as the daemon left it, brought up to the newest row of the record.

    A state of another version, or one that cannot be read, is made again by judging the record's
    rows from the first.
    """
    data = record.state(facts.name)
    if data is None:
        return rebuilt_state(record, facts)
    try:
        state = engine.decode(data)
    except StrandkeeperError as error:
        log.warning("state rebuilt from the record link=%s why=%s", facts.name, error.message)
        return rebuilt_state(record, facts)
    through = record.state_through(facts.name)
    return _judged(record, facts, state, 0 if through is None else through + 1)


def rebuilt_state(record: RecordReader, facts: LinkFacts) -> Remembered:
    """The state after every row that the record still has of a link, and every act of a person."""
    return _judged(record, facts, engine.initial(facts), 0)


def _judged(
    record: RecordReader, facts: LinkFacts, state: engine.LinkState, from_ms: int
) -> Remembered:
    marks = [m for m in _marks(record, facts) if m.time_ms >= from_ms]
    stats: list[PeriodStat] = []
    for rows in _chunks(record.rows(facts.name, from_ms)):
        due = [m for m in marks if m.time_ms <= rows[-1].time_ms]
        marks = marks[len(due) :]
        state, evaluation = engine.advance(facts, state, Block.from_rows(rows, due))
        stats.extend(evaluation.stats)
    if marks:
        state, evaluation = engine.advance(facts, state, Block.from_rows((), marks))
        stats.extend(evaluation.stats)
    return Remembered(state=state, stats=tuple(stats))


def _marks(record: RecordReader, facts: LinkFacts) -> list[Mark]:
    """What people did to a link, as it was applied, oldest first."""
    only = frozenset({facts.name})
    found = []
    for stored in record.entries(limit=_MOST_ENTRIES):
        if stored.applied_ms is not None:
            decision = decide(stored, only, stored.applied_ms)
            if decision.link == facts.name and decision.mark is not None:
                found.append(decision.mark)
    return sorted(found, key=lambda mark: mark.time_ms)


def _chunks(rows: Iterator[EndRow]) -> Iterator[list[EndRow]]:
    while chunk := list(islice(rows, _ROWS_A_BLOCK)):
        yield chunk
