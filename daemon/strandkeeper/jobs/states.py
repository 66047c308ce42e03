"""The analysis' memory at a start: as stored, or made again from the record."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain, islice

from strandkeeper.analysis import engine
from strandkeeper.errors import StrandkeeperError
from strandkeeper.jobs.entries import decide
from strandkeeper.jobs.prove_rework import begun_anew
from strandkeeper.model.block import Block
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.mark import Mark
from strandkeeper.model.names import LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.store import RecordReader, rework

__all__ = ["Remembered", "rebuilt_state", "stored_state", "stored_states"]

log = logging.getLogger(__name__)

_ROWS_A_BLOCK = 20_000
_MOST_ENTRIES = 10_000
_MOST_ROWS = 4_000_000  # judged again at one start: no poll is made meanwhile
_AS_DEAR = 400  # a row of so many other links that is passed over costs as much as one judged


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """A state, and the periods that closed while rows were judged again to reach it."""

    state: engine.LinkState
    stats: tuple[PeriodStat, ...] = ()


def stored_states(
    record: RecordReader, links: Sequence[LinkFacts], optics_s: int
) -> dict[LinkName, Remembered]:
    """Every link's state as the daemon left it, brought up to the newest row of the record.

    A state of another version, or one that cannot be read, is made again from the rows. `optics_s`:
    how often a row is kept, which tells how far back that can be done in a start's time: 30 days of
    22 links, 4 hours of a thousand, whose rows lie among those of all.
    """
    since_ms = 0
    newest_ms = record.newest_ms()
    if newest_ms is not None and links:
        rows = _MOST_ROWS * _AS_DEAR // (_AS_DEAR + len(links))
        since_ms = newest_ms - rows // (2 * len(links)) * optics_s * 1000
    marks = _marks(record, links)
    return {f.name: _stored(record, f, marks[f.name], since_ms) for f in links}


def stored_state(record: RecordReader, facts: LinkFacts, since_ms: int = 0) -> Remembered:
    """One link's state as the daemon left it, or made again by judging its rows from `since_ms` on.

    Rows that came after a stored state are judged too.
    """
    return _stored(record, facts, _marks(record, [facts])[facts.name], since_ms)


def rebuilt_state(record: RecordReader, facts: LinkFacts) -> Remembered:
    """The state after every row that the record still has of a link, and every act of a person.

    A baseline from before those rows is taken over from the verdict on record.
    """
    return _rebuilt(record, facts, _marks(record, [facts])[facts.name], 0)


def _stored(
    record: RecordReader, facts: LinkFacts, marks: Sequence[Mark], since_ms: int
) -> Remembered:
    data = record.state(facts.name)
    if data is None:
        return _rebuilt(record, facts, marks, since_ms)
    try:
        state = engine.decode(data)
    except StrandkeeperError as error:
        log.warning("state rebuilt from the record link=%s why=%s", facts.name, error.message)
        return _rebuilt(record, facts, marks, since_ms)
    through = record.state_through(facts.name)
    from_ms = 0 if through is None else through + 1
    return _judged(facts, state, record.rows(facts.name, from_ms), marks, from_ms)


def _rebuilt(
    record: RecordReader, facts: LinkFacts, marks: Sequence[Mark], since_ms: int
) -> Remembered:
    rows = record.rows(facts.name, since_ms)
    first = next(rows, None)
    from_ms = since_ms if first is None else first.time_ms
    state = engine.initial(facts, _verdict(record, facts), from_ms)
    every = rows if first is None else chain((first,), rows)
    return _judged(facts, state, every, marks, from_ms)


def _verdict(record: RecordReader, facts: LinkFacts) -> LinkVerdict | None:
    try:
        return record.verdict(facts.name)
    except StrandkeeperError as error:
        log.warning("verdict not read link=%s why=%s", facts.name, error.message)
        return None


def _judged(
    facts: LinkFacts,
    state: engine.LinkState,
    every: Iterator[EndRow],
    marks: Sequence[Mark],
    from_ms: int,
) -> Remembered:
    marks = [m for m in marks if m.time_ms >= from_ms]
    stats: list[PeriodStat] = []
    for rows in _chunks(every):
        due = [m for m in marks if m.time_ms <= rows[-1].time_ms]
        marks = marks[len(due) :]
        state, evaluation = engine.advance(facts, state, Block.from_rows(rows, due))
        stats.extend(evaluation.stats)
    if marks:
        state, evaluation = engine.advance(facts, state, Block.from_rows((), marks))
        stats.extend(evaluation.stats)
    return Remembered(state=state, stats=tuple(stats))


def _marks(record: RecordReader, links: Sequence[LinkFacts]) -> dict[LinkName, list[Mark]]:
    """What people did to each link, as it was applied, oldest first."""
    found: dict[LinkName, list[Mark]] = {facts.name: [] for facts in links}
    for stored in record.entries(kind=EntryKind.BASELINE, limit=_MOST_ENTRIES):
        if stored.applied_ms is not None:
            decision = decide(stored, frozenset(found), stored.applied_ms)
            if decision.link is not None and decision.mark is not None:
                found[decision.link].append(decision.mark)
    for work in record.ask(partial(rework.reworks, limit=_MOST_ENTRIES)):
        if work.link in found and work.baseline_ms is not None:
            found[work.link].append(begun_anew(work, work.baseline_ms))
    for marks in found.values():
        marks.sort(key=lambda mark: mark.time_ms)
    return found


def _chunks(rows: Iterator[EndRow]) -> Iterator[list[EndRow]]:
    while chunk := list(islice(rows, _ROWS_A_BLOCK)):
        yield chunk
