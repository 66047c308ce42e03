"""A piece of work as JSON, for the record and for scripts, and back without loss.

schema        1
id, link, what, why, who, note, end, direction, cable, strand, matings, commissioning
started, finished, baseline, accepted, closed     ISO 8601 in UTC, or null
old_baseline  {"ab": {value, low, high}, ...} in dB
directions    {"ab": {"before": side, "after": side, "verdict": {...}, "counted": {...},
              "checks": [...]}, ...}
side          from, to, n, dark, by_loss, level {value, low, high}, rx_dbm, spread_db, peak_db,
              worst_hour_db, lasted_ms, coldest_c
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from strandkeeper.errors import DecodeError
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.rework import (
    Check,
    CheckKind,
    Counted,
    DirectionReport,
    Night,
    Outcome,
    Rework,
    ReworkVerdict,
    Side,
    Worth,
)
from strandkeeper.model.times import iso_utc, ms_from_iso
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.units import Db

__all__ = ["SCHEMA", "rework_from_json", "rework_to_json"]

SCHEMA: Final = 1


def rework_to_json(rework: Rework) -> dict[str, Any]:
    """Plain JSON values."""
    return {
        "schema": SCHEMA,
        "id": rework.id,
        "link": rework.link,
        "what": rework.what,
        "why": rework.why,
        "who": rework.who,
        "note": rework.note,
        "direction": rework.direction,
        "end": None if rework.end is None else rework.end.name,
        "cable": rework.cable,
        "strand": rework.strand,
        "matings": rework.matings,
        "commissioning": rework.commissioning,
        "started": iso_utc(rework.started_ms),
        "finished": _time(rework.finished_ms),
        "baseline": _time(rework.baseline_ms),
        "accepted": _time(rework.accepted_ms),
        "closed": _time(rework.closed_ms),
        "old_baseline": {d.value: _interval(i) for d, i in rework.old_baseline.items()},
        "coldest_before_c": {d.value: c for d, c in rework.coldest_before_c.items()},
        "swing_before_c": {d.value: c for d, c in rework.swing_before_c.items()},
        "directions": {d.value: _report(r) for d, r in rework.reports.items()},
    }


def rework_from_json(data: Mapping[str, Any]) -> Rework:
    """The work that `rework_to_json` wrote. Raises DecodeError for another schema or shape."""
    if data.get("schema") != SCHEMA:
        raise DecodeError(f"work of schema {data.get('schema')!r}; this release reads {SCHEMA}")
    try:
        return _rework(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise DecodeError(f"work of the wrong shape: {error!r}") from error


def _rework(data: Mapping[str, Any]) -> Rework:
    direction, end = data["direction"], data["end"]
    return Rework(
        id=data["id"],
        link=LinkName(data["link"]),
        what=data["what"],
        why=data["why"],
        who=data["who"],
        note=data["note"],
        direction=None if direction is None else Direction(direction),
        end=None if end is None else End[end],
        cable=data["cable"],
        strand=data["strand"],
        matings=data["matings"],
        commissioning=data["commissioning"],
        started_ms=ms_from_iso(data["started"]),
        finished_ms=_ms(data["finished"]),
        baseline_ms=_ms(data["baseline"]),
        accepted_ms=_ms(data["accepted"]),
        closed_ms=_ms(data["closed"]),
        old_baseline={
            Direction(d): Interval(**i) for d, i in data["old_baseline"].items() if i is not None
        },
        coldest_before_c={Direction(d): c for d, c in data["coldest_before_c"].items()},
        swing_before_c={Direction(d): c for d, c in data.get("swing_before_c", {}).items()},
        reports={Direction(d): _report_back(r) for d, r in data["directions"].items()},
    )


def _time(value: int | None) -> str | None:
    return None if value is None else iso_utc(value)


def _ms(text: str | None) -> int | None:
    return None if text is None else ms_from_iso(text)


def _interval(value: Interval | None) -> dict[str, float] | None:
    if value is None:
        return None
    return {"value": value.value, "low": value.low, "high": value.high}


def _interval_back(data: Mapping[str, float] | None) -> Interval | None:
    return None if data is None else Interval(**data)


def _db(value: Db | None) -> float | None:
    return None if value is None else value.value


def _db_back(value: float | None) -> Db | None:
    return None if value is None else Db(value)


def _report(report: DirectionReport) -> dict[str, Any]:
    verdict, counted = report.verdict, report.counted
    return {
        "before": _side(report.before),
        "after": _side(report.after),
        "verdict": {
            "worth": verdict.worth.value,
            "change": _interval(verdict.change),
            "allowed_db": verdict.allowed.value,
            "light_back": verdict.light_back,
            "light_gone": verdict.light_gone,
            "restless": verdict.restless,
            "provisional": verdict.provisional,
            "night": None if verdict.night is None else verdict.night.value,
        },
        "counted": {
            "bits": counted.bits,
            "errors": counted.errors,
            "unknown": counted.unknown,
            "counted_ms": counted.counted_ms,
            "through": iso_utc(counted.through_ms),
        },
        "checks": [_check(check) for check in report.checks],
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "kind": check.kind.value,
        "outcome": check.outcome.value,
        "got": check.got,
        "limit": check.limit,
        "ratio": check.ratio,
        "errors": check.errors,
        "left_s": check.left_s,
    }


def _side(side: Side) -> dict[str, Any]:
    return {
        "from": iso_utc(side.from_ms),
        "to": iso_utc(side.to_ms),
        "n": side.n,
        "dark": side.dark,
        "by_loss": side.by_loss,
        "level": _interval(side.level),
        "rx_dbm": side.rx_dbm,
        "spread_db": _db(side.spread),
        "peak_db": _db(side.peak),
        "worst_hour_db": _db(side.worst_hour),
        "lasted_ms": side.lasted_ms,
        "coldest_c": side.coldest_c,
    }


def _side_back(data: Mapping[str, Any]) -> Side:
    return Side(
        from_ms=ms_from_iso(data["from"]),
        to_ms=ms_from_iso(data["to"]),
        n=data["n"],
        dark=data["dark"],
        by_loss=data["by_loss"],
        level=_interval_back(data["level"]),
        rx_dbm=data["rx_dbm"],
        spread=_db_back(data["spread_db"]),
        peak=_db_back(data["peak_db"]),
        worst_hour=_db_back(data["worst_hour_db"]),
        lasted_ms=data["lasted_ms"],
        coldest_c=data["coldest_c"],
    )


def _report_back(data: Mapping[str, Any]) -> DirectionReport:
    verdict, counted = data["verdict"], data["counted"]
    return DirectionReport(
        before=_side_back(data["before"]),
        after=_side_back(data["after"]),
        verdict=ReworkVerdict(
            worth=Worth(verdict["worth"]),
            change=_interval_back(verdict["change"]),
            allowed=Db(verdict["allowed_db"]),
            light_back=verdict["light_back"],
            light_gone=verdict["light_gone"],
            restless=verdict["restless"],
            provisional=verdict["provisional"],
            night=None if verdict.get("night") is None else Night(verdict["night"]),
        ),
        counted=Counted(
            bits=counted["bits"],
            errors=counted["errors"],
            unknown=counted["unknown"],
            counted_ms=counted["counted_ms"],
            through_ms=ms_from_iso(counted["through"]),
        ),
        checks=tuple(_check_back(c) for c in data["checks"]),
    )


def _check_back(data: Mapping[str, Any]) -> Check:
    return Check(
        kind=CheckKind(data["kind"]),
        outcome=Outcome(data["outcome"]),
        got=data["got"],
        limit=data["limit"],
        ratio=data["ratio"],
        errors=data["errors"],
        left_s=data["left_s"],
    )
