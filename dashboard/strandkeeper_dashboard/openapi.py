"""The description of the JSON, OpenAPI 3.1, made from the same words as the answers. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import Any, Final

from strandkeeper.model.verdict_json import SCHEMA
from strandkeeper_dashboard import plot
from strandkeeper_dashboard.chart import PANEL_IDS
from strandkeeper_dashboard.health import Standing
from strandkeeper_dashboard.openapi_more import more_schemas
from strandkeeper_dashboard.openapi_verdict import verdict_schemas
from strandkeeper_dashboard.schema_parts import (
    BOOLEAN,
    COUNT,
    INTEGER,
    NUMBER,
    TEXT,
    TIME,
    array,
    maybe,
    one_of,
    record,
    ref,
)
from strandkeeper_dashboard.window import RANGES

__all__ = ["description"]

Json = dict[str, Any]

_SLUG: Final[Json] = {
    "name": "id",
    "in": "path",
    "required": True,
    "description": "the link's `id` in /api/links",
    "schema": {"type": "string", "minLength": 1},
}
_WINDOW: Final[list[Json]] = [
    {
        "name": "range",
        "in": "query",
        "description": "a stretch up to now; without any: 1d",
        "schema": {"enum": [r.id for r in RANGES]},
    },
    *(
        {
            "name": name,
            "in": "query",
            "description": "any other stretch, at least a minute: ISO 8601 with a zone; both or"
            " neither",
            "schema": {"type": "string", "format": "date-time"},
        }
        for name in ("from", "to")
    ),
]
_SHOW: Final[Json] = {
    "name": "show",
    "in": "query",
    "description": "the panels wanted, each named once; without any: all but `margin`",
    "schema": {"type": "array", "items": {"enum": list(PANEL_IDS)}},
}


def description(version: str) -> Json:
    """The whole file, for the release `version`."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Figures of a Strandkeeper station",
            "version": version,
            "description": "Read-only. Times are ISO 8601 UTC, null is always 'not known', a power"
            " is a number in dBm, 'no-light' or null (not reported). A station with users wants"
            " the session of one of them, or the token of a script (`strandkeeper user token`).",
        },
        "servers": [{"url": ".."}],
        "paths": {
            "/api/live": _get("The moment, and a tag that changes with the record", "Live"),
            "/api/links": _get("Every link with its verdict", "Links"),
            "/api/links/{id}": _get("The verdict of one link", "Verdict", [_SLUG], 404),
            "/api/links/{id}/events": _get(
                "What happened on one link, newest first", "Events", [_SLUG, *_WINDOW], 400, 404
            ),
            "/api/links/{id}/trend": _get(
                "The trend of one link", "Trend", [_SLUG, *_WINDOW, _SHOW], 400, 404
            ),
            "/api/switches": _get("How every switch answers", "Switches"),
            "/api/alerts": _get("Alerts, what is muted, what could not be sent yet", "Alerts"),
            "/api/ledger": _get("Cables, strands, meter readings, work on links", "Ledger"),
            "/api/about": _get("The record file, its care, signs of life", "About"),
        },
        "components": {
            "schemas": {**verdict_schemas(), **_schemas(), **more_schemas()},
            "securitySchemes": {
                "session": {"type": "apiKey", "in": "cookie", "name": "strandkeeper-session"},
                "token": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "of a script; it reads these addresses and nothing else",
                },
            },
        },
        "security": [{}, {"token": []}, {"session": []}],
    }


def _get(summary: str, answer: str, parameters: Iterable[Json] = (), *errors: int) -> Json:
    words = {
        400: "what was asked for cannot be read",
        401: "somebody has to log in first, or there is no script with that token",
        404: "there is none of that name, or it was not judged yet",
        429: "too many wrong tokens: wait as long as Retry-After says",
        503: "there is no record to read",
    }
    failing = {
        str(status): {"description": words[status], "content": _content("Error")}
        for status in (401, 429, 503, *errors)
    }
    return {
        "get": {
            "summary": summary,
            "operationId": answer.lower(),
            "parameters": list(parameters),
            "responses": {"200": {"description": summary, "content": _content(answer)}, **failing},
        }
    }


def _content(name: str) -> Json:
    return {"application/json": {"schema": ref(name)}}


def _schemas() -> Json:
    return {
        "Error": record(
            error=record(status=INTEGER, code=TEXT, message=TEXT, hint=TEXT),
        ),
        "Live": record(
            schema={"const": SCHEMA}, now_ms=COUNT, newest_ms=maybe(COUNT), stale=BOOLEAN, tag=TEXT
        ),
        "Links": record(
            schema={"const": SCHEMA},
            station=TEXT,
            links=array(
                record(
                    name=TEXT,
                    id=TEXT,
                    standing=_words(Standing),
                    verdict=maybe(ref("Verdict")),
                )
            ),
        ),
        "Events": _events(),
        "Switches": record(schema={"const": SCHEMA}, switches=array(_switch())),
        "Trend": _trend(),
    }


def _words(kind: type[Enum]) -> Json:
    return {"enum": [one.value for one in kind]}


def _events() -> Json:
    event = record(
        time=TIME,
        kind=TEXT,
        end=one_of("a", "b", None),
        direction=one_of("ab", "ba", None),
        value=maybe(NUMBER),
        uncertainty_s=NUMBER,
        text=TEXT,
    )
    return record({"from": TIME}, schema={"const": SCHEMA}, to=TIME, events=array(event))


def _switch() -> Json:
    port = record(
        link=TEXT,
        end=one_of("a", "b"),
        port=TEXT,
        if_index=COUNT,
        named_by=TEXT,
        reader=TEXT,
        module=TEXT,
    )
    power = record(
        budget_w=maybe(COUNT),
        draw_w=maybe(COUNT),
        denied=maybe(COUNT),
        faulty=maybe(COUNT),
        ups_battery=TEXT,
        ups_on_battery_s=maybe(COUNT),
        ups_minutes_left=maybe(COUNT),
        ups_charge_percent=maybe(COUNT),
        ups_source=TEXT,
    )
    tally = record(sent=COUNT, came=COUNT, ms=maybe(NUMBER))
    pings = record(
        link=TEXT,
        end=one_of("a", "b"),
        address=TEXT,
        octets=COUNT,
        small=tally,
        large=tally,
        trouble=TEXT,
        only_large_fail=BOOLEAN,
    )
    return record(
        name=TEXT,
        at=TIME,
        answered=BOOLEAN,
        since=TIME,
        heard=maybe(TIME),
        misses=COUNT,
        round_trip_ms=maybe(NUMBER),
        error=TEXT,
        hint=TEXT,
        uptime_cs=maybe(COUNT),
        sys_name=maybe(TEXT),
        sys_descr=maybe(TEXT),
        enterprise=maybe(COUNT),
        ports=array(port),
        missing_ports=array(TEXT),
        power=maybe(power),
        pings=array(pings),
    )


def _trend() -> Json:
    numbers = array(maybe(INTEGER))
    line = record(
        id=TEXT,
        role=one_of("ab", "ba"),
        style=one_of("plain", "raw", "drift"),
        gap_s=COUNT,
        per_unit=COUNT,
        weakest=maybe(INTEGER),
        values=numbers,
        low=numbers,
        high=numbers,
        trace={"type": "object", "description": "how this page's own plot draws it"},
    )
    panel = one_of(*PANEL_IDS)
    stretch = {"from_s": INTEGER, "to_s": INTEGER}
    return record(
        {"from": TIME},
        schema={"const": plot.SCHEMA},
        to=TIME,
        resolution=TEXT,
        t0_ms=COUNT,
        utc_offset_s=INTEGER,
        ahead_s=maybe(INTEGER),
        axes={"type": "object", "additionalProperties": TEXT},
        t_s=array(INTEGER),
        lines=array(line),
        limits=array(record(kind=TEXT, value=INTEGER, label=TEXT, panel=panel, per_unit=COUNT)),
        spans=array(record(stretch, kind=TEXT, row=one_of(0, 1), text=TEXT)),
        jumps=array(record(stretch, role=one_of("ab", "ba"), label=TEXT)),
        outlooks=array(record(stretch, role=one_of("ab", "ba"), value=INTEGER, text=TEXT)),
        crowded=BOOLEAN,
        marks=array(record(t_s=INTEGER, kind=TEXT, text=TEXT, id=TEXT)),
        layout={"type": "object", "description": "of this page's own plot"},
    )
