"""A finding in its surroundings: what evidence and causes are drawn from."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.analysis.slow import DirectionSlow
from strandkeeper.analysis.state import EndLive, LinkState
from strandkeeper.model.block import MISSING
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import Direction, End


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """One finding in its surroundings."""

    facts: LinkFacts
    state: LinkState
    direction: Direction | None = None
    end: End | None = None
    since_ms: int = MISSING

    def live(self, end: End) -> EndLive:
        """The newest of an end."""
        return self.state.live.ends[end]

    @property
    def slow(self) -> DirectionSlow:
        """The slow part of the finding's direction; raises ValueError for a finding without."""
        if self.direction is None:
            raise ValueError("this finding is of no direction")
        return self.slow_of(self.direction)

    def slow_of(self, direction: Direction) -> DirectionSlow:
        """The slow part of either direction."""
        return self.state.slow.directions[0 if direction is Direction.AB else 1]

    @property
    def receiver(self) -> EndLive:
        """The end that measures the direction."""
        if self.direction is None:
            raise ValueError("this finding is of no direction")
        return self.live(self.direction.receiver)


def behind_this_link(about: About) -> bool:
    """Whether the silent end is reached through this link, and the link is down."""
    near = about.facts.near
    return near is not None and about.end is near.other and about.state.live.up is False
