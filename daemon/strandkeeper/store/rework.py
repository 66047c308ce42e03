"""Work on links, and who looks at a link while working on it."""

from __future__ import annotations

import json
import sqlite3
from typing import Final

from strandkeeper.model.live import LiveGrant
from strandkeeper.model.names import LinkName
from strandkeeper.model.rework import Rework
from strandkeeper.model.rework_json import rework_from_json, rework_to_json

__all__ = ["drop_live", "live_grants", "put_live", "put_rework", "rework", "reworks"]

KEPT_LIVE_ENTRIES_MS: Final = 3_600_000


def put_rework(connection: sqlite3.Connection, work: Rework) -> None:
    """Enter a piece of work, or what has become of it, inside the caller's transaction."""
    text = json.dumps(rework_to_json(work), ensure_ascii=False, allow_nan=False)
    connection.execute(
        "INSERT INTO rework (id, link, started_ms, finished_ms, closed_ms, cable, strand, json) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO UPDATE SET "
        "finished_ms = excluded.finished_ms, closed_ms = excluded.closed_ms, json = excluded.json",
        (
            *(work.id, work.link, work.started_ms, work.finished_ms, work.closed_ms),
            *(work.cable, work.strand, text),
        ),
    )


def reworks(
    connection: sqlite3.Connection,
    link: LinkName | None = None,
    *,
    unclosed: bool = False,
    limit: int = 200,
) -> list[Rework]:
    """Work on a link, or on all, newest first; `unclosed`: only what is not done with yet."""
    rows = connection.execute(
        "SELECT json FROM rework WHERE (? IS NULL OR link = ?) AND (? = 0 OR closed_ms IS NULL) "
        "ORDER BY started_ms DESC, id DESC LIMIT ?",
        (link, link, int(unclosed), limit),
    )
    return [rework_from_json(json.loads(text)) for (text,) in rows]


def rework(connection: sqlite3.Connection, number: int) -> Rework | None:
    """One piece of work by its number."""
    row = connection.execute("SELECT json FROM rework WHERE id = ?", (number,)).fetchone()
    return None if row is None else rework_from_json(json.loads(row[0]))


def put_live(connection: sqlite3.Connection, grant: LiveGrant) -> None:
    """Say how often a link is polled for whoever looks; old requests of the kind are forgotten."""
    refresh = None if grant.refresh_s is None else round(grant.refresh_s * 1000)
    connection.execute(
        "INSERT INTO live (link, since_ms, until_ms, interval_ms, refresh_ms, why) "
        "VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (link) DO UPDATE SET since_ms = excluded.since_ms, "
        "until_ms = excluded.until_ms, interval_ms = excluded.interval_ms, "
        "refresh_ms = excluded.refresh_ms, why = excluded.why",
        (
            *(grant.link, grant.since_ms, grant.until_ms, round(grant.interval_s * 1000)),
            *(refresh, grant.why),
        ),
    )
    connection.execute(
        "DELETE FROM entry WHERE kind = 'live' AND applied_ms < ?",
        (grant.until_ms - KEPT_LIVE_ENTRIES_MS,),
    )


def drop_live(connection: sqlite3.Connection, link: LinkName) -> None:
    """Nobody looks any more."""
    connection.execute("DELETE FROM live WHERE link = ?", (link,))


def live_grants(connection: sqlite3.Connection) -> list[LiveGrant]:
    """The links somebody looks at, and how often they are polled for it."""
    rows = connection.execute(
        "SELECT link, since_ms, until_ms, interval_ms, refresh_ms, why FROM live ORDER BY link"
    )
    return [
        LiveGrant(
            link=LinkName(link),
            since_ms=since,
            until_ms=until,
            interval_s=interval / 1000,
            refresh_s=None if refresh is None else refresh / 1000,
            why=why,
        )
        for link, since, until, interval, refresh, why in rows
    ]
