"""One direction of a verdict as JSON, and back without loss.

rx_dbm, tx_dbm      number [dBm] | "no-light" | null (not reported)
read_at             when the figures were read
margin_db, headroom_db, loss_db             receive power above the weakest / below the strongest
                                            light it can use; transmit minus receive power
sensitivity_dbm, overload_dbm, limits       the two limits, {origin, source}
accuracy_db, anchored                       how far a reading may be from truth
planned_loss_db, planned_limit_db           what the cable should lose by the book
baseline            {loss_db, spread_db, since, firm, by_owner} | null
added_loss          {value, low, high} [dB] | null
compensation_db_per_c                       [at the sender, at the receiver] | null
drift               {value, low, high [dB/month], window_days, reported, season_excluded} | null
forecast            {earliest, latest, to: reserve|sensitivity} | null
why_null            beside a null forecast: no-end-in-sight | unknown
steps               [{time, time_low, time_high, db, low, high, transmitter_moved}]
flicker, daily_swing_db, trend, errors_24h, frames_24h
"""

from __future__ import annotations

from typing import Any

from strandkeeper.model.link import LimitOrigin
from strandkeeper.model.names import Direction
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, NoLight, Power
from strandkeeper.model.times import iso_utc, ms_from_iso
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    Drift,
    Forecast,
    ForecastTo,
    Interval,
    Step,
    Trend,
)
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "direction_from_json",
    "direction_to_json",
    "maybe_iso",
    "maybe_ms",
    "power_from_json",
    "power_to_json",
]


def power_to_json(power: Power) -> float | str | None:
    """A power as number [dBm], "no-light", or null for not reported."""
    if isinstance(power, Measured):
        return power.power.value
    return "no-light" if isinstance(power, NoLight) else None


def power_from_json(data: float | str | None) -> Power:
    """The power that `power_to_json` wrote. Raises ValueError for anything else."""
    if data is None:
        return NOT_REPORTED
    if data == "no-light":
        return NO_LIGHT
    return Measured(Dbm(float(data)))


def direction_to_json(verdict: DirectionVerdict) -> dict[str, Any]:
    """One direction as JSON values; the direction itself is the key it stands under."""
    forecast = verdict.forecast
    return {
        "rx_dbm": power_to_json(verdict.rx),
        "tx_dbm": power_to_json(verdict.tx),
        "read_at": maybe_iso(verdict.optics_ms),
        "margin_db": _figure(verdict.margin),
        "headroom_db": _figure(verdict.headroom),
        "loss_db": _figure(verdict.loss),
        "sensitivity_dbm": _figure(verdict.sensitivity),
        "overload_dbm": _figure(verdict.overload),
        "limits": {"origin": verdict.limits_origin.value, "source": verdict.limits_source},
        "accuracy_db": verdict.accuracy.value,
        "anchored": verdict.anchored,
        "planned_loss_db": _figure(verdict.planned_loss),
        "planned_limit_db": _figure(verdict.planned_limit),
        "baseline": _baseline_to_json(verdict.baseline),
        "added_loss": None if verdict.added_loss is None else _interval(verdict.added_loss),
        "compensation_db_per_c": _pair(verdict.compensation_db_per_c),
        "drift": _drift_to_json(verdict.drift),
        "forecast": _forecast_to_json(forecast),
        "why_null": forecast.why_null if _nothing(forecast) else None,
        "steps": [_step_to_json(s) for s in verdict.steps],
        "flicker": verdict.flicker,
        "daily_swing_db": _figure(verdict.daily_swing),
        "trend": verdict.trend.value,
        "errors_24h": verdict.errors_24h,
        "frames_24h": verdict.frames_24h,
    }


def direction_from_json(direction: Direction, data: dict[str, Any]) -> DirectionVerdict:
    """The direction that `direction_to_json` wrote. Raises KeyError or ValueError otherwise."""
    added, pair = data["added_loss"], data["compensation_db_per_c"]
    return DirectionVerdict(
        direction=direction,
        rx=power_from_json(data["rx_dbm"]),
        tx=power_from_json(data["tx_dbm"]),
        optics_ms=maybe_ms(data["read_at"]),
        margin=_db(data["margin_db"]),
        headroom=_db(data["headroom_db"]),
        loss=_db(data["loss_db"]),
        sensitivity=_dbm(data["sensitivity_dbm"]),
        overload=_dbm(data["overload_dbm"]),
        limits_origin=LimitOrigin(data["limits"]["origin"]),
        limits_source=data["limits"]["source"],
        accuracy=Db(data["accuracy_db"]),
        anchored=data["anchored"],
        planned_loss=_db(data["planned_loss_db"]),
        planned_limit=_db(data["planned_limit_db"]),
        baseline=_baseline_from_json(data["baseline"]),
        added_loss=None if added is None else Interval(**added),
        compensation_db_per_c=None if pair is None else (pair[0], pair[1]),
        drift=_drift_from_json(data["drift"]),
        forecast=_forecast_from_json(data["forecast"], data["why_null"]),
        steps=tuple(_step_from_json(s) for s in data["steps"]),
        flicker=data["flicker"],
        daily_swing=_db(data["daily_swing_db"]),
        trend=Trend(data["trend"]),
        errors_24h=data["errors_24h"],
        frames_24h=data["frames_24h"],
    )


def maybe_iso(time_ms: int | None) -> str | None:
    """A time as text, null where there is none."""
    return None if time_ms is None else iso_utc(time_ms)


def maybe_ms(text: str | None) -> int | None:
    """A time [ms] out of text, None where there is none."""
    return None if text is None else ms_from_iso(text)


def _figure(quantity: Db | Dbm | None) -> float | None:
    return None if quantity is None else quantity.value


def _db(value: float | None) -> Db | None:
    return None if value is None else Db(value)


def _dbm(value: float | None) -> Dbm | None:
    return None if value is None else Dbm(value)


def _pair(pair: tuple[float, float] | None) -> list[float] | None:
    return None if pair is None else list(pair)


def _interval(interval: Interval) -> dict[str, float]:
    return {"value": interval.value, "low": interval.low, "high": interval.high}


def _baseline_to_json(baseline: Baseline | None) -> dict[str, Any] | None:
    if baseline is None:
        return None
    return {
        "loss_db": baseline.loss.value,
        "spread_db": baseline.spread.value,
        "since": iso_utc(baseline.since_ms),
        "firm": baseline.firm,
        "by_owner": baseline.by_owner,
    }


def _baseline_from_json(data: dict[str, Any] | None) -> Baseline | None:
    if data is None:
        return None
    return Baseline(
        loss=Db(data["loss_db"]),
        spread=Db(data["spread_db"]),
        since_ms=ms_from_iso(data["since"]),
        firm=data["firm"],
        by_owner=data["by_owner"],
    )


def _drift_to_json(drift: Drift | None) -> dict[str, Any] | None:
    if drift is None:
        return None
    return {
        **_interval(drift.slope),
        "window_days": drift.window_days,
        "reported": drift.reported,
        "season_excluded": drift.season_excluded,
    }


def _drift_from_json(data: dict[str, Any] | None) -> Drift | None:
    if data is None:
        return None
    return Drift(
        slope=Interval(value=data["value"], low=data["low"], high=data["high"]),
        window_days=data["window_days"],
        reported=data["reported"],
        season_excluded=data["season_excluded"],
    )


def _nothing(forecast: Forecast) -> bool:
    return forecast.earliest_ms is None and forecast.latest_ms is None and forecast.to is None


def _forecast_to_json(forecast: Forecast) -> dict[str, Any] | None:
    if _nothing(forecast):
        return None
    return {
        "earliest": maybe_iso(forecast.earliest_ms),
        "latest": maybe_iso(forecast.latest_ms),
        "to": None if forecast.to is None else forecast.to.value,
    }


def _forecast_from_json(data: dict[str, Any] | None, why_null: str | None) -> Forecast:
    if data is None:
        return Forecast() if why_null is None else Forecast(why_null=why_null)
    return Forecast(
        earliest_ms=maybe_ms(data["earliest"]),
        latest_ms=maybe_ms(data["latest"]),
        to=None if data["to"] is None else ForecastTo(data["to"]),
    )


def _step_to_json(step: Step) -> dict[str, Any]:
    return {
        "time": iso_utc(step.time_ms),
        "time_low": iso_utc(step.time_low_ms),
        "time_high": iso_utc(step.time_high_ms),
        "db": step.size.value,
        "low": step.size.low,
        "high": step.size.high,
        "transmitter_moved": step.transmitter_moved,
    }


def _step_from_json(data: dict[str, Any]) -> Step:
    return Step(
        time_ms=ms_from_iso(data["time"]),
        time_low_ms=ms_from_iso(data["time_low"]),
        time_high_ms=ms_from_iso(data["time_high"]),
        size=Interval(value=data["db"], low=data["low"], high=data["high"]),
        transmitter_moved=data["transmitter_moved"],
    )
