"""Work on a link in words: what a cold night is judged by, what is known of an end out of reach."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strandkeeper.alerts.wording_rework import (
    check_sentence,
    night_sentence,
    out_of_reach_sentence,
)
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.rework import (
    Check,
    CheckKind,
    DirectionReport,
    Night,
    Outcome,
    ReworkVerdict,
    Side,
    Worth,
)

LINK = Link(
    name=LinkName("shore"),
    a=PortEnd(name="Lab", switch=SwitchName("lab"), port=PortName("Gi1")),
    b=PortEnd(name="Pump house", switch=SwitchName("pump"), port=PortName("Gi2")),
    near=End.A,
)
SIDE = Side(from_ms=0, to_ms=1, coldest_c=11.2)


def report(night: Night | None) -> DirectionReport:
    verdict = ReworkVerdict(worth=Worth.BETTER, night=night)
    return DirectionReport(before=SIDE, after=SIDE, verdict=verdict)


@pytest.mark.parametrize("night", Night)
def test_every_way_of_judging_a_night_is_told_with_the_end_it_is_judged_at(night: Night) -> None:
    said = night_sentence("Pump house", report(night), 3.4)
    assert "module at Pump house" in said or night is Night.A_FORTNIGHT
    assert said.endswith(".")
    assert "RECEIVER" not in said


def test_the_temperatures_still_waited_for_are_told() -> None:
    said = night_sentence("Pump house", report(Night.YET), 3.4)
    assert said.endswith("(3 °C; 11 °C since the work).")


def test_what_is_not_known_is_not_claimed() -> None:
    assert night_sentence("Pump house", report(None), 3.4) == ""
    assert "not proven in the cold" in night_sentence("x", report(Night.A_FORTNIGHT), 3.4)
    assert "look yourself" in night_sentence("x", report(Night.STEADY), 3.4)
    for night in (Night.A_DAY, Night.NO_TEMPERATURE):
        assert "know" in night_sentence("x", report(night), None)


def test_an_end_out_of_reach_says_what_to_go_by_and_how_to_see_it_on_the_spot() -> None:
    said = out_of_reach_sentence(LINK, End.B, "192.0.2.7")
    assert "It is reached through this link" in said
    assert "Meanwhile go by what Lab receives (Pump house → Lab)." in said
    assert said.endswith("strandkeeper live --switch 192.0.2.7 --port Gi2")
    near = out_of_reach_sentence(LINK, End.A, "192.0.2.6")
    assert near == "Lab does not answer; the figure is its last."
    elsewhere = out_of_reach_sentence(replace(LINK, near=None), End.B, "192.0.2.7")
    assert elsewhere == "Pump house does not answer; the figure is its last."


def test_bits_that_nothing_brings_say_that_no_time_is_known() -> None:
    pending = Check(kind=CheckKind.BITS, outcome=Outcome.PENDING, got=0.0, limit=3e12, ratio=1e-12)
    assert "no traffic counted yet, so how long is not known" in check_sentence(pending)
    slow = replace(pending, got=1e9, left_s=7200.0)
    assert "2 hours more at this traffic" in check_sentence(slow)
