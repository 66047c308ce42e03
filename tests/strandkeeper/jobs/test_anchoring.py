"""A module tied to a power meter: the margin is true, the reading stays as reported."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.strandkeeper.jobs.prove_samples import SHORE, link, settings

from strandkeeper.analysis.margin import headroom, margin
from strandkeeper.jobs.anchoring import anchored, void_anchors, void_benches
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.meter_reading import Anchor, Bench
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.optics.units import Db, Dbm

ANCHOR = Anchor(
    link=SHORE, direction=Direction.AB, at_ms=0, correction=Db(-0.7), module_id="maker X serial 1"
)


def verdict(module_b: str | None) -> LinkVerdict:
    return LinkVerdict(
        link=SHORE,
        at_ms=0,
        a=EndState(end=End.A, module_id="A"),
        b=EndState(end=End.B, module_id=module_b),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
    )


def test_margin_and_headroom_are_those_of_the_true_power() -> None:
    facts = anchored(link_facts(link(), settings(link())), [ANCHOR])
    # 1000BASE-LX10: -19.5 and -3.0 dBm; reported -8.0, truly -8.7: 10.8 and 5.7 dB to spare
    left, above = margin(Dbm(-8.0), facts.ab.limits), headroom(Dbm(-8.0), facts.ab.limits)
    assert left is not None
    assert above is not None
    assert (left.value, above.value) == (pytest.approx(10.8), pytest.approx(5.7))
    assert (facts.ab.accuracy, facts.ab.anchored) == (Db(1.0), True)
    assert (facts.ba.accuracy, facts.ba.anchored) == (Db(3.0), False)
    assert "0.7 dB higher" in facts.ab.limits.source


def test_a_tie_holds_for_its_own_module_only() -> None:
    assert void_anchors([ANCHOR], [verdict("maker X serial 1")]) == []
    assert void_anchors([ANCHOR], [verdict(None)]) == []
    assert void_anchors([ANCHOR], [verdict("maker X serial 2")]) == [(SHORE, Direction.AB)]
    assert void_anchors([replace(ANCHOR, link=LinkName("other"))], [verdict("z")]) == []


def test_a_bench_reference_falls_with_either_module() -> None:
    benches = [
        Bench(link=SHORE, direction=way, at_ms=0, difference=Db(0.3), module_ids=("A", "B"))
        for way in Direction
    ]
    assert void_benches(benches, [verdict("B")]) == []
    assert void_benches(benches, [verdict("C")]) == [SHORE]
