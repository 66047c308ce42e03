"""Fixed limits: added loss (the main alarm), margin, overload, errors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import DirectionFacts, LinkFacts, ReceiverLimits
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.names import LinkName
from strandkeeper.optics.units import Dbm

Build = Callable[..., Any]


@pytest.mark.parametrize(
    ("added", "minutes", "severity"),
    [
        pytest.param(0.4, 60, None, id="below 0.5 dB nothing is logged"),
        pytest.param(0.7, 20, Severity.NOTE, id="0.5 dB is logged"),
        pytest.param(1.3, 20, Severity.NOTE, id="1 dB is not told before 30 minutes"),
        pytest.param(1.3, 45, Severity.WARNING, id="1 dB is told after 30 minutes"),
        pytest.param(3.5, 20, Severity.URGENT, id="3 dB is urgent after 5 minutes"),
    ],
)
def test_added_loss_speaks_at_its_steps(
    watch: Build, added: float, minutes: float, severity: Severity | None
) -> None:
    link = watch().run(120)
    link.loss[0] += added
    link.run(minutes)
    found = link.finding(FindingKind.ADDED_LOSS)
    assert (None if found is None else found.severity) == severity


def test_added_loss_ends_after_two_hours_below_half(watch: Build) -> None:
    link = watch().run(120)
    link.loss[0] += 1.5
    link.run(60)
    link.loss[0] -= 1.5
    link.run(100)
    assert link.finding(FindingKind.ADDED_LOSS) is not None
    link.run(45)
    assert link.finding(FindingKind.ADDED_LOSS) is None


def test_added_loss_has_an_interval_that_holds_the_truth(watch: Build) -> None:
    link = watch().run(120)
    link.loss[0] += 1.0
    link.run(30)
    added = link.verdict.ab.added_loss
    assert added.low < 1.0 < added.high
    assert added.high - added.low < 0.3


def test_the_owner_may_call_the_present_loss_good(watch: Build) -> None:
    link = watch().run(120)
    link.loss[0] += 1.5
    link.run(60)
    now = 1_750_000_200_000 + 1000 * link.time_s
    from strandkeeper.analysis import engine
    from strandkeeper.model.block import Block

    mark = Mark(time_ms=now, kind=MarkKind.BASELINE)
    link.state, _ = engine.advance(link.facts, link.state, Block.from_rows([], [mark]))
    link.run(130)
    assert link.verdict.ab.baseline.by_owner
    assert abs(link.verdict.ab.added_loss.value) < 0.1


def test_margin_is_sensitivity_subtracted_from_the_reading_to_a_hundredth(watch: Build) -> None:
    link = watch(noise=0.0).run(1)
    # -5.0 dBm sent, 4.0 dB lost: -9.0 dBm; sensitivity -19.0, overload -3.0 dBm
    assert link.verdict.ab.margin.value == pytest.approx(10.0, abs=0.005)
    assert link.verdict.ab.headroom.value == pytest.approx(6.0, abs=0.005)
    assert link.verdict.ab.loss.value == pytest.approx(4.0, abs=0.005)


def test_low_margin_is_found_at_the_first_reading(watch: Build) -> None:
    link = watch()
    link.loss = [8.5, 12.0]
    link.run(0.5)
    found = {f.direction: f.severity for f in link.verdict.findings}
    assert found == {"ab": Severity.WARNING, "ba": Severity.URGENT}


def test_strong_light_in_a_class_that_allows_it_is_a_finding_only_with_errors(watch: Build) -> None:
    limits = ReceiverLimits(sensitivity=Dbm(-19.0), overload=Dbm(-3.0), overload_needs_errors=True)
    facts = LinkFacts(name=LinkName("short"), ab=DirectionFacts(limits=limits))
    link = watch(facts)
    link.launch, link.loss = [-1.0, -5.0], [0.5, 4.0]
    link.run(30)
    assert link.finding(FindingKind.OVERLOAD) is None
    link.errors[1] = 5
    link.run(30)
    assert link.finding(FindingKind.OVERLOAD) is not None


def test_one_bad_frame_is_never_told_and_ten_in_two_spells_are(watch: Build) -> None:
    link = watch().run(30)
    link.errors[1] = 1
    link.run(0.5)
    link.errors[1] = 0
    link.run(30)
    assert link.finding(FindingKind.ERRORS) is None
    for _ in range(2):
        link.errors[1] = 6
        link.run(0.5)
        link.errors[1] = 0
        link.run(20)
    assert link.finding(FindingKind.ERRORS).severity is Severity.WARNING
    assert link.verdict.ab.errors_24h == 13


def test_the_verdict_of_an_end_without_readings_says_unknown(watch: Build) -> None:
    facts = replace(watch().facts, ab=DirectionFacts())
    link = watch(facts).run(1)
    assert link.verdict.ab.margin is None
    assert link.verdict.ab.headroom is None
