"""The verdict as JSON Schema: the object of `status --json`. Pure."""

from __future__ import annotations

from enum import Enum
from typing import Any

from strandkeeper.model.finding import (
    Cause,
    Confidence,
    EvidenceKind,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.link import LimitOrigin
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.verdict import ForecastTo, Trend
from strandkeeper.model.verdict_json import SCHEMA
from strandkeeper_dashboard.schema_parts import (
    BOOLEAN,
    COUNT,
    NUMBER,
    TEXT,
    TIME,
    array,
    maybe,
    one_of,
    record,
    ref,
)

__all__ = ["verdict_schemas"]

Json = dict[str, Any]


def verdict_schemas() -> Json:
    """Schemas by name."""
    return {
        "Verdict": record(
            schema={"const": SCHEMA},
            link=TEXT,
            at=TIME,
            up=maybe(BOOLEAN),
            up_since=maybe(TIME),
            ends=record(a=ref("End"), b=ref("End")),
            directions=record(ab=ref("Direction"), ba=ref("Direction")),
            downs_24h=COUNT,
            downs_7d=COUNT,
            downs_14d=COUNT,
            flaps=array(record({"from": TIME}, to=TIME, seen_by=array(TEXT), uncertainty_s=NUMBER)),
            outages=array(
                record(
                    {"from": TIME},
                    to=maybe(TIME),
                    cause=_values(Cause),
                    revised=BOOLEAN,
                    seen_by=array(TEXT),
                    uncertainty_s=NUMBER,
                )
            ),
            findings=array(ref("Finding")),
        ),
        "End": _end(),
        "Direction": _direction(),
        "Finding": _finding(),
        "Power": {
            "description": "dBm, no light, or not reported",
            "anyOf": [NUMBER, {"const": "no-light"}, {"type": "null"}],
        },
        "Interval": record(value=NUMBER, low=NUMBER, high=NUMBER),
    }


def _values(kind: type[Enum]) -> Json:
    return {"enum": [one.value for one in kind]}


def _end() -> Json:
    figure = maybe(NUMBER)
    return record(
        managed=BOOLEAN,
        answers=maybe(BOOLEAN),
        heard=maybe(TIME),
        oper=maybe(one_of(*(one.name.lower().replace("_", "-") for one in OperStatus))),
        oper_since=maybe(TIME),
        uptime_cs=maybe(COUNT),
        temp_c=figure,
        bias_ma=figure,
        vcc_v=figure,
        module_id=maybe(TEXT),
    )


def _direction() -> Json:
    figure = maybe(NUMBER)
    return record(
        rx_dbm=ref("Power"),
        tx_dbm=ref("Power"),
        read_at=maybe(TIME),
        margin_db=figure,
        headroom_db=figure,
        loss_db=figure,
        sensitivity_dbm=figure,
        overload_dbm=figure,
        limits=record(origin=_values(LimitOrigin), source=TEXT),
        accuracy_db=NUMBER,
        anchored=BOOLEAN,
        planned_loss_db=figure,
        planned_limit_db=figure,
        baseline=maybe(
            record(loss_db=NUMBER, spread_db=NUMBER, since=TIME, firm=BOOLEAN, by_owner=BOOLEAN)
        ),
        added_loss=maybe(ref("Interval")),
        compensation_db_per_c=maybe({**array(NUMBER), "minItems": 2, "maxItems": 2}),
        drift=maybe(_drift()),
        forecast=maybe(
            record(earliest=maybe(TIME), latest=maybe(TIME), to=maybe(_values(ForecastTo)))
        ),
        why_null=one_of("no-end-in-sight", "unknown", None),
        steps=array(_step()),
        flicker=BOOLEAN,
        daily_swing_db=figure,
        trend=_values(Trend),
        errors_24h=maybe(COUNT),
        frames_24h=maybe(COUNT),
    )


def _drift() -> Json:
    return record(
        value=NUMBER,
        low=NUMBER,
        high=NUMBER,
        window_days=COUNT,
        reported=BOOLEAN,
        season_excluded=BOOLEAN,
    )


def _step() -> Json:
    return record(
        time=TIME,
        time_low=TIME,
        time_high=TIME,
        db=NUMBER,
        low=NUMBER,
        high=NUMBER,
        transmitter_moved=BOOLEAN,
    )


def _finding() -> Json:
    where = {"direction": one_of("ab", "ba", None), "end": one_of("a", "b", None)}
    return record(
        where,
        kind=_values(FindingKind),
        severity=one_of(*(one.name.lower() for one in Severity)),
        since=TIME,
        cause=_values(Cause),
        confidence=_values(Confidence),
        alternatives=array(_values(Cause)),
        evidence=array(record(where, kind=_values(EvidenceKind), value=maybe(NUMBER), text=TEXT)),
        next_steps=array(_values(NextStep)),
    )
