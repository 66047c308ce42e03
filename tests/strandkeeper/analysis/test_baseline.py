"""What counts as good: made, borne out, broken and made anew, each on record as an event."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from tests.strandkeeper.analysis.conftest import START_MS, Watch

from strandkeeper.analysis import engine
from strandkeeper.analysis.anchoring import tied
from strandkeeper.model.block import Block
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import EventKind
from strandkeeper.optics.units import Db

DAY = 24 * 60.0


def act(watch: Watch, kind: MarkKind) -> None:
    """A person does something to A→B now."""
    mark = Mark(time_ms=START_MS + 1000 * watch.time_s, kind=kind, direction=Direction.AB)
    watch.state, evaluation = engine.advance(watch.facts, watch.state, Block.from_rows((), (mark,)))
    watch.events += evaluation.events
    watch.verdict = evaluation.verdict


def replug(watch: Watch, change: float) -> None:
    """The cord of A→B is pulled for two minutes; afterwards it loses that much more."""
    watch.dark[1], watch.up = True, [False, False]
    watch.run(2)
    watch.dark[1], watch.up = False, [True, True]
    watch.loss[0] += change


def loss_of_baseline(watch: Watch) -> float | None:
    """What A→B lost when it was good."""
    assert watch.verdict is not None
    note = watch.verdict.ab.baseline
    return None if note is None else note.loss.value


def test_a_baseline_that_a_warm_week_bears_out_is_told_as_firm(
    watch: Callable[..., Watch],
) -> None:
    link = watch()
    for day in range(9):
        link.temp = [20.0 + 2 * day, 20.0 + 2 * day]
        link.run(DAY, every_s=120)
    told = [event.text for event in link.told(EventKind.BASELINE_SET) if event.direction == "ab"]
    assert told == ["", "firm"]
    assert link.verdict is not None
    assert link.verdict.ab.baseline is not None
    assert link.verdict.ab.baseline.firm


@pytest.mark.parametrize("change", [0.3, -0.8])
def test_a_plug_pulled_and_pushed_home_makes_the_baseline_anew(
    watch: Callable[..., Watch], change: float
) -> None:
    link = watch().run(2 * DAY, every_s=60)
    replug(link, change)
    link.run(60)
    broken = link.told(EventKind.BASELINE_BROKEN)
    assert [(event.direction, event.text) for event in broken] == [("ab", "re-plugged")]
    assert loss_of_baseline(link) is None
    link.run(70)
    assert loss_of_baseline(link) == pytest.approx(4.0 + change, abs=0.05)
    link.run(DAY, every_s=60)
    assert link.finding(FindingKind.STEP) is None
    assert len(link.told(EventKind.STEP)) == 1


def test_a_plug_left_worse_is_held_against_the_old_level(watch: Callable[..., Watch]) -> None:
    link = watch().run(2 * DAY, every_s=60)
    replug(link, 1.5)
    link.run(120)
    assert link.told(EventKind.BASELINE_BROKEN) == []
    assert loss_of_baseline(link) == pytest.approx(4.0, abs=0.05)
    found = link.finding(FindingKind.ADDED_LOSS)
    assert found is not None
    assert found.severity is Severity.WARNING


def test_a_small_jump_with_the_link_up_leaves_the_baseline(watch: Callable[..., Watch]) -> None:
    link = watch().run(2 * DAY, every_s=60)
    link.loss[0] += 0.3
    link.run(120)
    assert len(link.told(EventKind.STEP)) == 1
    assert link.told(EventKind.BASELINE_BROKEN) == []


def test_finished_rework_begins_anew_and_finds_no_jump_in_its_own_gain(
    watch: Callable[..., Watch],
) -> None:
    link = watch().run(2 * DAY, every_s=60)
    act(link, MarkKind.REWORK_FINISH)
    link.loss[0] -= 0.7
    link.run(DAY, every_s=60)
    assert [event.text for event in link.told(EventKind.BASELINE_BROKEN)] == ["rework"]
    assert loss_of_baseline(link) == pytest.approx(3.3, abs=0.05)
    assert link.told(EventKind.STEP) == []
    assert link.verdict is not None
    assert link.verdict.ab.baseline is not None
    assert not link.verdict.ab.baseline.firm


def test_a_meter_corrects_the_margin(watch: Callable[..., Watch]) -> None:
    link = watch(noise=0.0).run(90)
    assert link.verdict is not None
    assert link.verdict.ab.margin == Db(10.0)  # -9 dBm over -19 dBm
    link.facts = replace(link.facts, ab=tied(link.facts.ab, Db(-1.5)))
    verdict = link.run(1).verdict
    assert verdict is not None
    assert verdict.ab.margin is not None
    assert verdict.ab.margin.value == pytest.approx(8.5)
    assert (verdict.ab.anchored, verdict.ab.accuracy) == (True, Db(1.0))
    assert not verdict.ba.anchored


def test_tied_readings_are_held_against_the_narrower_reserve(watch: Callable[..., Watch]) -> None:
    link = watch(noise=0.0, loss=[8.5, 4.0]).run(90)  # 5.5 dB of margin: under 6, over 4
    assert link.finding(FindingKind.MARGIN_LOW) is not None
    link.facts = replace(link.facts, ab=tied(link.facts.ab, Db(0.0)))
    link.run(60 * 24)
    assert link.finding(FindingKind.MARGIN_LOW) is None
