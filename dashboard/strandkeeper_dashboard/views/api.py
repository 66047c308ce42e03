"""JSON, read-only: the objects of `status --json`, and the small one that pages poll."""

from __future__ import annotations

import hashlib
from dataclasses import asdict
from typing import Any

from flask import Blueprint, Response, abort, jsonify

from strandkeeper import __version__
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict_json import SCHEMA, verdict_to_json
from strandkeeper_dashboard import health, openapi, queries
from strandkeeper_dashboard.context import here, window_of_request
from strandkeeper_dashboard.events_json import event_to_json
from strandkeeper_dashboard.story import events_of

__all__ = ["page"]

page = Blueprint("api", __name__, url_prefix="/api")


@page.after_request
def not_kept(response: Response) -> Response:
    """Figures are of the moment: nobody keeps them."""
    response.headers["Cache-Control"] = "no-store"
    return response


@page.get("/live")
def live() -> Response:
    """The moment, and a tag that changes when there is something new to show."""
    context = here()
    record = context.record
    known = queries.verdicts(record)
    moments = [*(v.at_ms for v in known.values()), *(s.at_ms for s in record.switches())]
    newest = max(moments, default=None)
    stale_after = health.record_stale_after_ms(context.settings)
    stale = newest is None or context.now_ms - newest > stale_after
    seen = f"{sorted(moments)} {stale}".encode()
    return jsonify(
        {
            "schema": SCHEMA,
            "now_ms": context.now_ms,
            "newest_ms": newest,
            "stale": stale,
            "tag": hashlib.blake2b(seen, digest_size=8).hexdigest(),
        }
    )


@page.get("/links")
def links() -> Response:
    """Every configured link with its verdict; null before its first evaluation."""
    context = here()
    known = queries.verdicts(context.record)
    found = []
    for link in context.settings.links:
        verdict = known.get(link.name)
        found.append(
            {
                "name": link.name,
                "id": context.slugs[link.name],
                "standing": health.standing(
                    verdict, context.now_ms, health.record_stale_after_ms(context.settings)
                ).value,
                "verdict": None if verdict is None else verdict_to_json(verdict),
            }
        )
    return jsonify({"schema": SCHEMA, "station": context.settings.station, "links": found})


@page.get("/links/<slug>")
def link(slug: str) -> Response:
    """The verdict of one link: the object that `status --json` gives."""
    context = here()
    verdict = context.record.verdict(context.link(slug).name)
    if verdict is None:
        abort(404, "This link has not been judged yet.")
    return jsonify(verdict_to_json(verdict))


@page.get("/links/<slug>/events")
def events(slug: str) -> Response:
    """What happened on one link in a window, newest first."""
    context = here()
    asked_link = context.link(slug)
    shown = window_of_request(asked_link)
    found = events_of(asked_link, context.record, shown)
    return jsonify(
        {
            "schema": SCHEMA,
            "from": iso_utc(shown.from_ms),
            "to": iso_utc(shown.to_ms),
            "events": [event_to_json(asked_link, event) for event in found],
        }
    )


@page.get("/switches")
def switches() -> Response:
    """How every switch answers."""
    found = [_switch(switch) for switch in here().record.switches()]
    return jsonify({"schema": SCHEMA, "switches": found})


def _switch(switch: SwitchHealth) -> dict[str, Any]:
    heard = switch.heard_ms
    return {
        "name": switch.switch,
        "at": iso_utc(switch.at_ms),
        "answered": switch.answered,
        "since": iso_utc(switch.since_ms),
        "heard": None if heard is None else iso_utc(heard),
        "misses": switch.misses,
        "round_trip_ms": switch.round_trip_ms,
        "error": switch.error,
        "hint": switch.hint,
        "uptime_cs": switch.uptime_cs,
        "sys_name": switch.identity.sys_name,
        "sys_descr": switch.identity.sys_descr,
        "enterprise": switch.identity.enterprise,
        "ports": [
            {
                "link": where.link,
                "end": where.end.name.lower(),
                "port": port.port,
                "if_index": port.if_index,
                "named_by": port.named_by,
                "reader": port.reader,
                "module": port.module,
            }
            for where, port in switch.ports.items()
        ],
        "missing_ports": list(switch.missing_ports),
        "power": None if switch.power is None else asdict(switch.power),
        "pings": [
            {
                "link": where.link,
                "end": where.end.name.lower(),
                **asdict(pings),
                "only_large_fail": pings.only_large_fail,
            }
            for where, pings in switch.pings.items()
        ],
    }


@page.get("/openapi.json")
def description() -> Response:
    """What this JSON is, for programs: OpenAPI 3.1."""
    return jsonify(openapi.description(__version__))
