"""Targets, alerts, heartbeat and traps as pydantic sees them; see schema."""

from __future__ import annotations

from typing import Any, Final, Literal

from strandkeeper.config.table import Table, key

__all__ = ["CLOCK", "DAYS", "AlertsTable", "HeartbeatTable", "TargetTable", "TrapsTable"]

DAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
CLOCK: Final = r"^([01]\d|2[0-3]):[0-5]\d$"

_WHAT: Final = "the service address with its passwords"


def _url(way: str, example: str) -> Any:
    return key(f"{_WHAT}: {way}", example, None, min_length=1)


class TargetTable(Table):
    """[[target]]: who is told; exactly one of url_..., command, system_log."""

    name: str = key("your name for it", '"phone"', min_length=1)
    url_file: str | None = _url(
        "a file that holds nothing else (path relative to this file)", '"phone.url"'
    )
    url_env: str | None = _url("the name of an environment variable", '"PHONE_URL"')
    url_credential: str | None = _url(
        "the name of a systemd credential (LoadCredential=)", '"phone-url"'
    )
    command: list[str] | None = key(
        "a program of yours and its arguments; it gets the message as JSON on its stdin",
        '["/usr/local/bin/buzzer"]',
        None,
        min_length=1,
    )
    system_log: bool = key("write to this computer's system log", "true", False)
    severity: Literal["warning", "urgent"] = key("tell from this on", '"warning"', "warning")
    quiet: bool = key("keep the quiet hours of [alerts]", "true", True)
    weekly: bool = key("send it the weekly summary", "true", True)
    deadline_s: float = key("give one delivery so long [s]", "60", 60.0, ge=1, le=600)


class AlertsTable(Table):
    """[alerts]: what holds for all targets."""

    quiet_from: str = key(
        "from then on only what cannot wait (local time)", '"22:00"', "22:00", pattern=CLOCK
    )
    quiet_to: str = key("until then; the same: no quiet hours", '"07:00"', "07:00", pattern=CLOCK)
    length_unit: Literal["m", "ft"] = key("lengths in messages", '"m"', "m")
    temperature_unit: Literal["C", "F"] = key("temperatures in messages", '"C"', "C")
    give_up_days: float = key("try so long to deliver a message [days]", "7", 7.0, ge=0.01, le=60)
    no_readings_min: int = key(
        "tell when an end gives no light readings for [min]", "10", 10, ge=2, le=10080
    )
    watch_off_min: int = key(
        "tell when the watch itself was off for [min]", "15", 15, ge=1, le=10080
    )
    weekly: bool = key("send a summary each week", "true", True)
    weekly_day: Literal[
        "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"
    ] = key("on this day", '"monday"', "monday")
    weekly_at: str = key("at this local time", '"08:00"', "08:00", pattern=CLOCK)


class HeartbeatTable(Table):
    """[heartbeat]: a sign of life, to a target or to an address that misses it."""

    every_min: int = key("how often [min]", "60", 60, ge=1, le=10080)
    target: str | None = key("the [[target]] to send it to", '"phone"', None)
    url_file: str | None = key(
        "or an address to call (http, https): a file that holds nothing else",
        '"heartbeat.url"',
        None,
        min_length=1,
    )
    url_env: str | None = key(
        "the same: the name of an environment variable", '"HEARTBEAT_URL"', None, min_length=1
    )
    url_credential: str | None = key(
        "the same: the name of a systemd credential", '"heartbeat-url"', None, min_length=1
    )


class TrapsTable(Table):
    """[traps]: notifications that the switches send (linkDown, linkUp); off by default."""

    enabled: bool = key("listen for them", "true", False)
    host: str = key(
        "address of this machine that the switches send to", '"192.0.2.5"', "0.0.0.0", min_length=1
    )
    port: int = key(
        "UDP port; 162 needs a right that the service lacks", "10162", 10162, ge=1, le=65535
    )
    rate_per_s: float = key(
        "take at most so many a second from one switch", "10", 10.0, ge=0.1, le=1000
    )
