"""JSON of what is no verdict: alerts, the ledger, this installation. Read-only."""

from __future__ import annotations

from typing import Any, Final

from flask import Blueprint, Response, jsonify

from strandkeeper import __version__
from strandkeeper.alerts.wording import finding_headline
from strandkeeper.model.alert import Alert
from strandkeeper.model.ledger_files import to_object
from strandkeeper.model.message import Outgoing
from strandkeeper.model.silence import Silence
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict_json import SCHEMA, finding_to_json
from strandkeeper.store import ledger
from strandkeeper.store.care import read_care
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.views.api import not_kept

__all__ = ["page"]

page = Blueprint("api_more", __name__, url_prefix="/api")
page.after_request(not_kept)

_ALERTS: Final = 200


def _time(time_ms: int | None) -> str | None:
    return None if time_ms is None else iso_utc(time_ms)


@page.get("/alerts")
def alerts() -> Response:
    """The newest alerts, what is muted, what could not be sent yet; as `alerts --json`."""
    record = here().record
    return jsonify(
        {
            "schema": SCHEMA,
            "station": here().settings.station,
            "alerts": [_alert(one) for one in record.alerts(_ALERTS)],
            "silences": [_silence(one) for one in record.silences()],
            "waiting": [_waiting(one) for one in record.waiting_messages()],
        }
    )


def _alert(alert: Alert) -> dict[str, Any]:
    link = next((one for one in here().settings.links if one.name == alert.finding.link), None)
    return {
        "number": alert.number,
        "link": alert.finding.link,
        "state": alert.state.value,
        "began": iso_utc(alert.began_ms),
        "changed": iso_utc(alert.changed_ms),
        "told": alert.told,
        "until": _time(alert.until_ms),
        "who": alert.who,
        "finding": finding_to_json(alert.finding),
        "text": None if link is None else finding_headline(link, alert.finding),
    }


def _silence(silence: Silence) -> dict[str, Any]:
    return {
        "link": silence.link,
        "from": iso_utc(silence.from_ms),
        "until": iso_utc(silence.until_ms),
        "who": silence.who,
    }


def _waiting(message: Outgoing) -> dict[str, Any]:
    return {
        "target": message.target,
        "key": message.message.key,
        "title": message.message.title,
        "attempts": message.attempts,
        "error": message.error,
    }


@page.get("/ledger")
def whole_ledger() -> Response:
    """Cables, strands, meter readings and work: the object of `cable CONFIG export --json`."""
    return jsonify(to_object(*here().record.ask(ledger.everything)))


@page.get("/about")
def about() -> Response:
    """The record file, its care, signs of life."""
    record = here().record
    info, care = record.info(), record.ask(read_care)
    kept = here().settings.store.retention
    return jsonify(
        {
            "schema": SCHEMA,
            "station": here().settings.station,
            "release": __version__,
            "record": {
                "format": info.format,
                "size_bytes": info.size_bytes,
                "log_bytes": info.wal_bytes,
                "begun": _time(info.begun_ms),
                "oldest_reading": _time(info.oldest_raw_ms),
                "oldest_summary": _time(info.oldest_ms),
                "newest_reading": _time(info.newest_ms),
                "raw_days": kept.raw_days,
                "five_minutes_days": kept.five_minutes_days,
            },
            "backup": _time(care.backup_ms),
            "sign_of_life": {
                "every_s": _every_s(),
                "arrived": None if care.beat is None else iso_utc(care.beat.at_ms),
                "refused": None if care.refused is None else iso_utc(care.refused.at_ms),
                "why_refused": None if care.refused is None else care.refused.why,
            },
        }
    )


def _every_s() -> float | None:
    heartbeat = here().settings.telling.heartbeat
    return None if heartbeat is None else heartbeat.every_s
