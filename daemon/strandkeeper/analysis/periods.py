"""Hours out of windows, days out of hours; what slopes and charts are made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from strandkeeper.analysis.robust import middle
from strandkeeper.analysis.slow import DayRow, DirectionSlow, HourRow, Window
from strandkeeper.model.block import MISSING
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.stats import DAY_S, HOUR_S, PeriodStat

HOUR_MS: Final = HOUR_S * 1000
DAY_MS: Final = DAY_S * 1000
HOURS_KEPT: Final = 7 * 24
DAYS_KEPT: Final = 400
SUMS_KEPT: Final = 60
LEAST_HOURS: Final = 6  # of a day, for its median to stand for the day


def _middle_of(values: Sequence[int]) -> int:
    known = [value for value in values if value != MISSING]
    return middle(known) if known else MISSING


def _jitter(windows: Sequence[Window]) -> int:
    """Median move from one window to the next [0.001 dB]."""
    moves = [abs(b.level - a.level) for a, b in pairwise(windows)]
    return middle(moves) if len(moves) >= 3 else MISSING


def close_hour(slow: DirectionSlow) -> HourRow | None:
    """Turn the collected windows into an hour; None if there were none."""
    windows, slow.hour = slow.hour, []
    if not windows:
        return None
    good = [w for w in windows if w.light and w.by_loss == slow.by_loss]
    row = HourRow(
        start_ms=windows[0].start_ms // HOUR_MS * HOUR_MS,
        n=sum(w.light for w in good),
        level=middle([w.level for w in good]) if good else MISSING,
        rx=_middle_of([w.rx for w in good]),
        tx=_middle_of([w.tx for w in good]),
        spread=_middle_of([w.spread for w in good]),
        sender_temp=_middle_of([w.sender_temp for w in good]),
        receiver_temp=_middle_of([w.receiver_temp for w in good]),
        jitter=_jitter(good),
        grain=min([w.grain for w in good if w.grain != MISSING], default=MISSING),
    )
    slow.hours = [*slow.hours, row][-HOURS_KEPT:]
    slow.today = [*slow.today, row]
    return row


def _deviation_sums(hours: Sequence[HourRow]) -> tuple[int, ...]:
    """Sums of squares and products about the day's means; a missing temperature counts as still."""
    count = len(hours)
    if count < LEAST_HOURS:
        return ()
    columns = []
    for values in (
        [h.sender_temp for h in hours],
        [h.receiver_temp for h in hours],
        [h.level for h in hours],
    ):
        mean = sum(values) // count
        still = MISSING in values
        columns.append([0 if still else value - mean for value in values])
    a, b, y = columns
    pairs = ((a, a), (a, b), (b, b), (a, y), (b, y), (y, y))
    return (count, *(sum(p * q for p, q in zip(*pair, strict=True)) for pair in pairs))


def close_day(slow: DirectionSlow) -> DayRow | None:
    """Turn the closed hours of a day into a day; None if there were none."""
    hours, slow.today = slow.today, []
    if not hours:
        return None
    good = [hour for hour in hours if hour.level != MISSING]
    start = hours[0].start_ms // DAY_MS * DAY_MS
    levels = [hour.level for hour in good]
    temps = [hour.receiver_temp for hour in good if hour.receiver_temp != MISSING]
    row = DayRow(
        start_ms=start,
        n=sum(hour.n for hour in good),
        level=middle(levels) if len(good) >= LEAST_HOURS else MISSING,
        sender_temp=_middle_of([hour.sender_temp for hour in good]),
        receiver_temp=_middle_of([hour.receiver_temp for hour in good]),
        spread=_middle_of([hour.spread for hour in good]),
        swing=max(levels) - min(levels) if levels else 0,
        offset=sum(step.size for step in slow.steps if step.settled and step.time_ms < start),
        receiver_low=min(temps, default=MISSING),
        receiver_high=max(temps, default=MISSING),
        sums=_deviation_sums(good),
        rx=_middle_of([hour.rx for hour in good]),
    )
    slow.days = [*slow.days, row][-DAYS_KEPT:]
    if len(slow.days) > SUMS_KEPT:
        slow.days[-SUMS_KEPT - 1] = replace(slow.days[-SUMS_KEPT - 1], sums=())
    return row


def _known(value: int) -> int | None:
    return None if value == MISSING else value


def hour_stat(
    link: LinkName, direction: Direction, slow: DirectionSlow, row: HourRow, correction: int
) -> PeriodStat:
    """A closed hour for the record; `correction` is the weather's part [0.001 dB]."""
    powers = (row.rx, row.tx)
    return _stat(link, direction, slow, row, HOUR_S, powers, correction)


def day_stat(
    link: LinkName, direction: Direction, slow: DirectionSlow, row: DayRow, correction: int
) -> PeriodStat:
    """A closed day for the record; `correction` is the weather's part [0.001 dB]."""
    inside = [h for h in slow.hours if h.start_ms >= row.start_ms and h.level != MISSING]
    powers = (_middle_of([h.rx for h in inside]), _middle_of([h.tx for h in inside]))
    return _stat(link, direction, slow, row, DAY_S, powers, correction)


def _stat(
    link: LinkName,
    direction: Direction,
    slow: DirectionSlow,
    row: HourRow | DayRow,
    span_s: int,
    powers: tuple[int, int],
    correction: int,
) -> PeriodStat:
    note = slow.baseline
    level = _known(row.level)
    added = None
    if note is not None and level is not None and note.by_loss == slow.by_loss:
        added = level - note.level
    return PeriodStat(
        link=link,
        direction=direction,
        start_ms=row.start_ms,
        span_s=span_s,
        n=row.n,
        rx_mdbm=_known(powers[0]),
        tx_mdbm=_known(powers[1]),
        loss_mdb=level if slow.by_loss else None,
        added_loss_mdb=added,
        compensated_mdb=None if added is None else added - correction,
        spread_mdb=None if row.spread == MISSING else round(1.2533 * row.spread),
        sender_temp_cc=_known(row.sender_temp),
        receiver_temp_cc=_known(row.receiver_temp),
    )
