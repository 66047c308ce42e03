"""How often a link went down: counts by the hour, for what the notes of single times forget.

A note is kept of the newest times down alone; a link that flaps all day pushes those of last week
out. The hours are bounded by two weeks, whatever the link does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from strandkeeper.analysis.state import LinkLive

__all__ = ["DAY_HOURS", "FORTNIGHT_HOURS", "WEEK_HOURS", "counted", "days_down", "times_down"]

HOUR_MS: Final = 3_600_000
DAY_HOURS: Final = 24
WEEK_HOURS: Final = 7 * 24
FORTNIGHT_HOURS: Final = 14 * 24


def counted(hours: Sequence[tuple[int, int]], at_ms: int) -> list[tuple[int, int]]:
    """The counts with one time down more.

    Parameters
    ----------
    hours : sequence of (int, int)
        Hour since the epoch [h] and times down in it [-], in order.
    at_ms : int
        When it went down [ms].

    Returns
    -------
    list of (int, int)
        [h, -] In order; what is older than two weeks before the newest is dropped.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> counted([(0, 1), (400, 2)], 400 * 3_600_000)
    [(400, 3)]
    """
    hour = at_ms // HOUR_MS
    counts = dict(hours)
    counts[hour] = counts.get(hour, 0) + 1
    return sorted((h, n) for h, n in counts.items() if h > max(counts) - FORTNIGHT_HOURS - 1)


def times_down(live: LinkLive, hours: int) -> int:
    """How often it went down in the hours before its newest row.

    Parameters
    ----------
    live : LinkLive
        The link [-].
    hours : int
        How far back [h], at most 14 days.

    Returns
    -------
    int
        [-] Exact while every such time is among the notes; beyond that the whole hours counted,
        which leaves out at most what fell into the oldest hour.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> times_down(LinkLive(last_ms=7_200_000, down_hours=[(1, 70)]), 24)
    70
    """
    since_ms = live.last_ms - hours * HOUR_MS
    exact = sum(time > since_ms for time in _noted(live))
    whole = sum(count for hour, count in live.down_hours if hour * HOUR_MS >= since_ms)
    return max(exact, whole)


def days_down(live: LinkLive, now_ms: int) -> set[int]:
    """The days on which it went down, in the two weeks before.

    Parameters
    ----------
    live : LinkLive
        The link [-].
    now_ms : int
        Until when [ms].

    Returns
    -------
    set of int
        [d] Days since the epoch, UTC.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> days_down(LinkLive(down_hours=[(1, 2), (30, 1)]), 36 * 3_600_000)
    {0, 1}
    """
    since_ms = now_ms - FORTNIGHT_HOURS * HOUR_MS
    by_note = {time // (24 * HOUR_MS) for time in _noted(live) if time > since_ms}
    return by_note | {hour // 24 for hour, _ in live.down_hours if hour * HOUR_MS > since_ms}


def _noted(live: LinkLive) -> Iterable[int]:
    """When it went down, of every time that has a note."""
    yield from (note.from_ms for note in (*live.flaps, *live.outages))
    if live.down_now is not None:
        yield live.down_now.from_ms
