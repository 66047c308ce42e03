"""When the margin will have gone: a range of dates that knows of the season still to come."""

from __future__ import annotations

import math

from strandkeeper.analysis.forecast import RANGE, SEASON_DOWN, forecast
from strandkeeper.analysis.slow import DayRow, DirectionSlow, TrendNote
from strandkeeper.model.link import DirectionFacts, ReceiverLimits, Thresholds
from strandkeeper.optics.units import Dbm

DAY_MS = 86_400_000
MONTH_MS = 30.44 * DAY_MS
FACTS = DirectionFacts(limits=ReceiverLimits(sensitivity=Dbm(-19.0)))


def creeping(*, square_cc: int = 0, coefficient: float = 0.0, count: int = 40) -> DirectionSlow:
    """Receive power -10 dBm today, 300 mdB a month less; temperatures with that mean square."""
    slow = DirectionSlow(
        trend=TrendNote(value=300.0, half=30.0, level_sd=0.0, window_days=30, reported=True),
        weather=(0.0, coefficient, 0.0, 0.0, 0.0, 1.0),
    )
    for day in range(count):
        ago = count - 1 - day
        slow.days.append(
            DayRow(
                start_ms=day * DAY_MS,
                n=1,
                level=5000,
                sender_temp=2000,
                receiver_temp=2000,
                spread=10,
                swing=0,
                offset=0,
                rx=-10_000 + round(300 * ago * DAY_MS / MONTH_MS),
                sums=(24, 0, 0, 24 * square_cc, 0, 0, 0),
            )
        )
    return slow


def test_the_range_is_the_margin_above_the_reserve_by_the_slopes_interval() -> None:
    told = forecast(creeping(), FACTS, Thresholds())
    now_ms = 39 * DAY_MS + DAY_MS // 2
    # -10 dBm against -19 dBm and a reserve of 6 dB: 3 dB at 0.33 to 0.27 dB a month
    assert told.earliest_ms is not None
    assert told.latest_ms is not None
    assert math.isclose(told.earliest_ms - now_ms, 3 / 0.33 * MONTH_MS, rel_tol=2e-3)
    assert math.isclose(told.latest_ms - now_ms, 3 / 0.27 * MONTH_MS, rel_tol=2e-3)


def test_a_season_not_seen_yet_brings_the_earliest_date_forward() -> None:
    calm = forecast(creeping(), FACTS, Thresholds())
    swinging = forecast(creeping(square_cc=350**2, coefficient=0.4), FACTS, Thresholds())
    assert calm.earliest_ms is not None
    assert swinging.earliest_ms is not None
    # a day's range of 2√2 · 3.5 °C, 1.6 times that for season and spells, at 0.04 dB a degree
    reach = SEASON_DOWN * RANGE * 3.5 * 0.04
    sooner = calm.earliest_ms - swinging.earliest_ms
    assert math.isclose(sooner, reach / 0.33 * MONTH_MS, rel_tol=1e-2)


def test_once_a_year_is_on_record_only_what_was_seen_counts() -> None:
    year = forecast(creeping(square_cc=350**2, coefficient=0.4, count=320), FACTS, Thresholds())
    calm = forecast(creeping(count=320), FACTS, Thresholds())
    assert year.earliest_ms == calm.earliest_ms


def test_without_a_reported_trend_no_end_is_in_sight_and_without_a_limit_none_is_known() -> None:
    slow = creeping()
    slow.trend.reported = False
    assert forecast(slow, FACTS, Thresholds()).why_null == "no-end-in-sight"
    assert forecast(creeping(), DirectionFacts(), Thresholds()).why_null == "unknown"
