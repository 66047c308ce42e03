"""The analysis' memory at a start: as stored, or made again from the record."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from itertools import islice

from strandkeeper.analysis import engine
from strandkeeper.errors import StrandkeeperError
from strandkeeper.model.block import Block
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.reading import EndRow
from strandkeeper.store import RecordReader

__all__ = ["rebuilt_state", "stored_state"]

log = logging.getLogger(__name__)

_ROWS_A_BLOCK = 20_000


def stored_state(record: RecordReader, facts: LinkFacts) -> engine.LinkState:
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


def rebuilt_state(record: RecordReader, facts: LinkFacts) -> engine.LinkState:
    """The state after every row that the record still has of a link."""
    return _judged(record, facts, engine.initial(facts), 0)


def _judged(
    record: RecordReader, facts: LinkFacts, state: engine.LinkState, from_ms: int
) -> engine.LinkState:
    for rows in _chunks(record.rows(facts.name, from_ms)):
        state, _ = engine.advance(facts, state, Block.from_rows(rows))
    return state


def _chunks(rows: Iterator[EndRow]) -> Iterator[list[EndRow]]:
    while chunk := list(islice(rows, _ROWS_A_BLOCK)):
        yield chunk
