"""Alerts and every step of them."""

from __future__ import annotations

import json
import sqlite3
from typing import Any, Final

from strandkeeper.model.alert import Alert, AlertEvent, AlertState, Transition
from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.names import LinkName
from strandkeeper.model.silence import Silence
from strandkeeper.model.verdict_json import finding_from_json, finding_to_json

__all__ = [
    "all_silences",
    "ended_in_silence",
    "newest_alerts",
    "open_alerts",
    "put_alert",
    "put_silence",
    "put_transition",
    "remove_silence",
    "transitions_of",
]

COLUMNS: Final = (
    "number, link, direction, end, kind, state, severity, began_ms, changed_ms, held_from_ms, "
    "quiet_ms, told, told_severity, lasting, until_ms, who, finding"
)
_MARKS: Final = ", ".join("?" * 17)


def put_alert(connection: sqlite3.Connection, alert: Alert) -> None:
    """Enter an alert or what has become of it, inside the caller's transaction."""
    link, direction, end, kind = alert.key
    finding = json.dumps(finding_to_json(alert.finding), ensure_ascii=False)
    cells = (
        *(alert.number, link, direction, end, kind, alert.state.value),
        *(int(alert.finding.severity), alert.began_ms, alert.changed_ms, alert.held_from_ms),
        *(alert.quiet_ms, alert.told, alert.told_severity, int(alert.lasting), alert.until_ms),
        *(alert.who, finding),
    )
    names = COLUMNS.split(", ")[1:]
    changes = ", ".join(f"{name} = excluded.{name}" for name in names)
    connection.execute(
        f"INSERT INTO alert ({COLUMNS}) VALUES ({_MARKS}) "
        f"ON CONFLICT (number) DO UPDATE SET {changes}",
        cells,
    )


def put_transition(connection: sqlite3.Connection, step: Transition) -> None:
    """Append one step, inside the caller's transaction; the alert must be there.

    A step that is there already is left alone: one whose commit was in doubt is written again.
    """
    before = None if step.before is None else step.before.value
    connection.execute(
        "INSERT INTO alert_transition (alert, at_ms, before, event, after, who) "
        "SELECT ?1, ?2, ?3, ?4, ?5, ?6 WHERE NOT EXISTS (SELECT 1 FROM alert_transition "
        "WHERE alert = ?1 AND at_ms = ?2 AND before IS ?3 AND event = ?4 AND after = ?5)",
        (step.alert, step.at_ms, before, step.event.value, step.after.value, step.who),
    )


def open_alerts(connection: sqlite3.Connection) -> list[Alert]:
    """Every alert that is not cleared, oldest first. Raises DecodeError or ValueError."""
    rows = connection.execute(
        f"SELECT {COLUMNS} FROM alert WHERE state <> 'cleared' ORDER BY number"
    )
    return [_decode(row) for row in rows.fetchall()]


def newest_alerts(connection: sqlite3.Connection, limit: int) -> list[Alert]:
    """The newest alerts, also those that are over, newest first."""
    rows = connection.execute(
        f"SELECT {COLUMNS} FROM alert WHERE told > 0 OR state <> 'cleared' "
        "ORDER BY number DESC LIMIT ?",
        (limit,),
    )
    return [_decode(row) for row in rows.fetchall()]


def transitions_of(connection: sqlite3.Connection, number: int) -> list[Transition]:
    """Every step of one alert, oldest first."""
    rows = connection.execute(
        "SELECT at_ms, before, event, after, who FROM alert_transition WHERE alert = ? ORDER BY id",
        (number,),
    )
    return [
        Transition(
            alert=number,
            at_ms=at_ms,
            before=None if before is None else AlertState(before),
            event=AlertEvent(event),
            after=AlertState(after),
            who=who,
        )
        for at_ms, before, event, after, who in rows.fetchall()
    ]


def ended_in_silence(connection: sqlite3.Connection, silence: Silence) -> list[Finding]:
    """What was muted on a silenced link and ended since the silence began, in that order."""
    rows = connection.execute(
        "SELECT alert.finding FROM alert_transition "
        "JOIN alert ON alert.number = alert_transition.alert "
        "WHERE alert.link = ? AND event = ? AND before = ? AND at_ms >= ? "
        "ORDER BY alert_transition.id",
        (silence.link, AlertEvent.STEADY, AlertState.MUTED, silence.from_ms),
    )
    return [finding_from_json(silence.link, json.loads(text)) for (text,) in rows.fetchall()]


def put_silence(connection: sqlite3.Connection, silence: Silence) -> None:
    """Silence a link, or change how long, inside the caller's transaction."""
    connection.execute(
        "INSERT OR REPLACE INTO silence (link, from_ms, until_ms, who, why) VALUES (?, ?, ?, ?, ?)",
        (silence.link, silence.from_ms, silence.until_ms, silence.who, silence.why),
    )


def remove_silence(connection: sqlite3.Connection, link: LinkName) -> None:
    """The silence is over."""
    connection.execute("DELETE FROM silence WHERE link = ?", (link,))


def all_silences(connection: sqlite3.Connection) -> list[Silence]:
    """Every silence, by link."""
    rows = connection.execute("SELECT link, from_ms, until_ms, who, why FROM silence ORDER BY link")
    return [
        Silence(link=LinkName(link), from_ms=from_ms, until_ms=until_ms, who=who, why=why)
        for link, from_ms, until_ms, who, why in rows.fetchall()
    ]


def _decode(row: tuple[Any, ...]) -> Alert:
    cells = dict(zip(COLUMNS.split(", "), row, strict=True))
    told_severity = cells["told_severity"]
    return Alert(
        number=cells["number"],
        finding=finding_from_json(LinkName(cells["link"]), json.loads(cells["finding"])),
        state=AlertState(cells["state"]),
        began_ms=cells["began_ms"],
        changed_ms=cells["changed_ms"],
        held_from_ms=cells["held_from_ms"],
        quiet_ms=cells["quiet_ms"],
        told=cells["told"],
        told_severity=None if told_severity is None else Severity(told_severity),
        lasting=bool(cells["lasting"]),
        until_ms=cells["until_ms"],
        who=cells["who"],
    )
