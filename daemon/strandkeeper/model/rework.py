"""Work on a link: what it was like before and after, what the work was worth, acceptance."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.units import Db

__all__ = [
    "Check",
    "CheckKind",
    "Counted",
    "DirectionReport",
    "Handwork",
    "Night",
    "Outcome",
    "Rework",
    "ReworkVerdict",
    "Side",
    "Worth",
]


class Worth(StrEnum):
    """What the work did to one direction."""

    BETTER = "better"
    NO_DIFFERENT = "no-different"
    WORSE = "worse"
    NOT_YET_KNOWN = "not-yet-known"


class CheckKind(StrEnum):
    """One line of the acceptance."""

    LOSS_IN_BUDGET = "loss-in-budget"
    LOSS_AS_BEFORE = "loss-as-before"
    MARGIN = "margin"
    NO_FLAP = "no-flap"
    BITS_STAGE = "bits-stage"
    BITS = "bits"


class Handwork(StrEnum):
    """What goes wrong with connectors made by hand."""

    NOT_CROSSED = "not-crossed"
    SLID_BACK = "slid-back"
    CLEAVED_SHORT = "cleaved-short"
    DIRT = "dirt"
    TRY_A_SPARE = "try-a-spare"


class Night(StrEnum):
    """Whether work has stood a cold night, and by what that is judged: never more than is known.

    YET: the receiving module has not been as cold as before. NO_TEMPERATURE: it tells none, so a
    day is waited for. STEADY: its temperature hardly moves (indoors), so it cannot tell a cold
    night. The other three end the waiting: as cold as before, a day without a temperature, a
    fortnight without either.
    """

    YET = "yet"
    NO_TEMPERATURE = "no-temperature"
    STEADY = "steady"
    AS_COLD = "as-cold"
    A_DAY = "a-day"
    A_FORTNIGHT = "a-fortnight"

    @property
    def over(self) -> bool:
        """Whether the waiting has ended."""
        return self in (Night.AS_COLD, Night.A_DAY, Night.A_FORTNIGHT)


class Outcome(StrEnum):
    """How a line of the acceptance stands."""

    PASSED = "passed"
    FAILED = "failed"
    PENDING = "pending"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One direction over a span of time: `n` readings with light, `dark` without.

    `level` is the loss where `by_loss`, else the receive power turned round (-dBm), so that more
    is always worse; with its 95 % interval. `peak` is the difference between the extremes,
    `worst_hour` the highest median of an hour, `lasted_ms` the time between first and last.
    """

    from_ms: int
    to_ms: int
    n: int = 0
    dark: int = 0
    by_loss: bool = True
    level: Interval | None = None
    rx_dbm: float | None = None
    spread: Db | None = None
    peak: Db | None = None
    worst_hour: Db | None = None
    lasted_ms: int = 0
    coldest_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """What a receiver counted since the work: only what its counters prove.

    `bits` are line bits that were checked, whole frames only; `errors` damaged frames; in
    `unknown` readings the counters could not be followed (restart, reset, silence);
    `counted_ms` is the time that the counted bits took. `through_ms`: counted up to there.
    """

    bits: int = 0
    errors: int = 0
    unknown: int = 0
    counted_ms: int = 0
    through_ms: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One line of the acceptance of one direction, with the figures it rests on.

    `got` and `limit` are dB, a count of flaps, or bits; `left_s` is the time still needed at the
    traffic there is, None where there is none.
    """

    kind: CheckKind
    outcome: Outcome
    got: float | None = None
    limit: float | None = None
    ratio: float | None = None
    errors: int = 0
    left_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReworkVerdict:
    """Better, no different, worse or not yet known; `change` is after - before, less is better.

    `allowed` is what re-made matings may scatter. `night` None: of a release that did not tell it.
    """

    worth: Worth
    change: Interval | None = None
    allowed: Db = Db(0.0)
    light_back: bool = False
    light_gone: bool = False
    restless: bool = False
    provisional: bool = True
    night: Night | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionReport:
    """Everything that is known of one direction of a rework."""

    before: Side
    after: Side
    verdict: ReworkVerdict
    counted: Counted = field(default_factory=Counted)
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rework:
    """One piece of work. `id` is the number of the entry that began it.

    `direction` None: both. `matings` is how many mated pairs of each direction were made anew or
    plugged again. `commissioning`: there was no before. `accepted_ms`: every check passed then.
    `coldest_before_c` and `swing_before_c` are of the receiving module's hours in the week before.
    """

    id: int
    link: LinkName
    what: str
    who: str
    started_ms: int
    direction: Direction | None = None
    end: End | None = None
    cable: str | None = None
    strand: int | None = None
    why: str = ""
    matings: int = 1
    commissioning: bool = False
    finished_ms: int | None = None
    note: str = ""
    baseline_ms: int | None = None
    accepted_ms: int | None = None
    closed_ms: int | None = None
    old_baseline: dict[Direction, Interval] = field(default_factory=dict)
    coldest_before_c: dict[Direction, float] = field(default_factory=dict)
    swing_before_c: dict[Direction, float] = field(default_factory=dict)
    reports: dict[Direction, DirectionReport] = field(default_factory=dict)

    @property
    def directions(self) -> tuple[Direction, ...]:
        """The directions it concerns."""
        return tuple(Direction) if self.direction is None else (self.direction,)

    @property
    def open(self) -> bool:
        """Whether somebody is still at it."""
        return self.finished_ms is None
