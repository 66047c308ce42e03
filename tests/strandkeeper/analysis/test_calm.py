"""The short way for calm windows and the parts of a day's work change nothing but the cost."""

from __future__ import annotations

import random

import pytest

from strandkeeper.analysis import calm, day_work, engine, rounds
from strandkeeper.model.block import Block
from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.verdict import Evaluation
from strandkeeper.optics.units import Dbm

LIMITS = ReceiverLimits(sensitivity=Dbm(-19.0), overload=Dbm(-3.0))
FACTS = LinkFacts(
    name=LinkName("jetty"), ab=DirectionFacts(limits=LIMITS), ba=DirectionFacts(limits=LIMITS)
)
START_MS = 1_750_000_200_000
DAY_S = 86_400


def rows_of(seed: int, days: float, *, damage: bool) -> list[EndRow]:
    """Polls a minute apart; with `damage` light that is lost, a step, damaged frames, a restart."""
    dice = random.Random(seed)
    rows = []
    for second in range(0, int(days * DAY_S), 60):
        day = second / DAY_S
        dark = damage and 1.2 < day < 1.25
        loss = 4.0 + (0.8 if damage and day > 2.1 else 0.0)
        for end in End:
            power = Measured(Dbm(-5.0 - loss + dice.gauss(0, 0.04)))
            boot = 2.6 * DAY_S if damage and day > 2.6 else -1e6
            bad = 4 if damage and 1.6 < day < 1.7 else 0
            rows.append(
                EndRow(
                    time_ms=START_MS + 1000 * second,
                    end=end,
                    optics=OpticalReading(
                        rx=NO_LIGHT if dark else power,
                        tx=Measured(Dbm(-5.0 + dice.gauss(0, 0.01))),
                        bias_ma=12.0,
                        temp_c=round(30 + dice.gauss(0, 0.3), 2),
                        vcc_v=3.3,
                    ),
                    oper=OperStatus.DOWN if dark else OperStatus.UP,
                    uptime_cs=round(100 * (second - boot)) % (1 << 32),
                    deltas=Deltas(in_frames=5000, fcs_errors=bad),
                )
            )
    return rows


def judged(rows: list[EndRow]) -> tuple[Evaluation, bytes]:
    """Everything that comes out."""
    state, evaluation = engine.advance(FACTS, engine.initial(FACTS), Block.from_rows(rows))
    return evaluation, engine.encode(state)


@pytest.mark.parametrize("damage", [False, True])
def test_calm_windows_taken_the_short_way_leave_what_the_long_way_leaves(
    monkeypatch: pytest.MonkeyPatch, damage: bool
) -> None:
    rows = rows_of(1, 4.0, damage=damage)
    short: list[bool] = []
    played = calm.play

    def counted(run: object, closed: object) -> bool:
        short.append(played(run, closed))  # type: ignore[arg-type]
        return short[-1]

    monkeypatch.setattr(rounds.calm, "play", counted)
    by_the_short_way = judged(rows)
    assert sum(short) > 0.2 * len(short), "the short way was hardly taken"
    monkeypatch.setattr(rounds.calm, "play", lambda run, closed: False)
    assert judged(rows) == by_the_short_way


def test_the_work_of_a_day_is_done_a_part_at_each_window_one_direction_after_the_other() -> None:
    rows = rows_of(2, 2.0, damage=False)
    state = engine.initial(FACTS)
    left = []
    for start in range(0, len(rows), 10):
        state, _ = engine.advance(FACTS, state, Block.from_rows(rows[start : start + 10]))
        left.append(tuple(way.due for way in state.slow.directions))
    begun = left.index((day_work.PARTS, 2 * day_work.PARTS))
    shown = left[begun : begun + 2 * day_work.PARTS + 1]
    assert [b for _, b in shown] == list(range(2 * day_work.PARTS, -1, -1))
    assert [a for a, _ in shown[: day_work.PARTS + 1]] == list(range(day_work.PARTS, -1, -1))


def test_a_day_with_hardly_a_window_has_all_its_work_done_when_the_next_day_is_over() -> None:
    rows = rows_of(3, 4.0, damage=False)
    sparse = [row for row in rows if row.time_ms < START_MS + 1000 * DAY_S]
    sparse += [row for row in rows[2880:] if row.time_ms // 1000 % DAY_S < 300]
    state, _ = engine.advance(FACTS, engine.initial(FACTS), Block.from_rows(sparse))
    for way in state.slow.directions:
        assert len(way.days) == 3
        assert way.slopes == [], "slopes of the day before were left undecided"
        assert way.due in (day_work.PARTS, 2 * day_work.PARTS)
