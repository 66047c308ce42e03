"""What the analysis remembers of a link between two calls. Bounded, and integers throughout.

The live part changes with every row and is copied at each call; the slow part changes when a
window of five minutes closes. Both are working memory: only the engine's copies are altered,
never a state that a caller holds.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from operator import attrgetter

import numpy as np

from strandkeeper.analysis.slow import LinkSlow
from strandkeeper.model.block import MISSING, Col, Ints, PowerCode


@dataclass(slots=True)
class EndLive:
    """One end as its newest rows tell it."""

    heard_ms: int = MISSING
    asked_ms: int = MISSING
    misses: int = 0
    miss_since_ms: int = MISSING
    oper: int = MISSING
    oper_since_ms: int = MISSING
    admin: int = MISSING
    uptime: int = MISSING
    last_change: int = MISSING
    media: int = MISSING
    module: str = ""
    module_gone: bool = False
    rx_code: int = PowerCode.NOT_ASKED
    rx: int = MISSING
    optics_ms: int = MISSING
    moved_ms: int = MISSING
    dark_since_ms: int = MISSING
    dark_told: bool = False
    lit_ever: bool = False
    judged: bool = False
    tx_code: int = PowerCode.NOT_ASKED
    tx: int = MISSING
    bias: int = MISSING
    temp: int = MISSING
    vcc: int = MISSING
    boots: list[int] = field(default_factory=list)

    def copy(self) -> EndLive:
        """Another one that is as this one; `boots` is shared, as it is replaced, never altered."""
        return EndLive(*_ALL_OF(self))

    @property
    def answers(self) -> bool | None:
        """Whether it answered when last asked; None: it was never asked."""
        return None if self.asked_ms == MISSING else self.misses == 0

    @property
    def boot_ms(self) -> int:
        """When its switch started, MISSING if it does not say."""
        return MISSING if self.uptime == MISSING else self.heard_ms - 10 * self.uptime


# A copy of every row's ends is a good part of a poll's cost, and copy.copy takes six times as long.
_ALL_OF = attrgetter(*(each.name for each in fields(EndLive)))


@dataclass(slots=True)
class OutageNote:
    """One time down. `seen_by` are words, see model.verdict.Flap; `to_ms` MISSING while down."""

    from_ms: int
    to_ms: int
    uncertainty_ms: int
    seen_by: list[str]
    cause: str = "unknown"
    revised: bool = False
    far_silent: bool = False
    was_dark: bool = False


@dataclass(slots=True)
class LinkLive:
    """Both ends, the link between them, and what it has been through lately.

    `down_hours`: (hour since the epoch, how often it went down in it), two weeks of them.
    """

    last_ms: int = MISSING
    ends: list[EndLive] = field(default_factory=lambda: [EndLive(), EndLive()])
    up: bool | None = None
    up_since_ms: int = MISSING
    up_ever: bool = False
    down_now: OutageNote | None = None
    flaps: list[OutageNote] = field(default_factory=list)
    outages: list[OutageNote] = field(default_factory=list)
    active: dict[str, tuple[int, int]] = field(default_factory=dict)
    down_hours: list[tuple[int, int]] = field(default_factory=list)


def _no_rows() -> Ints:
    return np.zeros((len(Col), 0), dtype=np.int64)


@dataclass(slots=True)
class LinkState:
    """Everything between two calls. `pending` are the rows of the window still open; `carry` the
    newest transmit reading of each end from before it.
    """

    live: LinkLive = field(default_factory=LinkLive)
    slow: LinkSlow = field(default_factory=LinkSlow)
    pending: tuple[Ints, ...] = ()
    carry: Ints = field(default_factory=_no_rows)
