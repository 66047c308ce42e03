"""Switch health: of each switch the newest poll without its rows, and since when it answers."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import asdict
from typing import Any

from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.ping import Pings
from strandkeeper.model.poll import LinkEnd, PortIdentity, PowerSupply, SwitchIdentity, SwitchPoll

__all__ = ["all_switches", "put_switch"]


def _said(poll: SwitchPoll) -> dict[str, Any]:
    return {
        "round_trip_ms": poll.round_trip_ms,
        "error": poll.error,
        "hint": poll.hint,
        "uptime_cs": poll.uptime_cs,
        "identity": asdict(poll.identity),
        "ports": [
            {"link": where.link, "end": where.end.name, **asdict(port)}
            for where, port in poll.ports.items()
        ],
        "missing_ports": poll.missing_ports,
        "known_ports": poll.known_ports,
        "power": None if poll.power is None else asdict(poll.power),
        "pings": [
            {"link": where.link, "end": where.end.name, "said": asdict(pings)}
            for where, pings in poll.pings.items()
        ],
    }


def _port(said: dict[str, Any]) -> tuple[LinkEnd, PortIdentity]:
    where = LinkEnd(LinkName(said.pop("link")), End[said.pop("end")])
    return where, PortIdentity(**{**said, "remarks": tuple(said["remarks"])})


def _keep_known(poll: SwitchPoll, before: dict[str, Any]) -> dict[str, Any]:
    """A silent switch is still the switch it was: what it said of itself stays."""
    said = _said(poll)
    if not poll.answered:
        for name in ("identity", "ports", "missing_ports", "known_ports", "uptime_cs", "power"):
            said[name] = before.get(name, said[name])
    return said


def put_switch(connection: sqlite3.Connection, poll: SwitchPoll) -> None:
    """Replace what is known of the switch; the same poll a second time changes nothing."""
    row = connection.execute(
        "SELECT at_ms, answered, since_ms, heard_ms, misses, json FROM switch WHERE name = ?",
        (poll.switch,),
    ).fetchone()
    at_ms, answered, since, heard, misses, before = row or (None, None, 0, None, 0, "{}")
    if at_ms == poll.time_ms:
        return
    connection.execute(
        "INSERT OR REPLACE INTO switch (name, at_ms, answered, since_ms, heard_ms, misses, json) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            poll.switch,
            poll.time_ms,
            poll.answered,
            since if answered == poll.answered else poll.time_ms,
            poll.time_ms if poll.answered else heard,
            0 if poll.answered else misses + 1,
            json.dumps(
                _keep_known(poll, json.loads(before)), ensure_ascii=False, separators=(",", ":")
            ),
        ),
    )


def all_switches(connection: sqlite3.Connection) -> list[SwitchHealth]:
    """The health of every switch ever asked, by name."""
    rows = connection.execute(
        "SELECT name, at_ms, answered, since_ms, heard_ms, misses, json FROM switch ORDER BY name"
    ).fetchall()
    return [_decode(row) for row in rows]


def _decode(row: tuple[Any, ...]) -> SwitchHealth:
    name, at_ms, answered, since_ms, heard_ms, misses, text = row
    said = json.loads(text)
    return SwitchHealth(
        switch=SwitchName(name),
        at_ms=at_ms,
        answered=bool(answered),
        since_ms=since_ms,
        heard_ms=heard_ms,
        misses=misses,
        round_trip_ms=said["round_trip_ms"],
        error=said["error"],
        hint=said["hint"],
        uptime_cs=said["uptime_cs"],
        identity=SwitchIdentity(**said["identity"]),
        ports=dict(_port(port) for port in said["ports"]),
        missing_ports=tuple(PortName(port) for port in said["missing_ports"]),
        known_ports=tuple(PortName(port) for port in said["known_ports"]),
        power=PowerSupply(**power) if (power := said.get("power")) else None,
        pings={
            LinkEnd(LinkName(p["link"]), End[p["end"]]): Pings.from_json(p["said"])
            for p in said.get("pings", ())
        },
    )
