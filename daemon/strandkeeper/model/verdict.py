"""What the analysis says of a link now: the one record that every output reads."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from strandkeeper.model.finding import Cause, Finding
from strandkeeper.model.link import LimitOrigin
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import NOT_REPORTED, Power
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.stats import PeriodStat
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "Baseline",
    "DirectionVerdict",
    "Drift",
    "EndState",
    "Evaluation",
    "Event",
    "EventKind",
    "Flap",
    "Forecast",
    "ForecastTo",
    "Interval",
    "LinkVerdict",
    "Outage",
    "Step",
    "Trend",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A value in dB (or dB/month) with its 95 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseline:
    """Loss when the direction was last good, and its spread."""

    loss: Db
    spread: Db
    since_ms: int
    firm: bool
    by_owner: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """Lasting slope in dB/month (30.44 days), of the window that reports it or the longest one."""

    slope: Interval
    window_days: int
    reported: bool
    season_excluded: bool = False


class ForecastTo(StrEnum):
    """Which limit the forecast speaks of."""

    RESERVE = "reserve"
    SENSITIVITY = "sensitivity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """When the margin reaches a limit, as a range. None fields: `why_null` says why."""

    earliest_ms: int | None = None
    latest_ms: int | None = None
    to: ForecastTo | None = None
    why_null: str = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A lasting jump of the loss; positive is more loss."""

    time_ms: int
    time_low_ms: int
    time_high_ms: int
    size: Interval
    transmitter_moved: bool = False


class Trend(StrEnum):
    """The word for the first screen."""

    STEADY = "steady"
    CREEPING = "creeping"
    JUMPED = "jumped"
    FLICKERING = "flickering"
    SWINGS = "swings-with-the-day"
    TOO_EARLY = "too-early-to-say"


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionVerdict:
    """One direction: figures of its receiver's last reading and what became of them.

    None means not known; why is said by the findings and by `limits_source`. `optics_ms` is the
    record time of the reading that the figures come from.
    """

    direction: Direction
    rx: Power = NOT_REPORTED
    tx: Power = NOT_REPORTED
    optics_ms: int | None = None
    sensitivity: Dbm | None = None
    overload: Dbm | None = None
    limits_origin: LimitOrigin = LimitOrigin.UNKNOWN
    limits_source: str = ""
    accuracy: Db = Db(3.0)
    anchored: bool = False
    margin: Db | None = None
    headroom: Db | None = None
    loss: Db | None = None
    planned_loss: Db | None = None
    planned_limit: Db | None = None
    baseline: Baseline | None = None
    added_loss: Interval | None = None
    compensation_db_per_c: tuple[float, float] | None = None
    drift: Drift | None = None
    forecast: Forecast = field(default_factory=Forecast)
    steps: tuple[Step, ...] = ()
    flicker: bool = False
    daily_swing: Db | None = None
    trend: Trend = Trend.TOO_EARLY
    errors_24h: int | None = None
    frames_24h: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EndState:
    """One end as last heard of."""

    end: End
    managed: bool = True
    answers: bool | None = None
    heard_ms: int | None = None
    oper: OperStatus | None = None
    oper_since_ms: int | None = None
    uptime_cs: int | None = None
    temp_c: float | None = None
    bias_ma: float | None = None
    vcc_v: float | None = None
    module_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Flap:
    """The link went down and up again.

    `seen_by`: `poll of A`, `last change of A` (the switch's own time of it), `trap of A`, and of B.
    """

    from_ms: int
    to_ms: int
    seen_by: tuple[str, ...]
    uncertainty_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outage:
    """The link was down longer than a flap; `to_ms` None while it lasts."""

    from_ms: int
    to_ms: int | None
    cause: Cause
    revised: bool = False
    seen_by: tuple[str, ...] = ()
    uncertainty_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkVerdict:
    """One link now: every finding that is true, the figures, the recent record.

    `downs_24h`, `downs_7d`, `downs_14d`: how often it went down, for however long, up to `at_ms`;
    `flaps` and `outages` are the newest of them alone.
    """

    link: LinkName
    at_ms: int
    a: EndState
    b: EndState
    ab: DirectionVerdict
    ba: DirectionVerdict
    up: bool | None = None
    up_since_ms: int | None = None
    findings: tuple[Finding, ...] = ()
    flaps: tuple[Flap, ...] = ()
    outages: tuple[Outage, ...] = ()
    downs_24h: int = 0
    downs_7d: int = 0
    downs_14d: int = 0

    def direction(self, direction: Direction) -> DirectionVerdict:
        """The verdict of one direction."""
        return self.ab if direction is Direction.AB else self.ba

    def end(self, end: End) -> EndState:
        """The state of one end."""
        return self.a if end is End.A else self.b


class EventKind(StrEnum):
    """What happened, for the record; unlike a finding it does not end."""

    LINK_DOWN = "link-down"
    LINK_UP = "link-up"
    FLAP_BETWEEN_POLLS = "flap-between-polls"
    NO_ANSWER = "no-answer"
    ANSWERS_AGAIN = "answers-again"
    RESTARTED = "restarted"
    LIGHT_LOST = "light-lost"
    LIGHT_BACK = "light-back"
    MODULE_CHANGED = "module-changed"
    MODULE_REMOVED = "module-removed"
    MODULE_INSERTED = "module-inserted"
    PORT_OFF = "port-off"
    PORT_ON = "port-on"
    STEP = "step"
    BASELINE_SET = "baseline-set"
    BASELINE_BROKEN = "baseline-broken"
    FINDING_BEGAN = "finding-began"
    FINDING_ENDED = "finding-ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing that happened on a link; `end`/`direction` where that applies."""

    time_ms: int
    link: LinkName
    kind: EventKind
    end: End | None = None
    direction: Direction | None = None
    value: float | None = None
    text: str = ""
    uncertainty_ms: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """What one call of `advance` yields: the verdict now, and what happened on the way to it."""

    verdict: LinkVerdict
    events: tuple[Event, ...] = ()
    stats: tuple[PeriodStat, ...] = ()
