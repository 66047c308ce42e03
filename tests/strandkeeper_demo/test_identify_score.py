"""The score of identification marks right what is right, and finds what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from tests.bench.held_out_agents import HELD_OUT
from tests.bench.identify_course import BEGINS_S, Claim, Meeting, Offer, cases
from tests.bench.identify_marks import Marks
from tests.bench.identify_score import met, score

from strandkeeper.model.oid import parse_oid
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Published
from strandkeeper_demo.personalities.tuning import TUNING

BY_NAME = {p.name: p for p in TUNING}
SYS_NAME, SYS_UP_TIME = parse_oid("1.3.6.1.2.1.1.5.0"), parse_oid("1.3.6.1.2.1.1.3.0")


def claim_of(truth: Published) -> Claim:
    return Claim(
        column=truth.column,
        step=truth.unit.step,
        dimension=truth.unit.dimension,
        kind=truth.kind,
    )


def marks_of(bend: Callable[[Claim], Claim], *, confident: bool = True) -> Marks:
    """Somebody who knows the truth, and bends it."""
    marks = Marks()
    for switch in TUNING:
        truth = switch.truth()
        offers = {
            quantity: Offer(
                claims=tuple(bend(claim_of(t)) for t in truth.of(quantity)[:1]),
                confident=confident,
            )
            for quantity in Quantity
            if truth.of(quantity)
        }
        marks.add(switch.name, truth, offers)
    return marks


def test_the_truth_has_full_marks() -> None:
    marks = marks_of(lambda claim: claim)
    for quantity in Quantity:
        assert (marks.precision(quantity), marks.recall(quantity)) == (1.0, 1.0)
    assert met(marks, 1.0)


@pytest.mark.parametrize(
    "bend",
    [
        pytest.param(lambda c: replace(c, step=c.step * 10), id="ten times the unit"),
        pytest.param(lambda c: replace(c, column=(*c.column[:-1], 99)), id="another column"),
        pytest.param(lambda c: replace(c, dimension="K"), id="another dimension"),
        pytest.param(lambda c: replace(c, kind="no such kind"), id="another kind of row"),
    ],
)
def test_a_wrong_answer_has_no_marks_and_counts_as_confident_only_if_it_was(
    bend: Callable[[Claim], Claim],
) -> None:
    sure, unsure = marks_of(bend), marks_of(bend, confident=False)
    assert sure.recall(Quantity.RX) == unsure.recall(Quantity.RX) == 0.0
    assert sure.confident_wrong()
    assert not unsure.confident_wrong()
    assert not met(sure, 0.0)


def test_text_that_names_its_unit_may_be_taken_as_written_and_numbers_may_not() -> None:
    for name, wanted in (("heath", 1.0), ("ridge", 0.0)):
        marks, truth = Marks(), BY_NAME[name].truth()
        (rx,) = truth.of(Quantity.RX)
        offer = Offer(claims=(Claim(column=rx.column, as_written=True),))
        marks.add(name, truth, {Quantity.RX: offer})
        assert marks.recall(Quantity.RX) == wanted


def test_what_is_not_published_and_offered_is_counted_as_invented() -> None:
    marks = Marks()
    offer = Offer(claims=(Claim(column=(1, 3, 6)),), confident=True)
    marks.add("fen", BY_NAME["fen"].truth(), {Quantity.RX: offer})
    assert marks.invented(Quantity.RX) == ["fen"]
    assert marks.recall(Quantity.RX) is None
    assert marks.precision(Quantity.RX) == 0.0
    assert marks.confident_wrong() == [("fen", Quantity.RX)]


async def test_every_switch_is_met_once_with_its_far_end_and_time_goes_by_when_waited() -> None:
    met_ones = []
    async for case in cases(TUNING[:4], seed=1):
        meeting: Meeting = case.meeting
        names = []
        for target in (meeting.near, meeting.far):
            answer = await meeting.client.get(target.name, [SYS_NAME])
            names.append(answer.values[SYS_NAME])
        assert names[0] == case.switch.name.encode()
        met_ones.append(names)
        before = (await meeting.client.get(meeting.near.name, [SYS_UP_TIME])).values[SYS_UP_TIME]
        await meeting.wait(90.0)
        after = (await meeting.client.get(meeting.near.name, [SYS_UP_TIME])).values[SYS_UP_TIME]
        assert isinstance(before, int)
        assert after == before + 9000
        assert meeting.links
    assert met_ones == [
        [b"ridge", b"fjord"],
        [b"fjord", b"ridge"],
        [b"marsh", b"cairn"],
        [b"cairn", b"marsh"],
    ]
    assert BEGINS_S % 60 == 0


async def test_who_offers_nothing_invents_nothing_and_finds_nothing() -> None:
    async def silent(_: Meeting) -> dict[Quantity, Offer]:
        return {}

    marks = await score(silent, HELD_OUT[:4], 1)
    assert marks.recall(Quantity.RX) == 0.0
    assert marks.precision(Quantity.RX) is None
    assert not marks.confident_wrong()
