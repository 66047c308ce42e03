"""Work as JSON: what an earlier release wrote is still read, and nothing is lost on the way."""

from __future__ import annotations

from typing import Any

from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.rework import DirectionReport, Night, Rework, ReworkVerdict, Side, Worth
from strandkeeper.model.rework_json import rework_from_json, rework_to_json

SIDE = Side(from_ms=0, to_ms=60_000)
WORK = Rework(
    id=1,
    link=LinkName("shore"),
    what="new plug",
    who="me",
    started_ms=0,
    finished_ms=60_000,
    coldest_before_c={Direction.AB: -3.0},
    swing_before_c={Direction.AB: 11.5},
    reports={
        Direction.AB: DirectionReport(
            before=SIDE,
            after=SIDE,
            verdict=ReworkVerdict(worth=Worth.BETTER, night=Night.STEADY),
        )
    },
)


def test_how_a_cold_night_is_judged_comes_back_as_it_was() -> None:
    assert rework_from_json(rework_to_json(WORK)) == WORK


def test_work_of_a_release_that_did_not_tell_of_nights_is_read() -> None:
    data: dict[str, Any] = rework_to_json(WORK)
    del data["swing_before_c"], data["directions"]["ab"]["verdict"]["night"]
    work = rework_from_json(data)
    assert work.swing_before_c == {}
    assert work.reports[Direction.AB].verdict.night is None
