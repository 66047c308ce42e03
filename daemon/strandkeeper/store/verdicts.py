"""What the analysis says now: one row a direction for SQL, the whole of a link as JSON."""

from __future__ import annotations

import json
import sqlite3
from typing import Any, Final

from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict
from strandkeeper.model.verdict_json import verdict_from_json, verdict_to_json
from strandkeeper.optics.units import Db
from strandkeeper.store.keys import LinkNumbers, direction_number
from strandkeeper.store.readings import encode_power

__all__ = ["all_verdicts", "get_verdict", "put_verdict"]

COLUMNS: Final = (
    "direction_id, at_ms, optics_ms, rx_kind, rx_mdbm, tx_kind, tx_mdbm, margin_mdb, headroom_mdb, "
    "loss_mdb, baseline_mdb, added_loss_mdb, added_loss_low_mdb, added_loss_high_mdb, "
    "drift_mdb_a_month, forecast_earliest_ms, forecast_latest_ms, steps, trend"
)


def _mdb(value: Db | float | None) -> int | None:
    if value is None:
        return None
    return round((value.value if isinstance(value, Db) else value) * 1000)


def _direction_cells(number: int, at_ms: int, verdict: DirectionVerdict) -> tuple[Any, ...]:
    added, drift = verdict.added_loss, verdict.drift
    interval = (None,) * 3 if added is None else (added.value, added.low, added.high)
    return (
        number,
        at_ms,
        verdict.optics_ms,
        *encode_power(verdict.rx),
        *encode_power(verdict.tx),
        _mdb(verdict.margin),
        _mdb(verdict.headroom),
        _mdb(verdict.loss),
        None if verdict.baseline is None else _mdb(verdict.baseline.loss),
        *(_mdb(bound) for bound in interval),
        None if drift is None else _mdb(drift.slope.value),
        verdict.forecast.earliest_ms,
        verdict.forecast.latest_ms,
        len(verdict.steps),
        verdict.trend.value,
    )


def put_verdict(connection: sqlite3.Connection, links: LinkNumbers, verdict: LinkVerdict) -> None:
    """Replace what was said of the link before."""
    link_id = links.get(verdict.link)
    for direction in Direction:
        cells = _direction_cells(
            direction_number(link_id, direction), verdict.at_ms, verdict.direction(direction)
        )
        connection.execute(
            f"INSERT OR REPLACE INTO verdict ({COLUMNS}) VALUES ({', '.join('?' * 19)})", cells
        )
    connection.execute(
        "INSERT OR REPLACE INTO link_verdict (link_id, at_ms, up, severity, json) "
        "VALUES (?, ?, ?, ?, ?)",
        (
            link_id,
            verdict.at_ms,
            verdict.up,
            max((finding.severity for finding in verdict.findings), default=None),
            json.dumps(verdict_to_json(verdict), ensure_ascii=False, separators=(",", ":")),
        ),
    )


def get_verdict(connection: sqlite3.Connection, link_id: int) -> LinkVerdict | None:
    """The link's verdict, None before the first evaluation. Raises DecodeError."""
    row = connection.execute(
        "SELECT json FROM link_verdict WHERE link_id = ?", (link_id,)
    ).fetchone()
    return None if row is None else verdict_from_json(json.loads(row[0]))


def all_verdicts(connection: sqlite3.Connection) -> list[LinkVerdict]:
    """Every link's verdict, in the order in which the links came into the file."""
    rows = connection.execute("SELECT json FROM link_verdict ORDER BY link_id")
    return [verdict_from_json(json.loads(text)) for (text,) in rows]
