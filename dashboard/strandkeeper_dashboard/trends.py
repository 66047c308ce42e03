"""The trend of one link out of the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.settings import Settings
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.store import RecordReader
from strandkeeper_dashboard.chart import PANEL_IDS, Chart, Mark, PanelId
from strandkeeper_dashboard.charts import Source, chart
from strandkeeper_dashboard.story import Happening, story
from strandkeeper_dashboard.window import Window

__all__ = ["MAX_POINTS", "first_ms", "trend"]

MAX_POINTS: Final = 600
_HOURS_FROM_MS: Final = 26 * 3_600_000
_DAYS_FROM_MS: Final = 62 * 86_400_000
_DAY_MS: Final = 86_400_000
_MARKS: Final = 60


def trend(
    settings: Settings,
    link: Link,
    record: RecordReader,
    window: Window,
    wanted: frozenset[PanelId] = frozenset(PANEL_IDS),
) -> Chart:
    """The chart of `link` over `window`, from the rows that fit its length."""
    verdict = record.verdict(link.name)
    anchored = verdict is not None and verdict.ab.anchored and verdict.ba.anchored
    limits = settings.thresholds
    return chart(
        Source(
            link=link,
            window=window,
            series={
                end: record.series(link.name, end, window.from_ms, window.to_ms, MAX_POINTS)
                for end in End
            },
            stats={d: _stats(link, d, record, window) for d in Direction},
            days={d: _days(link, d, record, verdict) for d in Direction},
            marks=_marks(story(link, record, window), window),
            verdict=verdict,
            reserve=limits.reserve_warn_anchored if anchored else limits.reserve_warn,
            wanted=wanted,
            fahrenheit=settings.telling.fahrenheit,
        )
    )


def _marks(told: Sequence[Happening], window: Window) -> list[Mark]:
    """The newest of what is marked, oldest first."""
    t0_ms = window.from_ms // 1000 * 1000
    marks = [
        Mark(t_s=(one.time_ms - t0_ms) // 1000, kind=one.kind, text=one.text, id=one.id)
        for one in told
        if one.marked
    ]
    return marks[:_MARKS][::-1]


def _stats(
    link: Link, direction: Direction, record: RecordReader, window: Window
) -> Sequence[PeriodStat]:
    """Hours beyond a day, days beyond two months; below that the series itself is finer."""
    if window.span_ms < _HOURS_FROM_MS:
        return ()
    span_s = DAY_S if window.span_ms > _DAYS_FROM_MS else HOUR_S
    return record.stats(link.name, direction, span_s, window.from_ms, window.to_ms)


def _days(
    link: Link, direction: Direction, record: RecordReader, verdict: LinkVerdict | None
) -> Sequence[PeriodStat]:
    """The closed days that a drift was judged from; none where none is told."""
    drift = None if verdict is None else verdict.direction(direction).drift
    if verdict is None or drift is None or not drift.reported:
        return ()
    start_ms = verdict.at_ms - drift.window_days * _DAY_MS
    return record.stats(link.name, direction, DAY_S, start_ms, verdict.at_ms)


def first_ms(link: Link, record: RecordReader, now_ms: int) -> int | None:
    """Where the record of `link` begins, to the day or the hour; None without any."""
    for direction in Direction:
        for span_s in (DAY_S, HOUR_S):
            stats = record.stats(link.name, direction, span_s, 0, now_ms)
            if stats:
                return stats[0].start_ms
    return None
