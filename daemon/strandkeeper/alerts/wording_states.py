"""How a direction and an end stand, in words: trend, limits, baseline, forecast, errors, port."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from strandkeeper.alerts.wording_figures import counted, db, dbm, number, per_year, spare
from strandkeeper.alerts.wording_places import Place
from strandkeeper.model.alert import AlertState
from strandkeeper.model.finding import Severity
from strandkeeper.model.link import LimitOrigin, Link
from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.verdict import (
    DirectionVerdict,
    EndState,
    Forecast,
    ForecastTo,
    Trend,
)

__all__ = [
    "added_loss_sentence",
    "alert_state_words",
    "baseline_sentence",
    "end_sentence",
    "errors_sentence",
    "forecast_sentence",
    "light_source",
    "limits_sentence",
    "power_words",
    "severity_word",
    "spare_words",
    "trend_sentence",
    "trend_word",
]

_LIGHT_SOURCES: Final = {
    "none": "nothing: no readings",
    "entity-sensor": "the standard sensors",
    "command": "your command",
}

TRENDS: Final[dict[Trend, str]] = {
    Trend.STEADY: "steady",
    Trend.CREEPING: "creeping",
    Trend.JUMPED: "jumped",
    Trend.FLICKERING: "flickering",
    Trend.SWINGS: "swings with the day",
    Trend.TOO_EARLY: "too early to say",
}
SEVERITIES: Final[dict[Severity, str]] = {
    Severity.NOTE: "for the record",
    Severity.WARNING: "look at it",
    Severity.URGENT: "urgent",
}
ALERT_STATES: Final[dict[AlertState, str]] = {
    AlertState.PENDING: "being watched",
    AlertState.FIRING: "open",
    AlertState.ACKNOWLEDGED: "seen",
    AlertState.CLEARED: "over",
    AlertState.MUTED: "muted",
}
ORIGINS: Final[dict[LimitOrigin, str]] = {
    LimitOrigin.OWNER: "your figure",
    LimitOrigin.PMD_NAMED: "by the module type you named",
    LimitOrigin.PMD_RECOGNISED: "by the module type that was recognised",
    LimitOrigin.UNKNOWN: "not known",
}
PORTS: Final[dict[OperStatus, str]] = {
    OperStatus.UP: "port up",
    OperStatus.DOWN: "port down",
    OperStatus.TESTING: "port in a test",
    OperStatus.UNKNOWN: "port state not known to the switch",
    OperStatus.DORMANT: "port waiting",
    OperStatus.NOT_PRESENT: "no module in the port",
    OperStatus.LOWER_LAYER_DOWN: "port down below",
}


def alert_state_words(state: AlertState, who: str) -> str:
    """Where an alert stands, and whose act that was: `seen by anna`."""
    return ALERT_STATES[state] + (f" by {who}" if who else "")


def trend_word(trend: Trend) -> str:
    """The word of the first screen."""
    return TRENDS[trend]


def trend_sentence(verdict: DirectionVerdict) -> str:
    """The trend with its figure where there is one: `creeping, about 1 dB a year`."""
    word = TRENDS[verdict.trend]
    if verdict.trend is Trend.CREEPING and verdict.drift is not None:
        return f"{word}, {per_year(verdict.drift.slope)}"
    if verdict.trend is Trend.JUMPED and verdict.steps:
        return f"{word} by {db(verdict.steps[-1].size.value)}"
    if verdict.trend is Trend.SWINGS and verdict.daily_swing is not None:
        return f"{word}, {db(verdict.daily_swing.value)}"
    return word


def severity_word(severity: Severity) -> str:
    """How much it matters."""
    return SEVERITIES[severity]


def light_source(reader: str) -> str:
    """Where a port's readings come from; a described table is called by its owner's name for it."""
    return _LIGHT_SOURCES.get(reader, reader)


def power_words(power: Power) -> str:
    """A figure in dBm, 'no light' or 'not reported'."""
    if isinstance(power, Measured):
        return dbm(power.power)
    return "no light" if isinstance(power, NoLight) else "not reported"


def spare_words(verdict: DirectionVerdict) -> str:
    """What is to spare: `9 dB`, `no light`, or why it is not known."""
    if isinstance(verdict.rx, NoLight):
        return "no light"
    if verdict.margin is not None:
        return spare(verdict.margin, anchored=verdict.anchored)
    if not isinstance(verdict.rx, Measured):
        return "not known: no reading"
    return "not known: name the module type"


def added_loss_sentence(verdict: DirectionVerdict) -> str:
    """`1.2 dB lost since it was good`, or that nothing was."""
    if verdict.added_loss is None:
        return "not known how much was lost since it was good"
    lost = verdict.added_loss.value
    if lost < 0.05:
        return "nothing lost since it was good"
    return f"{db(lost)} lost since it was good"


def baseline_sentence(verdict: DirectionVerdict) -> str:
    """When it was good, how good, and how firmly that is known."""
    known = verdict.baseline
    if known is None:
        return "It is not known yet how much is lost when it is good."
    day = _day(known.since_ms)
    whose = "you accepted on" if known.by_owner else "was measured from"
    firm = "" if known.firm else "; provisional until a week is on record"
    return f"Good means {db(known.loss.value)} lost, as {whose} {day}{firm}."


def limits_sentence(verdict: DirectionVerdict) -> str:
    """The weakest and strongest light the receiver can use, and where the figures come from."""
    if verdict.sensitivity is None and verdict.overload is None:
        why = verdict.limits_source.removeprefix("unknown: ")
        why = why or "name the module type or its sensitivity"
        return f"The weakest light it can use is not known ({why})."
    weak = "not known" if verdict.sensitivity is None else dbm(verdict.sensitivity)
    strong = "not known" if verdict.overload is None else dbm(verdict.overload)
    return f"Weakest light it can use {weak}, strongest {strong}; {_origin(verdict)}."


def _origin(verdict: DirectionVerdict) -> str:
    origin, source = ORIGINS[verdict.limits_origin], verdict.limits_source
    if verdict.limits_origin is LimitOrigin.OWNER:
        return source or origin
    return f"{origin}: {source}" if source else origin


def forecast_sentence(forecast: Forecast) -> str:
    """When the margin reaches a limit, as a range of months; or that no end is in sight."""
    if forecast.to is None:
        if forecast.why_null == "no-end-in-sight":
            return "No end in sight."
        return "It is too early to say where this leads."
    limit = {
        ForecastTo.RESERVE: "the reserve is used up",
        ForecastTo.SENSITIVITY: "the light is too weak",
    }[forecast.to]
    early, late = _month(forecast.earliest_ms), _month(forecast.latest_ms)
    if early is None and late is None:
        return f"Going on like this, {limit} at a time that is not known."
    if early is None:
        return f"Going on like this, {limit} by {late}."
    if late is None:
        return f"Going on like this, {limit} in {early} or later."
    when = f"in {early}" if early == late else f"between {early} and {late}"
    return f"Going on like this, {limit} {when}."


def errors_sentence(verdict: DirectionVerdict) -> str:
    """Damaged frames of the last 24 hours."""
    if verdict.errors_24h is None:
        return "damaged frames not known"
    frames = "" if verdict.frames_24h is None else f" of {_grouped(verdict.frames_24h)}"
    if verdict.errors_24h == 0:
        return f"no damaged frame{frames} in 24 h"
    return f"{counted(verdict.errors_24h, 'damaged frame')}{frames} in 24 h"


def end_sentence(link: Link, state: EndState) -> str:
    """One end as last heard of: whether it answers, its port, its module's temperature."""
    name = Place(link, end=state.end).here
    if not state.managed:
        return f"{name}: nobody can ask this end"
    parts = [
        {True: "answers", False: "does not answer", None: "not asked yet"}[state.answers],
        "" if state.oper is None else PORTS[state.oper],
        "" if state.temp_c is None else f"module at {number(state.temp_c, 0)} °C",
    ]
    return f"{name}: {', '.join(filter(None, parts))}"


def _grouped(count: int) -> str:
    return f"{count:,}".replace(",", " ")


def _moment(time_ms: int) -> datetime:
    return datetime.fromtimestamp(time_ms / 1000, UTC)


def _month(time_ms: int | None) -> str | None:
    return None if time_ms is None else _moment(time_ms).strftime("%B %Y")


def _day(time_ms: int) -> str:
    moment = _moment(time_ms)
    return f"{moment.day} {moment.strftime('%B %Y')}"
