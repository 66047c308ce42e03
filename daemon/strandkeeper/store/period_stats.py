"""hour_stats and day_stats: medians of closed periods, written once, kept for ever."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Final

from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat
from strandkeeper.store.keys import LinkNumbers, direction_number

__all__ = ["put_stats", "stats_between"]

TABLES: Final = {HOUR_S: "hour_stats", DAY_S: "day_stats"}
FIGURES: Final = (
    "n",
    "rx_mdbm",
    "tx_mdbm",
    "loss_mdb",
    "added_loss_mdb",
    "compensated_mdb",
    "spread_mdb",
    "sender_temp_cc",
    "receiver_temp_cc",
)


def _table(span_s: int) -> str:
    try:
        return TABLES[span_s]
    except KeyError:
        raise ValueError(f"no statistics are kept over {span_s} s, only {list(TABLES)}") from None


def put_stats(
    connection: sqlite3.Connection, links: LinkNumbers, stats: Iterable[PeriodStat]
) -> None:
    """Write closed periods; a period judged again replaces what was written before."""
    for stat in stats:
        connection.execute(
            f"INSERT OR REPLACE INTO {_table(stat.span_s)} "
            f"(direction_id, start_ms, {', '.join(FIGURES)}) VALUES ({', '.join('?' * 11)})",
            (
                direction_number(links.get(stat.link), stat.direction),
                stat.start_ms,
                *(getattr(stat, figure) for figure in FIGURES),
            ),
        )


def stats_between(
    connection: sqlite3.Connection,
    link_id: int,
    question: tuple[LinkName, Direction, int],
    period: tuple[int, int],
) -> list[PeriodStat]:
    """Periods of (link, direction, span_s) that begin in [from_ms, to_ms), oldest first."""
    link, direction, span_s = question
    rows = connection.execute(
        f"SELECT start_ms, {', '.join(FIGURES)} FROM {_table(span_s)} "
        "WHERE direction_id = ? AND start_ms >= ? AND start_ms < ? ORDER BY start_ms",
        (direction_number(link_id, direction), *period),
    )
    return [
        PeriodStat(
            link=link,
            direction=direction,
            span_s=span_s,
            start_ms=start,
            **dict(zip(FIGURES, figures, strict=True)),
        )
        for start, *figures in rows
    ]
