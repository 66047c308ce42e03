"""The trend of one link out of the record."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.alerts import wording
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.settings import Settings
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat
from strandkeeper.model.verdict import Event, EventKind
from strandkeeper.store import RecordReader
from strandkeeper_dashboard.chart import Chart, Mark
from strandkeeper_dashboard.charts import Source, chart
from strandkeeper_dashboard.window import Window

__all__ = ["MAX_POINTS", "first_ms", "happened", "trend"]

MAX_POINTS: Final = 600
_HOURS_FROM_MS: Final = 26 * 3_600_000
_DAYS_FROM_MS: Final = 62 * 86_400_000
_MARKS: Final = 60
# A finding that began says in words what the events beside it say as facts.
_NOT_MARKED: Final = frozenset({EventKind.FINDING_BEGAN, EventKind.FINDING_ENDED})


def trend(settings: Settings, link: Link, record: RecordReader, window: Window) -> Chart:
    """The chart of `link` over `window`, from the rows that fit its length."""
    t0_ms = window.from_ms // 1000 * 1000
    limits = settings.thresholds
    verdict = record.verdict(link.name)
    anchored = verdict is not None and verdict.ab.anchored and verdict.ba.anchored
    marks = [
        Mark(
            t_s=(event.time_ms - t0_ms) // 1000,
            kind=event.kind.value,
            text=wording.event_sentence(link, event),
        )
        for event in reversed(happened(link, record, window))
        if event.kind not in _NOT_MARKED
    ]
    return chart(
        Source(
            link=link,
            window=window,
            series={
                end: record.series(link.name, end, window.from_ms, window.to_ms, MAX_POINTS)
                for end in End
            },
            stats={d: _stats(link, d, record, window) for d in Direction},
            marks=marks[-_MARKS:],
            verdict=verdict,
            reserve=limits.reserve_warn_anchored if anchored else limits.reserve_warn,
        )
    )


def _stats(
    link: Link, direction: Direction, record: RecordReader, window: Window
) -> Sequence[PeriodStat]:
    """Hours beyond a day, days beyond two months; below that the series itself is finer."""
    if window.span_ms < _HOURS_FROM_MS:
        return ()
    span_s = DAY_S if window.span_ms > _DAYS_FROM_MS else HOUR_S
    return record.stats(link.name, direction, span_s, window.from_ms, window.to_ms)


def happened(link: Link, record: RecordReader, window: Window, limit: int = 200) -> Sequence[Event]:
    """Events of `link` in `window`, newest first."""
    return record.events(link.name, from_ms=window.from_ms, to_ms=window.to_ms, limit=limit)


def first_ms(link: Link, record: RecordReader, now_ms: int) -> int | None:
    """Where the record of `link` begins, to the day or the hour; None without any."""
    for direction in Direction:
        for span_s in (DAY_S, HOUR_S):
            stats = record.stats(link.name, direction, span_s, 0, now_ms)
            if stats:
                return stats[0].start_ms
    return None
