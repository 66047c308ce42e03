"""What is written together, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from strandkeeper.model.names import LinkName
from strandkeeper.model.poll import SwitchPoll
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, LinkVerdict

__all__ = ["Batch", "Outcome"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One transaction: the rows of all switches, and what the analysis made of them.

    `states` holds the analysis' own bytes (version and state) after the last of `rows`.
    `switches` are polls of which only the health is kept, not the rows.
    """

    rows: Sequence[tuple[LinkName, EndRow]] = ()
    verdicts: Sequence[LinkVerdict] = ()
    states: Mapping[LinkName, bytes] = field(default_factory=dict)
    events: Sequence[Event] = ()
    stats: Sequence[PeriodStat] = ()
    switches: Sequence[SwitchPoll] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of an append. `written` False: the batch is held in memory, `trouble` says why.

    `held_rows` wait in memory, `lost_rows` had to be given up since the record was opened because
    memory is bounded; `already_there` rows of this call were in the file before.
    """

    written: bool
    trouble: str = ""
    hint: str = ""
    held_rows: int = 0
    lost_rows: int = 0
    already_there: int = 0
