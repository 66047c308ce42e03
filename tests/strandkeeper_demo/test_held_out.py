"""What holds of every switch of the second and the third set, whatever it is like."""

from __future__ import annotations

import re

import pytest
from tests.bench import identify_score
from tests.bench.held_out_agents_2 import HELD_OUT_2
from tests.bench.held_out_agents_3 import HELD_OUT_3
from tests.bench.identify_course import Meeting, Offer
from tests.bench.identify_marks import Marks
from tests.strandkeeper_demo.held_out import asked, box_of, moved_by_light
from tests.strandkeeper_demo.net_snmp import needs_tools

from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.responder import serve

PORT = 16_269
HOST = "127.0.9.4"
SETS = {"seen-2": HELD_OUT_2, "held-out-3": HELD_OUT_3}
BY_NAME = {p.name: p for p in (*HELD_OUT_2, *HELD_OUT_3)}
NAMES = list(BY_NAME)


@needs_tools
@pytest.mark.parametrize("name", NAMES)
async def test_it_says_who_it_is(name: str) -> None:
    box = box_of(BY_NAME[name])
    (wire,) = await serve([(box, (HOST, PORT))])
    text = await asked(box.switch, "get", f"{HOST}:{PORT}", "1.3.6.1.2.1.1.2.0")
    wire.close()
    assert text.strip().endswith(f".32473.{box.switch.arc}.1")


@pytest.mark.parametrize("name", NAMES)
def test_light_that_goes_moves_receive_power_and_no_other_quantity(name: str) -> None:
    box = box_of(BY_NAME[name])
    publishes = bool(box.switch.truth().of(Quantity.RX))
    assert moved_by_light(box) == ({Quantity.RX} if publishes else set())


@pytest.mark.parametrize("name", NAMES)
def test_everything_of_its_own_lies_below_its_own_arc(name: str) -> None:
    switch = BY_NAME[name]
    tables = box_of(switch).tables()
    private = [oid for oid in tables if oid[:6] == (1, 3, 6, 1, 4, 1)]
    assert private
    assert all(oid[: len(switch.base)] == switch.base for oid in private)


async def silent(_: Meeting) -> dict[Quantity, Offer]:
    """Offers nothing."""
    return {}


@pytest.mark.parametrize("only", SETS)
@pytest.mark.parametrize("names", [False, True])
async def test_its_switches_are_named_with_names_alone(
    only: str, names: bool, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The network is left out here: the marks are of nobody's answers."""

    async def score(_: object, switches: tuple[Personality, ...], __: int) -> Marks:
        marks = Marks()
        for switch in switches:
            marks.add(switch.name, switch.truth(), {})
        return marks

    monkeypatch.setattr(identify_score, "score", score)
    arguments = ["--only", only, "--learn", f"{__name__}:silent"]
    assert await identify_score.main([*arguments, *(["--names"] if names else [])]) == 1
    out = capsys.readouterr().out
    assert any(re.search(rf"\b{p.name}\b", out) for p in SETS[only]) is names
