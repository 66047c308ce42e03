"""History in and out: a file judged as if it had been polled, the record written as text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice

from strandkeeper.analysis import engine
from strandkeeper.errors import InputError
from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.states import stored_state
from strandkeeper.model.block import Block
from strandkeeper.model.link import Link, LinkFacts
from strandkeeper.model.reading import EndRow
from strandkeeper.model.settings import Settings
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, LinkVerdict
from strandkeeper.readers.history_csv import HistoryWriter
from strandkeeper.store import Batch, RecordReader, RecordWriter

__all__ = ["ImportReport", "export_lines", "import_rows"]

ROWS_A_BLOCK = 20_000
LEAST_GAP_MS = 90_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportReport:
    """What an import brought. `judged_on`: the link's verdict now follows from these rows."""

    rows: int
    from_ms: int
    to_ms: int
    events: int
    judged_on: bool
    verdict: LinkVerdict


@dataclass(slots=True)
class _Judging:
    """The state after the rows so far, and everything that the analysis made of them."""

    facts: LinkFacts
    state: engine.LinkState
    verdict: LinkVerdict | None = None
    events: list[Event] = field(default_factory=list)
    stats: list[PeriodStat] = field(default_factory=list)

    def take(self, rows: list[EndRow]) -> None:
        self.state, evaluation = engine.advance(self.facts, self.state, Block.from_rows(rows))
        self.verdict = evaluation.verdict
        self.events.extend(evaluation.events)
        self.stats.extend(evaluation.stats)

    def batch(self) -> Batch:
        verdicts = () if self.verdict is None else (self.verdict,)
        states = {self.facts.name: engine.encode(self.state)}
        return Batch(verdicts=verdicts, states=states, events=self.events, stats=self.stats)


class _Spacing:
    """How far apart the rows of an end mostly are: the spacing that covers half of the time."""

    def __init__(self) -> None:
        self._last = [-1, -1]
        self._times: Counter[int] = Counter()

    def take(self, rows: list[EndRow]) -> None:
        for row in rows:
            before = self._last[row.end]
            if before >= 0:
                self._times[row.time_ms - before] += 1
            self._last[row.end] = row.time_ms

    def gap_ms(self) -> int:
        """How long a state may stand for the time before it: one and a half spacings."""
        left = sum(spacing * count for spacing, count in self._times.items()) / 2
        for spacing in sorted(self._times):
            left -= spacing * self._times[spacing]
            if left <= 0:
                return max(LEAST_GAP_MS, spacing * 3 // 2)
        return LEAST_GAP_MS


def import_rows(
    settings: Settings,
    link: Link,
    rows: Iterable[EndRow],
    record: tuple[RecordWriter, RecordReader],
    progress: Callable[[int], None] = lambda _rows: None,
) -> ImportReport:
    """Bring rows of a link into the record and judge them; all of it or nothing.

    `rows` go by time. The judgement goes on from the stored state if the record ends before them.
    If the record goes on after them, their events and statistics are kept and the verdict stays.
    Raises InputError without rows, StoreError if the record has rows in that time already, and
    whatever `rows` raises.
    """
    writer, reader = record
    chunks = _chunks(rows)
    first = next(chunks, None)
    if first is None:
        raise InputError("the file has a header and no rows", hint="Nothing was brought in.")
    judging = _begin(link_facts(link, settings), reader, first[0].time_ms)
    spacing = _Spacing()
    bringing = writer.begin_import(link.name)
    done = 0
    try:
        for chunk in _again(first, chunks):
            judging.take(chunk)
            spacing.take(chunk)
            bringing.add(chunk)
            done += len(chunk)
            progress(done)
        brought = bringing.finish(judging.batch(), gap_ms=spacing.gap_ms())
    finally:
        bringing.abandon()
    assert judging.verdict is not None
    return ImportReport(
        rows=brought.rows,
        from_ms=brought.from_ms,
        to_ms=brought.to_ms,
        events=len(judging.events),
        judged_on=brought.newest,
        verdict=judging.verdict,
    )


def _begin(facts: LinkFacts, reader: RecordReader, first_ms: int) -> _Judging:
    latest = [row.time_ms for row in reader.latest(facts.name).values()]
    goes_on = bool(latest) and max(latest) < first_ms
    state = stored_state(reader, facts).state if goes_on else engine.initial(facts)
    return _Judging(facts=facts, state=state)


def _chunks(rows: Iterable[EndRow]) -> Iterator[list[EndRow]]:
    iterator = iter(rows)
    while chunk := list(islice(iterator, ROWS_A_BLOCK)):
        yield chunk


def _again(first: list[EndRow], rest: Iterator[list[EndRow]]) -> Iterator[list[EndRow]]:
    yield first
    yield from rest


def export_lines(record: RecordReader, link: Link, from_ms: int, to_ms: int) -> Iterator[str]:
    """The history of a link as CSV lines without line ends, the header first."""
    writer = HistoryWriter()
    yield writer.header
    for row in record.recorded_rows(link.name, from_ms, to_ms):
        yield writer.line(row)
