"""The working copy of a state during one call of `advance`, and what it yields on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from strandkeeper.analysis import baseline, link_state, outages
from strandkeeper.analysis.calm import CalmLimits, limits_of
from strandkeeper.analysis.row_findings import judge_row
from strandkeeper.analysis.slow import LinkSlow, working_copy
from strandkeeper.analysis.state import LinkLive, LinkState
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING, Col, Ints, PowerCode
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import Direction, End
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, EventKind


def _live_copy(live: LinkLive) -> LinkLive:
    """Lists in it are replaced, never altered, except `ends`, `flaps`, `outages` and `active`."""
    return replace(
        live,
        ends=[end.copy() for end in live.ends],
        flaps=list(live.flaps),
        outages=list(live.outages),
        active=dict(live.active),
    )


@dataclass(slots=True)
class Run:
    """One call's working memory."""

    facts: LinkFacts
    live: LinkLive
    _slow: LinkSlow
    _slow_is_mine: bool
    _pending: list[Ints]
    _carry: Ints
    _limits: CalmLimits | None = None
    events: list[Event] = field(default_factory=list)
    stats: list[PeriodStat] = field(default_factory=list)

    @classmethod
    def start(cls, facts: LinkFacts, state: LinkState) -> Run:
        """A working copy; the slow part is copied only when something is about to alter it."""
        return cls(
            facts=facts,
            live=_live_copy(state.live),
            _slow=state.slow,
            _slow_is_mine=False,
            _pending=list(state.pending),
            _carry=state.carry,
        )

    def state(self) -> LinkState:
        """What to go on from."""
        return LinkState(
            live=self.live, slow=self._slow, pending=tuple(self._pending), carry=self._carry
        )

    @property
    def slow(self) -> LinkSlow:
        """The slow part, to be altered."""
        if not self._slow_is_mine:
            self._slow = working_copy(self._slow)
            self._slow_is_mine = True
        return self._slow

    @property
    def calm_limits(self) -> CalmLimits:
        """What a calm window keeps within, by the facts."""
        if self._limits is None:
            self._limits = limits_of(self.facts)
        return self._limits

    @property
    def open_window(self) -> int | None:
        """Number of the window whose rows are pending."""
        return int(self._pending[0][Col.TIME, 0]) // WINDOW_MS if self._pending else None

    @property
    def carried(self) -> int:
        """How many rows of `take_pending` were counted before."""
        return int(self._carry.shape[1])

    def keep(self, rows: Ints) -> None:
        """Hold rows back until their window is over."""
        self._pending.append(rows)

    def take_pending(self) -> Ints:
        """The carried rows and the rows held back, in order."""
        whole = np.concatenate([self._carry, *self._pending], axis=1)
        self._pending = []
        return whole

    def carry_from(self, rows: Ints) -> None:
        """Remember the newest transmit reading of each end among these rows."""
        spoken = rows[Col.TX_CODE] != PowerCode.NOT_ASKED
        newest = [np.flatnonzero(spoken & (rows[Col.END] == end))[-1:] for end in (0, 1)]
        self._carry = rows[:, np.sort(np.concatenate(newest))].copy()
        self._carry[Col.MODULE] = MISSING

    def tell(
        self,
        time_ms: int,
        kind: EventKind,
        *,
        end: End | None = None,
        direction: Direction | None = None,
        value: float | None = None,
        text: str = "",
        uncertainty_ms: int = 0,
    ) -> None:
        """Put an event on record."""
        self.events.append(
            Event(
                time_ms=time_ms,
                link=self.facts.name,
                kind=kind,
                end=end,
                direction=direction,
                value=value,
                text=text,
                uncertainty_ms=uncertainty_ms,
            )
        )

    def take_row(self, row: Sequence[int], modules: Sequence[str], moved_ms: int) -> None:
        """Draw every conclusion and every finding that does not wait for a window."""
        if link_state.handle(self.live, self.facts, row, modules, moved_ms, self.tell):
            for number, direction in enumerate((Direction.AB, Direction.BA)):
                time = row[Col.TIME]
                if baseline.break_baseline(self.slow.directions[number], time):
                    kind = EventKind.BASELINE_BROKEN
                    self.tell(time, kind, direction=direction, text="module changed")
        outages.judge_outage(self.live)
        outages.revise_outage(self.live, row[Col.TIME])
        judge_row(self, row)
        self.live.last_ms = row[Col.TIME]
