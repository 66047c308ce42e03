"""What happens when a window of five minutes is over: both directions, both ends, in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strandkeeper.analysis import (
    baseline,
    calm,
    day_work,
    errors,
    flicker,
    laser,
    levels,
    link_findings,
    one_window,
    periods,
    reporting,
    step_findings,
    steps,
    trends,
)
from strandkeeper.analysis.slow import DayRow, DirectionSlow, HourRow, Window
from strandkeeper.analysis.windows import (
    WINDOW_MS,
    Closed,
    DirectionWindows,
    EndWindows,
    close_direction,
    close_end,
    direction_readings,
)
from strandkeeper.model.block import MISSING, Ints
from strandkeeper.model.names import Direction, End
from strandkeeper.model.verdict import EventKind

if TYPE_CHECKING:
    from strandkeeper.analysis.run import Run


BOTH = (Direction.AB, Direction.BA)


def close(rows: Ints, carried: int) -> list[Closed]:
    """Sum complete windows; the first `carried` rows were counted before."""
    one = one_window.is_one(rows, carried)
    closed = one_window.close_one(rows, carried) if one else _close_many(rows, carried)
    for item in closed:
        _add_temperatures(item)
    return closed


def _close_many(rows: Ints, carried: int) -> list[Closed]:
    fresh = rows[:, carried:]
    ends = [close_end(fresh, end) for end in (0, 1)]
    found: dict[int, Closed] = {}
    for end, sums in enumerate(ends):
        for place, index in enumerate(sums.index):
            item = found.setdefault(index, Closed(index, [None, None], [None, None]))
            item.ends[end] = (
                sums.temp[place],
                sums.bias[place],
                sums.vcc[place],
                sums.tx[place],
            )
    for number, direction in enumerate(BOTH):
        receiver = direction.receiver
        readings = direction_readings(rows, carried, receiver)
        columns = close_direction(fresh, readings, receiver)
        _enter(found, number, columns, ends[receiver])
        for index, piece in readings.pieces():
            window = found[index].directions[number]
            if window is not None:
                window.readings = piece
    return [found[index] for index in sorted(found)]


def _enter(
    found: dict[int, Closed], number: int, columns: DirectionWindows, receiver: EndWindows
) -> None:
    counts = dict(
        zip(receiver.index, zip(receiver.frames, receiver.errors, strict=True), strict=True)
    )
    for index, window in columns.windows():
        window.frames, window.errors = counts.get(index, (MISSING, MISSING))
        found[index].directions[number] = window


def _add_temperatures(item: Closed) -> None:
    temps = [MISSING if end is None else end[0] for end in item.ends]
    for window, direction in zip(item.directions, BOTH, strict=True):
        if window is not None:
            window.sender_temp = temps[direction.sender]
            window.receiver_temp = temps[direction.receiver]


def play(run: Run, closed: Closed) -> None:
    """Let one closed window take effect."""
    if not calm.play(run, closed):
        _play_in_full(run, closed)


def _play_in_full(run: Run, closed: Closed) -> None:
    slow = run.slow
    start_ms, now_ms = closed.index * WINDOW_MS, (closed.index + 1) * WINDOW_MS
    for which, values in enumerate(closed.ends):
        if values is not None:
            end = slow.ends[which]
            new_day = end.today_ms != start_ms // periods.DAY_MS * periods.DAY_MS
            laser.take_end(end, start_ms, values)
            laser.judge_end(run, end, End(which), now_ms, day_closed=new_day)
            seen = closed.directions[1 - which]
            reporting.judge(run, end, End(which), seen, now_ms)
    for number, window in enumerate(closed.directions):
        if window is not None:
            _play_direction(run, slow.directions[number], window, BOTH[number])
    link_findings.judge(run, now_ms)


def _play_direction(run: Run, slow: DirectionSlow, window: Window, direction: Direction) -> None:
    _roll_over(run, slow, window, direction)
    facts, thresholds = run.facts.direction(direction), run.facts.thresholds
    active, tell = run.live.active, run.tell
    now_ms = window.start_ms + WINDOW_MS
    errors.take_errors(slow, window)
    faulty = errors.judge_errors(slow, window, direction, thresholds, active, tell)
    if baseline.take_first(slow, window):
        _baseline_set(run, slow, direction, now_ms)
    flicker.judge_flicker(slow, window, direction, thresholds, active, tell)
    step_findings.judge(run, slow, window, direction)
    levels.judge_added_loss(slow, window, direction, thresholds, active, tell)
    if window.light:
        slow.rx = window.rx
        levels.judge_margin(window.rx, direction, facts, thresholds, now_ms, active, tell)
        levels.judge_overload(window.rx, direction, facts, now_ms, active, tell, errors=faulty)
        slow.last_middle = window.middle
    slow.last_ms = window.start_ms
    slow.hour.append(window)


def _baseline_set(
    run: Run, slow: DirectionSlow, direction: Direction, now_ms: int, text: str = ""
) -> None:
    note = slow.baseline
    if note is not None:
        value = note.level / 1000
        run.tell(now_ms, EventKind.BASELINE_SET, direction=direction, value=value, text=text)


def _roll_over(run: Run, slow: DirectionSlow, window: Window, direction: Direction) -> None:
    """Close the hour and the day that the window no longer belongs to."""
    if slow.due:
        day_work.go_on(run, slow, direction, window.start_ms)
    if not slow.hour:
        return
    before = slow.hour[0].start_ms
    if window.start_ms // periods.HOUR_MS == before // periods.HOUR_MS:
        return
    hour = periods.close_hour(slow)
    if hour is not None:
        steps.renew_scales(slow)
        part = _weather_part(slow, hour)
        run.stats.append(periods.hour_stat(run.facts.name, direction, slow, hour, part))
    if window.start_ms // periods.DAY_MS == before // periods.DAY_MS:
        return
    day_work.finish(run, slow, direction, window.start_ms)
    day = periods.close_day(slow)
    if day is not None:
        if baseline.firm_up(slow, day):
            _baseline_set(run, slow, direction, window.start_ms, text="firm")
        part = _weather_part(slow, day)
        run.stats.append(periods.day_stat(run.facts.name, direction, slow, day, part))
        day_work.begin(slow, direction)


def _weather_part(slow: DirectionSlow, row: HourRow | DayRow) -> int:
    if MISSING in (row.sender_temp, row.receiver_temp):
        return 0
    return round(trends.weather_of(slow).part(row.sender_temp, row.receiver_temp))
