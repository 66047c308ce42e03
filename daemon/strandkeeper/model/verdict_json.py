"""A verdict as plain JSON, schema 1, and back without loss.

The shape is the public one: `status --json`, `assess --json`, the dashboard's data and the record
file hold the same object.

    schema        1
    link          name
    at            ISO 8601 UTC, like every time below
    up, up_since  true | false | null (not known); since when
    ends          {a, b}: managed, answers, heard, oper, oper_since, uptime_cs [0.01 s], temp_c,
                  bias_ma, vcc_v, module_id
    directions    {ab, ba}: see verdict_json_direction
    downs_24h     how often it went down in a day, downs_7d in a week, downs_14d in two
    flaps         [{from, to, seen_by[], uncertainty_s}]  seen_by: "poll of A", "last change of A",
                  "trap of A", and of B
    outages       [{from, to (null: lasts), cause, revised, seen_by[], uncertainty_s}]
    findings      [{kind, direction, end, severity, since, cause, confidence, alternatives[],
                  evidence[{kind, end, direction, value, text}], next_steps[]}]

Ends are "a"/"b", directions "ab"/"ba", kinds, causes and steps the words of model/finding. null is
always "not known".
"""

from __future__ import annotations

from typing import Any, Final

from strandkeeper.errors import DecodeError, InputError
from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    Finding,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.times import iso_utc, ms_from_iso
from strandkeeper.model.verdict import EndState, Flap, LinkVerdict, Outage
from strandkeeper.model.verdict_json_direction import (
    direction_from_json,
    direction_to_json,
    maybe_iso,
    maybe_ms,
)

__all__ = ["SCHEMA", "finding_from_json", "finding_to_json", "verdict_from_json", "verdict_to_json"]

SCHEMA: Final = 1


def verdict_to_json(verdict: LinkVerdict) -> dict[str, Any]:
    """The whole verdict as JSON values; floats are not rounded."""
    return {
        "schema": SCHEMA,
        "link": str(verdict.link),
        "at": iso_utc(verdict.at_ms),
        "up": verdict.up,
        "up_since": maybe_iso(verdict.up_since_ms),
        "ends": {"a": _end_to_json(verdict.a), "b": _end_to_json(verdict.b)},
        "directions": {"ab": direction_to_json(verdict.ab), "ba": direction_to_json(verdict.ba)},
        "downs_24h": verdict.downs_24h,
        "downs_7d": verdict.downs_7d,
        "downs_14d": verdict.downs_14d,
        "flaps": [_flap_to_json(f) for f in verdict.flaps],
        "outages": [_outage_to_json(o) for o in verdict.outages],
        "findings": [finding_to_json(f) for f in verdict.findings],
    }


def verdict_from_json(data: dict[str, Any]) -> LinkVerdict:
    """The verdict that `verdict_to_json` wrote. Raises DecodeError for another schema or shape."""
    if data.get("schema") != SCHEMA:
        raise DecodeError(
            f"a verdict of schema {data.get('schema')!r}; this release reads schema {SCHEMA}",
            hint="it was written by another release: run that one, or let the verdict be made anew",
        )
    try:
        return _verdict(data)
    except (KeyError, TypeError, ValueError, AttributeError, InputError) as error:
        raise DecodeError(
            f"a verdict of the wrong shape: {type(error).__name__}: {error}",
            hint="the verdict is made anew at the next evaluation; the readings are not touched",
        ) from error


def _verdict(data: dict[str, Any]) -> LinkVerdict:
    link = LinkName(data["link"])
    return LinkVerdict(
        link=link,
        at_ms=ms_from_iso(data["at"]),
        up=data["up"],
        up_since_ms=maybe_ms(data["up_since"]),
        a=_end_from_json(End.A, data["ends"]["a"]),
        b=_end_from_json(End.B, data["ends"]["b"]),
        ab=direction_from_json(Direction.AB, data["directions"]["ab"]),
        ba=direction_from_json(Direction.BA, data["directions"]["ba"]),
        flaps=tuple(_flap_from_json(f) for f in data["flaps"]),
        outages=tuple(_outage_from_json(o) for o in data["outages"]),
        findings=tuple(finding_from_json(link, f) for f in data["findings"]),
        downs_24h=data.get("downs_24h", 0),
        downs_7d=data.get("downs_7d", 0),
        downs_14d=data.get("downs_14d", 0),
    )


def finding_to_json(finding: Finding) -> dict[str, Any]:
    """One finding; the link's name is that of the verdict around it."""
    return {
        "kind": finding.kind.value,
        "direction": _value(finding.direction),
        "end": _end_name(finding.end),
        "severity": finding.severity.name.lower(),
        "since": iso_utc(finding.since_ms),
        "cause": finding.cause.value,
        "confidence": finding.confidence.value,
        "alternatives": [c.value for c in finding.alternatives],
        "evidence": [_evidence_to_json(e) for e in finding.evidence],
        "next_steps": [s.value for s in finding.next_steps],
    }


def finding_from_json(link: LinkName, data: dict[str, Any]) -> Finding:
    """The finding that `finding_to_json` wrote. Raises KeyError or ValueError for another shape."""
    return Finding(
        link=link,
        kind=FindingKind(data["kind"]),
        direction=_direction(data["direction"]),
        end=_end(data["end"]),
        severity=Severity[data["severity"].upper()],
        since_ms=ms_from_iso(data["since"]),
        cause=Cause(data["cause"]),
        confidence=Confidence(data["confidence"]),
        alternatives=tuple(Cause(c) for c in data["alternatives"]),
        evidence=tuple(_evidence_from_json(e) for e in data["evidence"]),
        next_steps=tuple(NextStep(s) for s in data["next_steps"]),
    )


def _evidence_to_json(evidence: Evidence) -> dict[str, Any]:
    return {
        "kind": evidence.kind.value,
        "end": _end_name(evidence.end),
        "direction": _value(evidence.direction),
        "value": evidence.value,
        "text": evidence.text,
    }


def _evidence_from_json(data: dict[str, Any]) -> Evidence:
    return Evidence(
        kind=EvidenceKind(data["kind"]),
        end=_end(data["end"]),
        direction=_direction(data["direction"]),
        value=data["value"],
        text=data["text"],
    )


def _end_to_json(state: EndState) -> dict[str, Any]:
    return {
        "managed": state.managed,
        "answers": state.answers,
        "heard": maybe_iso(state.heard_ms),
        "oper": None if state.oper is None else _words(state.oper.name),
        "oper_since": maybe_iso(state.oper_since_ms),
        "uptime_cs": state.uptime_cs,
        "temp_c": state.temp_c,
        "bias_ma": state.bias_ma,
        "vcc_v": state.vcc_v,
        "module_id": state.module_id,
    }


def _end_from_json(end: End, data: dict[str, Any]) -> EndState:
    return EndState(
        end=end,
        managed=data["managed"],
        answers=data["answers"],
        heard_ms=maybe_ms(data["heard"]),
        oper=None if data["oper"] is None else OperStatus[data["oper"].upper().replace("-", "_")],
        oper_since_ms=maybe_ms(data["oper_since"]),
        uptime_cs=data["uptime_cs"],
        temp_c=data["temp_c"],
        bias_ma=data["bias_ma"],
        vcc_v=data["vcc_v"],
        module_id=data["module_id"],
    )


def _flap_to_json(flap: Flap) -> dict[str, Any]:
    return {
        "from": iso_utc(flap.from_ms),
        "to": iso_utc(flap.to_ms),
        "seen_by": list(flap.seen_by),
        "uncertainty_s": flap.uncertainty_s,
    }


def _flap_from_json(data: dict[str, Any]) -> Flap:
    return Flap(
        from_ms=ms_from_iso(data["from"]),
        to_ms=ms_from_iso(data["to"]),
        seen_by=tuple(data["seen_by"]),
        uncertainty_s=data["uncertainty_s"],
    )


def _outage_to_json(outage: Outage) -> dict[str, Any]:
    return {
        "from": iso_utc(outage.from_ms),
        "to": maybe_iso(outage.to_ms),
        "cause": outage.cause.value,
        "revised": outage.revised,
        "seen_by": list(outage.seen_by),
        "uncertainty_s": outage.uncertainty_s,
    }


def _outage_from_json(data: dict[str, Any]) -> Outage:
    return Outage(
        from_ms=ms_from_iso(data["from"]),
        to_ms=maybe_ms(data["to"]),
        cause=Cause(data["cause"]),
        revised=data["revised"],
        seen_by=tuple(data.get("seen_by", ())),
        uncertainty_s=data.get("uncertainty_s", 0.0),
    )


def _words(name: str) -> str:
    return name.lower().replace("_", "-")


def _value(direction: Direction | None) -> str | None:
    return None if direction is None else direction.value


def _direction(text: str | None) -> Direction | None:
    return None if text is None else Direction(text)


def _end_name(end: End | None) -> str | None:
    return None if end is None else end.name.lower()


def _end(text: str | None) -> End | None:
    return None if text is None else End[text.upper()]
