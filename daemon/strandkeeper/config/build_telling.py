"""From the tables of targets, alerts, heartbeat and traps to plain values."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from strandkeeper.config.telling_tables import (
    DAYS,
    AlertsTable,
    HeartbeatTable,
    TargetTable,
    TrapsTable,
)
from strandkeeper.model.finding import Severity
from strandkeeper.model.message import CommandWay, SystemLogWay, Target, UrlWay, Way
from strandkeeper.model.switch import SecretKind, SecretRef
from strandkeeper.model.telling import Heartbeat, TellingSettings, TrapSettings

__all__ = ["build_telling", "build_traps"]


def build_telling(
    targets: Iterable[TargetTable],
    alerts: AlertsTable,
    heartbeat: HeartbeatTable | None,
    base: Path,
) -> TellingSettings:
    """How alerts are told; paths are relative to `base`."""
    return TellingSettings(
        targets=tuple(_target(t, base) for t in targets),
        quiet_from_min=_minute(alerts.quiet_from),
        quiet_to_min=_minute(alerts.quiet_to),
        feet=alerts.length_unit == "ft",
        fahrenheit=alerts.temperature_unit == "F",
        give_up_s=alerts.give_up_days * 86_400,
        no_readings_s=alerts.no_readings_min * 60,
        watch_off_s=alerts.watch_off_min * 60,
        weekly_day=DAYS.index(alerts.weekly_day) if alerts.weekly else None,
        weekly_min=_minute(alerts.weekly_at),
        heartbeat=None if heartbeat is None else _heartbeat(heartbeat, base),
    )


def build_traps(table: TrapsTable, sources: dict[str, tuple[str, ...]]) -> TrapSettings | None:
    """Where traps are listened for, None: nowhere."""
    if not table.enabled:
        return None
    return TrapSettings(
        host=table.host, port=table.port, rate_per_s=table.rate_per_s, sources=sources
    )


def _minute(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)


def _target(table: TargetTable, base: Path) -> Target:
    return Target(
        name=table.name,
        way=_way(table, base),
        least=Severity[table.severity.upper()],
        quiet=table.quiet,
        weekly=table.weekly,
        deadline_s=table.deadline_s,
    )


def _way(table: TargetTable, base: Path) -> Way:
    if table.command is not None:
        return CommandWay(command=tuple(table.command))
    if table.system_log:
        return SystemLogWay()
    url = _url(table, base)
    if url is None:
        raise ValueError("a target without a way must not pass the checks")
    return UrlWay(url=url)


def _heartbeat(table: HeartbeatTable, base: Path) -> Heartbeat:
    return Heartbeat(every_s=table.every_min * 60, target=table.target, url=_url(table, base))


def _url(table: TargetTable | HeartbeatTable, base: Path) -> SecretRef | None:
    if table.url_file is not None:
        return SecretRef(kind=SecretKind.FILE, where=str(base / table.url_file))
    if table.url_env is not None:
        return SecretRef(kind=SecretKind.ENVIRONMENT, where=table.url_env)
    if table.url_credential is not None:
        return SecretRef(kind=SecretKind.CREDENTIAL, where=table.url_credential)
    return None
