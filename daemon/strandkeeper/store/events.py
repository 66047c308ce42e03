"""What happened, for the record: appended, never changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence

from strandkeeper.model.names import Direction, End
from strandkeeper.model.verdict import Event, EventKind
from strandkeeper.store.keys import LinkNumbers, direction_of

__all__ = ["events_between", "put_events"]

COLUMNS = "link_id, time_ms, kind, end, direction, value, text, uncertainty_ms"


def put_events(connection: sqlite3.Connection, links: LinkNumbers, events: Iterable[Event]) -> None:
    """Append events, inside the caller's transaction.

    One that is there already is left alone: a batch whose commit was in doubt is written again.
    """
    connection.executemany(
        f"INSERT INTO event ({COLUMNS}) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8 "
        "WHERE NOT EXISTS (SELECT 1 FROM event WHERE link_id = ?1 AND time_ms = ?2 AND kind = ?3 "
        "AND end IS ?4 AND direction IS ?5 AND value IS ?6 AND text = ?7)",
        [
            (
                links.get(event.link),
                event.time_ms,
                event.kind.value,
                event.end,
                None if event.direction is None else int(event.direction is Direction.BA),
                event.value,
                event.text,
                event.uncertainty_ms,
            )
            for event in events
        ],
    )


def events_between(
    connection: sqlite3.Connection,
    links: LinkNumbers,
    period: tuple[int, int],
    *,
    link_id: int | None = None,
    kinds: Sequence[EventKind] = (),
    limit: int = 1000,
) -> list[Event]:
    """The newest `limit` events with from_ms <= time < to_ms, newest first."""
    where, values = ["time_ms >= ?", "time_ms < ?"], [*period]
    if link_id is not None:
        where.append("link_id = ?")
        values.append(link_id)
    if kinds:
        where.append(f"kind IN ({', '.join('?' * len(kinds))})")
    rows = connection.execute(
        f"SELECT {COLUMNS} FROM event WHERE {' AND '.join(where)} "
        "ORDER BY time_ms DESC, id DESC LIMIT ?",
        (*values, *(kind.value for kind in kinds), limit),
    )
    return [
        Event(
            link=links.name(number),
            time_ms=time_ms,
            kind=EventKind(kind),
            end=None if end is None else End(end),
            direction=None if direction is None else direction_of(direction),
            value=value,
            text=text,
            uncertainty_ms=uncertainty,
        )
        for number, time_ms, kind, end, direction, value, text, uncertainty in rows.fetchall()
    ]
