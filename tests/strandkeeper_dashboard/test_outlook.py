"""Weather taken out, jumps, the creeping line with its interval, and when a limit would be met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import invented_station as station
import pytest

from strandkeeper.model.names import Direction, End
from strandkeeper.model.stats import DAY_S, PeriodStat
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    Drift,
    EndState,
    Forecast,
    ForecastTo,
    Interval,
    LinkVerdict,
    Step,
)
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store.series import empty_series
from strandkeeper_dashboard.chart import Chart, Line
from strandkeeper_dashboard.chart_source import Source
from strandkeeper_dashboard.charts import chart
from strandkeeper_dashboard.plot import to_json
from strandkeeper_dashboard.trend_drawing import trend_drawing
from strandkeeper_dashboard.trend_table import to_csv
from strandkeeper_dashboard.window import Window

DAY_MS = 86_400_000
MONTH_MS = 30.44 * DAY_MS
NOW_MS = 20_000 * DAY_MS
LINK = next(link for link in station.links() if link.name == station.PUMP)
# receives -9.5 dBm now, needs -19.5, keeps 6: 4 dB left at 0.5 dB a month is 8 months
IN_8_MONTHS_MS = NOW_MS + int(8 * MONTH_MS)


def day(way: Direction, ago: int, added_mdb: int, temp_cc: int = 2000) -> PeriodStat:
    return PeriodStat(
        link=LINK.name,
        direction=way,
        start_ms=NOW_MS - ago * DAY_MS,
        span_s=DAY_S,
        n=2880,
        rx_mdbm=-8000 - added_mdb,
        tx_mdbm=-6000,
        loss_mdb=2000 + added_mdb,
        added_loss_mdb=added_mdb,
        compensated_mdb=added_mdb,
        spread_mdb=20,
        sender_temp_cc=2000,
        receiver_temp_cc=temp_cc,
    )


CREEPING = DirectionVerdict(
    direction=Direction.AB,
    sensitivity=Dbm(-19.5),
    baseline=Baseline(loss=Db(2.0), spread=Db(0.02), since_ms=0, firm=True),
    drift=Drift(slope=Interval(value=0.5, low=0.4, high=0.6), window_days=90, reported=True),
    forecast=Forecast(
        earliest_ms=IN_8_MONTHS_MS,
        latest_ms=IN_8_MONTHS_MS + int(2 * MONTH_MS),
        to=ForecastTo.RESERVE,
        why_null="",
    ),
)
# 1.5 dB over 90 days at 0.5 dB a month of 30.44 days: 16.4 mdB a day
CREPT = [day(Direction.AB, ago, round(500 * (90 - ago + 0.5) / 30.44)) for ago in range(90, 0, -1)]


def drawn(
    verdict: DirectionVerdict,
    days: Sequence[PeriodStat] = CREPT,
    range_id: str = "1year",
    span_days: int = 365,
) -> Chart:
    window = Window(from_ms=NOW_MS - span_days * DAY_MS, to_ms=NOW_MS, range_id=range_id)
    period = (window.from_ms, window.to_ms)
    ends = {"a": EndState(end=End.A), "b": EndState(end=End.B)}
    judged = LinkVerdict(
        link=LINK.name,
        at_ms=NOW_MS,
        ab=verdict,
        ba=DirectionVerdict(direction=Direction.BA),
        **ends,
    )
    return chart(
        Source(
            link=LINK,
            window=window,
            series={end: empty_series(LINK.name, end, period) for end in End},
            stats={Direction.AB: days},
            days={Direction.AB: days},
            marks=(),
            verdict=judged,
            reserve=Db(6.0),
        )
    )


def points(made: Chart, wanted: str) -> dict[int, tuple[int, int, int]]:
    one = line(made, wanted)
    low, high = one.low or one.values, one.high or one.values
    return {
        made.t0_ms + t * 1000: (value, low[at] or 0, high[at] or 0)
        for at, (t, value) in enumerate(zip(made.t_s, one.values, strict=True))
        if value is not None
    }


def line(made: Chart, wanted: str) -> Line:
    return next(one for one in made.lines if one.id == wanted)


def test_the_creeping_line_runs_through_the_days_with_the_slope_that_was_judged() -> None:
    found = points(drawn(CREEPING), "drift-ab")
    times = sorted(found)
    assert times[0] == NOW_MS - 90 * DAY_MS
    first, middle, end = (found[t] for t in times)
    assert abs(first[0] - 8) <= 10  # the first day's middle is at 8 mdB
    assert abs(middle[0] - 739) <= 10  # 45 days later: 500 * 45 / 30.44
    assert middle[1] == middle[0] == middle[2]  # the interval turns about the middle
    months = (times[2] - times[1]) / MONTH_MS
    assert abs((end[0] - middle[0]) - 500 * months) <= 2
    assert abs((end[2] - middle[0]) - 600 * months) <= 2
    assert abs((end[1] - middle[0]) - 400 * months) <= 2


def test_on_a_long_range_the_axis_goes_on_to_where_the_reserve_is_used_up() -> None:
    made = drawn(CREEPING)
    assert made.end_ms > IN_8_MONTHS_MS
    (outlook,) = made.outlooks
    assert made.t0_ms + outlook.from_s * 1000 == pytest.approx(IN_8_MONTHS_MS, abs=1000)
    assert outlook.value == -13_500
    assert outlook.text.startswith("Lab → Pump house: going on like this, the reserve is used up")
    ahead = points(made, "ahead-ab")
    # the power falls as the loss grows: -8 dBm less 1.478 dB now, 500 mdB a month from here
    now, then = (ahead[t][0] for t in sorted(ahead))
    assert abs(now - (-8000 - 1478)) <= 15
    assert abs((now - then) - 500 * (made.end_ms - NOW_MS) / MONTH_MS) <= 2
    assert trend_drawing(made).ahead is not None


def test_on_a_short_range_nothing_is_foretold() -> None:
    made = drawn(CREEPING, range_id="1w", span_days=7)
    assert made.end_ms == NOW_MS
    assert made.outlooks == ()
    assert made.ahead_s is None


def test_a_slope_that_is_not_told_is_not_drawn() -> None:
    assert CREEPING.drift is not None
    quiet = replace(CREEPING, drift=replace(CREEPING.drift, reported=False))
    made = drawn(quiet)
    assert [one.id for one in made.lines if one.style == "drift"] == []
    assert made.end_ms == NOW_MS


def test_the_creeping_line_begins_after_the_last_jump() -> None:
    knocked = NOW_MS - 30 * DAY_MS
    step = Step(
        time_ms=knocked,
        time_low_ms=knocked - 60_000,
        time_high_ms=knocked,
        size=Interval(value=3.6, low=3.4, high=3.8),
    )
    days = [
        day(Direction.AB, ago, round(500 * (90 - ago) / 30.44) + 3600 * (ago <= 30))
        for ago in range(90, 0, -1)
    ]
    made = drawn(replace(CREEPING, steps=(step,)), days)
    times = sorted(points(made, "drift-ab"))
    assert times[0] == knocked
    (jump,) = made.jumps
    assert jump.label.replace("\N{NARROW NO-BREAK SPACE}", " ") == "+3.6 dB"
    assert made.t0_ms + jump.to_s * 1000 == knocked


def test_of_jumps_close_together_only_the_greatest_is_labelled() -> None:
    steps = tuple(
        Step(
            time_ms=NOW_MS - ago * DAY_MS,
            time_low_ms=NOW_MS - ago * DAY_MS,
            time_high_ms=NOW_MS - ago * DAY_MS,
            size=Interval(value=size, low=size, high=size),
        )
        for ago, size in ((40, 0.5), (39, 0.9), (300, 0.3))
    )
    labels = [jump.label for jump in drawn(replace(CREEPING, steps=steps)).jumps]
    assert [bool(label) for label in labels] == [True, False, True]
    assert "0.9" in labels[0]


def test_without_the_weather_what_the_temperature_does_is_gone() -> None:
    # the receiver's module reads 0.01 dB more a degree; 20, 40, 20, 40 degrees day by day
    days = [
        day(Direction.AB, ago, 100 + 10 * (20 if ago % 2 else 40), 2000 if ago % 2 else 4000)
        for ago in range(40, 0, -1)
    ]
    known = replace(CREEPING, compensation_db_per_c=(0.0, 0.01), drift=None)
    made = drawn(known, days)
    raw = {value for value, *_ in points(made, "added-ab").values()}
    assert raw == {300, 500}
    calm = {value for value, *_ in points(made, "calm-ab").values()}
    assert calm == {400}  # at the middle temperature
    assert line(made, "added-ab").style == "raw"


def test_where_the_weather_is_not_known_there_is_one_line() -> None:
    made = drawn(CREEPING)
    assert line(made, "added-ab").style == "plain"
    assert not any(one.id == "calm-ab" for one in made.lines)


def test_what_was_worked_out_is_no_column_of_the_table() -> None:
    header = to_csv(drawn(CREEPING)).splitlines()[0]
    assert "drift" not in header
    assert "ahead" not in header


def test_the_layout_holds_an_axis_for_every_panel_and_no_two_overlap() -> None:
    answer = to_json(drawn(CREEPING), utc_offset_s=0)
    domains = sorted(
        tuple(answer["layout"][f"yaxis{axis[1:]}"]["domain"]) for axis in answer["axes"].values()
    )
    assert len(domains) == 7
    assert domains[0][0] == 0
    assert domains[-1][1] == 1
    assert all(below[1] < above[0] for below, above in pairwise(domains))
    for drawn_line in answer["lines"]:
        assert drawn_line["trace"]["yaxis"] in answer["axes"].values()
