"""From polls to the record: rows, evaluation, and the batch that carries both to the store.

What is judged is exactly what is stored: the same rows in the same order, so that a state rebuilt
by replay from the record is the state the daemon had.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from heapq import nsmallest

from strandkeeper.analysis import engine
from strandkeeper.jobs.anchoring import anchored
from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.merge import RowFolder
from strandkeeper.jobs.states import Remembered
from strandkeeper.jobs.topology import with_consequences
from strandkeeper.model.block import Block
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.link import Link, LinkFacts
from strandkeeper.model.mark import Mark
from strandkeeper.model.meter_reading import Anchor
from strandkeeper.model.names import End, LinkName, SwitchName
from strandkeeper.model.poll import LinkEnd, PowerSupply, SwitchPoll
from strandkeeper.model.reading import EndRow
from strandkeeper.model.settings import Settings
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, LinkVerdict
from strandkeeper.store import Batch

__all__ = ["Recorder"]

_STATE_EVERY_MS = 300_000
_STATES_A_BATCH = 32  # each takes milliseconds, and no poll is looked at meanwhile


@dataclass(slots=True)
class _Watched:
    """One link under watch: what is known of it, its state, its newest verdict."""

    link: Link
    facts: LinkFacts
    state: engine.LinkState
    folders: dict[End, RowFolder] = field(default_factory=dict)
    mau_types: dict[End, int | None] = field(default_factory=dict)
    supply: list[str] = field(default_factory=lambda: ["", ""])  # by end
    pings: str = ""
    verdict: LinkVerdict | None = None
    last_ms: int = 0
    state_ms: int = 0
    state_due: bool = False


class Recorder:
    """Holds every link's state; polls go in, batches come out. No I/O of its own."""

    def __init__(self, settings: Settings, remembered: Mapping[LinkName, Remembered]) -> None:
        self._settings = settings
        self._watched = {
            link.name: self._watch(link, remembered.get(link.name)) for link in settings.links
        }
        self._rows: list[tuple[LinkName, EndRow]] = []
        self._events: list[Event] = []
        self._stats: list[PeriodStat] = []
        self._touched: set[LinkName] = set()
        self._seen: set[tuple[LinkName, End]] = set()
        self._first_light = False
        self._anchors: tuple[Anchor, ...] = ()
        self._polled: dict[SwitchName, SwitchPoll] = {}
        self.switches: dict[SwitchName, SwitchPoll] = {}

    def _watch(self, link: Link, found: Remembered | None) -> _Watched:
        facts = link_facts(link, self._settings)
        state = engine.initial(facts) if found is None else found.state
        return _Watched(link=link, facts=facts, state=state)

    def take(self, poll: SwitchPoll, *, optics_due: bool) -> None:
        """Take one poll of one switch: fold, judge and queue its rows."""
        self.switches[poll.switch] = self._polled[poll.switch] = poll
        self._learn_modules(poll)
        self._learn_troubles(poll)
        for where, row in poll.rows:
            watched = self._watched.get(where.link)
            if watched is not None:
                self._take_row(watched, row, optics_due=optics_due)

    def take_row(self, where: LinkEnd, row: EndRow) -> None:
        """Take what a switch said of one port by itself."""
        watched = self._watched.get(where.link)
        if watched is not None:
            self._take_row(watched, row, optics_due=False)

    def facts(self) -> dict[LinkName, LinkFacts]:
        """What is known of every link now."""
        return {name: watched.facts for name, watched in self._watched.items()}

    def anchor(self, anchors: Sequence[Anchor]) -> None:
        """Judge with these ties to a power meter from now on."""
        self._anchors = tuple(anchors)
        for watched in self._watched.values():
            watched.facts = self._facts(watched)

    def _facts(self, watched: _Watched) -> LinkFacts:
        facts = link_facts(watched.link, self._settings, watched.mau_types)
        a, b = watched.supply
        facts = replace(facts, supply=(a, b), pings=watched.pings)
        return anchored(facts, self._anchors)

    def mark(self, link: LinkName, mark: Mark) -> None:
        """Let a person's act reach the analysis of its link."""
        watched = self._watched[link]
        self._evaluate(watched, Block.from_rows((), (mark,)))
        watched.state_due = True

    @property
    def has_news(self) -> bool:
        """Whether something waits that should be on the screen at once, not with the batch."""
        return bool(self._events) or self._first_light

    def verdicts(self) -> tuple[LinkVerdict, ...]:
        """The newest verdict of every link that has one."""
        return tuple(self._explained().values())

    def _explained(self) -> dict[LinkName, LinkVerdict]:
        links = {name: w.link for name, w in self._watched.items()}
        return with_consequences(
            links, {n: w.verdict for n, w in self._watched.items() if w.verdict is not None}
        )

    def adopt(self, remembered: Mapping[LinkName, Remembered]) -> None:
        """Go on from states made again from the record; rows not yet written are judged anew.

        The record has the events already; of the periods it is given the replay's again.
        """
        self._events, self._stats = [], []
        for name, found in remembered.items():
            self._watched[name].state, self._watched[name].state_due = found.state, True
            self._touched.add(name)
            self._stats.extend(found.stats)
        for name, row in self._rows:
            self._evaluate(self._watched[name], Block.from_rows((row,)))

    def take_batch(self, *, last: bool = False) -> Batch:
        """Everything queued since the last call.

        A state is some ten kB, so it goes along only every five minutes, after a person's act and
        with the `last` batch; a start judges the rows since then again.
        """
        verdicts = self._explained()
        states = self._watched if last else self._due_states()
        batch = Batch(
            rows=tuple(self._rows),
            verdicts=tuple(verdicts[name] for name in sorted(self._touched) if name in verdicts),
            states={name: engine.encode(watched.state) for name, watched in states.items()},
            events=tuple(self._events),
            stats=tuple(self._stats),
            switches=tuple(self._polled.values()),
        )
        for watched in states.values():
            watched.state_due, watched.state_ms = False, watched.last_ms
        self._rows, self._events, self._stats = [], [], []
        self._touched, self._first_light, self._polled = set(), False, {}
        return batch

    def _due_states(self) -> dict[LinkName, _Watched]:
        """The links whose state goes along: a person's act at once, of the others the oldest."""
        touched = [self._watched[name] for name in self._touched]
        due = [w for w in touched if w.state_due]
        aged = (w for w in touched if not w.state_due and w.last_ms - w.state_ms >= _STATE_EVERY_MS)
        due += nsmallest(_STATES_A_BATCH, aged, key=lambda watched: watched.state_ms)
        return {watched.link.name: watched for watched in due}

    def _take_row(self, watched: _Watched, row: EndRow, *, optics_due: bool) -> None:
        folder = watched.folders.setdefault(row.end, RowFolder())
        kept = folder.fold(row, optics_due=optics_due)
        if kept is None:
            return
        kept = replace(kept, time_ms=max(kept.time_ms, watched.last_ms + 1))
        watched.last_ms = kept.time_ms
        self._rows.append((watched.link.name, kept))
        if kept.optics is not None and (watched.link.name, kept.end) not in self._seen:
            self._seen.add((watched.link.name, kept.end))
            self._first_light = True
        self._evaluate(watched, Block.from_rows((kept,)))

    def _evaluate(self, watched: _Watched, block: Block) -> None:
        watched.state, evaluation = engine.advance(watched.facts, watched.state, block)
        watched.verdict = evaluation.verdict
        self._events.extend(evaluation.events)
        self._stats.extend(evaluation.stats)
        self._touched.add(watched.link.name)

    def _learn_modules(self, poll: SwitchPoll) -> None:
        """A module type that the switch names gives limits to an end that has none configured."""
        for where, identity in poll.ports.items():
            watched = self._watched.get(where.link)
            if watched is None or watched.mau_types.get(where.end) == identity.mau_type:
                continue
            watched.mau_types[where.end] = identity.mau_type
            watched.facts = self._facts(watched)

    def _learn_troubles(self, poll: SwitchPoll) -> None:
        """A supply in need and pings that are lost bear on the cause of what happens next."""
        if poll.answered:
            for where, _row in poll.rows:
                self._learn_supply(where, poll.power)
        for where, pings in poll.pings.items():
            watched = self._watched.get(where.link)
            said = pings.words if pings.only_large_fail else ""
            if watched is not None and watched.pings != said:
                watched.pings = said
                watched.facts = self._facts(watched)

    def remember(self, known: Iterable[SwitchHealth]) -> None:
        """What switches that are silent now said of their power before the last stop."""
        for health in known:
            if not health.answered:
                for where in health.ports:
                    self._learn_supply(where, health.power)

    def _learn_supply(self, where: LinkEnd, power: PowerSupply | None) -> None:
        watched = self._watched.get(where.link)
        said = power.fed if power is not None and power.in_need else ""
        if watched is not None and watched.supply[where.end] != said:
            watched.supply[where.end] = said
            watched.facts = self._facts(watched)
