"""Any split of a history into blocks gives the same events, statistics, verdict and state."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.analysis import engine
from strandkeeper.model.block import Block
from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import Event, EventKind, LinkVerdict
from strandkeeper.optics.units import Dbm

LIMITS = ReceiverLimits(sensitivity=Dbm(-19.0), overload=Dbm(-3.0))
FACTS = LinkFacts(
    name=LinkName("pump house"),
    ab=DirectionFacts(limits=LIMITS),
    ba=DirectionFacts(limits=LIMITS),
    near=End.A,
)


def troubled_rows(seed: int, count: int, spacing_ms: int) -> list[EndRow]:
    """Rows with everything going wrong now and then; times sometimes run back."""
    dice = random.Random(seed)
    rows = []
    time, up_since, loss = 1_700_000_000_000, [0, 0], 4.0
    down = silent = 0
    for _ in range(count):
        time += spacing_ms + dice.randrange(-3, 4) * 100
        if dice.random() < 0.004:
            time += dice.randrange(1, 5_000_000)
        loss += dice.choice([0.0] * 60 + [0.4, -0.3, 1.2])
        down = max(0, down - 1) or (dice.randrange(1, 40) if dice.random() < 0.01 else 0)
        silent = max(0, silent - 1) or (dice.randrange(1, 30) if dice.random() < 0.01 else 0)
        for end in (End.A, End.B):
            if dice.random() < 0.004:
                up_since[end] = time - dice.randrange(1000, 60000)
            if end is End.B and silent:
                rows.append(EndRow(time_ms=time, end=end, answered=False))
                continue
            optics = None
            if dice.random() < 0.8:
                rx = (
                    NO_LIGHT
                    if down and dice.random() < 0.8
                    else Measured(Dbm(-5.0 - loss + dice.gauss(0, 0.05)))
                )
                optics = OpticalReading(
                    rx=NOT_REPORTED if dice.random() < 0.01 else rx,
                    tx=Measured(Dbm(-5.0)) if dice.random() < 0.95 else NOT_REPORTED,
                    temp_c=30 + dice.gauss(0, 1),
                    bias_ma=12.0,
                )
            change = 100 if dice.random() < 0.97 else dice.randrange(100, 5000)
            rows.append(
                EndRow(
                    time_ms=time - dice.choice([0, 0, 0, 4000]),
                    end=end,
                    optics=optics,
                    oper=OperStatus.DOWN if down else OperStatus.UP,
                    uptime_cs=(time - up_since[end]) // 10 % 4_000_000_000,
                    last_change_cs=change,
                    module_id="one" if dice.random() < 0.998 else "two",
                    deltas=Deltas(
                        in_frames=1000, fcs_errors=dice.choice([0] * 30 + [3]) if optics else None
                    ),
                )
            )
    return rows


def judged(
    rows: list[EndRow], cuts: list[int], marks: list[Mark], *, through_bytes: bool
) -> tuple[list[Event], list[PeriodStat], LinkVerdict, bytes]:
    """Everything that comes out when the rows are cut at these places."""
    state = engine.initial(FACTS)
    events: list[Event] = []
    stats: list[PeriodStat] = []
    edges = [0, *sorted(cuts), len(rows)]
    verdict = None
    for start, stop in itertools.pairwise(edges):
        last = stop == len(rows)
        mine = (
            [
                m
                for m in marks
                if (m.time_ms > rows[start - 1].time_ms if start else True)
                and (last or m.time_ms <= rows[stop - 1].time_ms)
            ]
            if stop > start
            else []
        )
        state, evaluation = engine.advance(FACTS, state, Block.from_rows(rows[start:stop], mine))
        if through_bytes:
            state = engine.decode(engine.encode(state))
        events += evaluation.events
        stats += evaluation.stats
        verdict = evaluation.verdict
    assert verdict is not None
    return events, stats, verdict, engine.encode(state)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    spacing=st.sampled_from([10_000, 30_000, 120_000]),
    cuts=st.lists(st.integers(0, 1000), max_size=12),
)
def test_any_split_of_a_history_gives_identical_output(
    seed: int, spacing: int, cuts: list[int]
) -> None:
    rows = troubled_rows(seed, 500, spacing)
    whole = judged(rows, [], [], through_bytes=False)
    assert judged(rows, [min(c, len(rows)) for c in cuts], [], through_bytes=True) == whole


@pytest.mark.parametrize("seed", range(4))
def test_row_by_row_gives_the_same_as_all_at_once(seed: int) -> None:
    rows = troubled_rows(seed, 1500, 60_000)
    whole = judged(rows, [], [], through_bytes=False)
    assert whole[0], "nothing happened, so nothing was compared"
    assert judged(rows, list(range(len(rows))), [], through_bytes=False) == whole


@settings(max_examples=30, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    acts=st.lists(
        st.tuples(st.integers(1, 990), st.sampled_from(MarkKind)),
        max_size=4,
    ),
    cuts=st.lists(st.integers(0, 1000), max_size=6),
)
def test_acts_of_a_person_take_effect_alike_in_any_split(
    seed: int, acts: list[tuple[int, MarkKind]], cuts: list[int]
) -> None:
    rows = troubled_rows(seed, 500, 30_000)
    onward = list(itertools.accumulate((row.time_ms for row in rows), max))
    rows = [replace(row, time_ms=time) for row, time in zip(rows, onward, strict=True)]
    marks = [
        Mark(time_ms=rows[min(at, len(rows) - 1)].time_ms + 1, kind=kind)
        for at, kind in sorted(acts, key=lambda act: act[0])
    ]
    whole = judged(rows, [], marks, through_bytes=False)
    assert judged(rows, [min(c, len(rows)) for c in cuts], marks, through_bytes=True) == whole


def test_a_baseline_by_the_owner_takes_effect_at_its_time_in_any_split() -> None:
    rows = [r for r in troubled_rows(7, 600, 30_000)]
    at = rows[700].time_ms + 1
    marks = [Mark(time_ms=at, kind=MarkKind.BASELINE)]
    whole = judged(rows, [], marks, through_bytes=False)
    assert judged(rows, [100, 702, 900], marks, through_bytes=True) == whole
    assert [e.time_ms for e in whole[0] if e.kind is EventKind.BASELINE_SET and e.time_ms == at]
