"""The far switch is asked through the link that is watched: light, margin, and a cut cable."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from real_agents.configuration import LINK
from real_agents.scene import LAB, Scene, scene
from real_agents.station import FAR

from strandkeeper.model.finding import Cause, FindingKind, Severity
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.verdict import DirectionVerdict, EventKind, LinkVerdict

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(240)]

# Lab receives 61.7 µW: 10·log10(0.0617 mW) = -12.0971 dBm. Its sensitivity is the owner's -24.0,
# its overload the owner's -3.0.
LAB_MARGIN_DB = 11.9029
LAB_HEADROOM_DB = 9.0971
# Pump house receives 79.4 µW: 10·log10(0.0794 mW) = -11.0018 dBm. 1000BASE-LX10 (IEEE 802.3
# clause 59) has a receive sensitivity of -19.5 dBm and a maximum receive power of -3 dBm.
PUMP_MARGIN_DB = 8.4982
PUMP_HEADROOM_DB = 8.0018
# Transmit less receive: Lab sends 251.2 µW = -5.9998 dBm, Pump house 223.9 µW = -6.4995 dBm.
LOSS_AB_DB = 5.0020
LOSS_BA_DB = 5.5976

CENTI = 0.01


@pytest.fixture(scope="module")
def all_of_it(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    with scene(tmp_path_factory.mktemp("through"), far_host=FAR) as built:
        yield built


@pytest.fixture
def watched(all_of_it: Scene) -> Iterator[Scene]:
    all_of_it.settle()
    yield all_of_it
    assert all_of_it.watch.runs, all_of_it.watch.log()


def since(watched: Scene) -> int:
    verdict = watched.watch.verdict()
    assert verdict is not None
    return verdict.at_ms + 1


def link_object(status: dict[str, Any]) -> dict[str, Any]:
    found: list[dict[str, Any]] = [v for v in status["links"] if v["link"] == LINK]
    assert len(found) == 1, json.dumps(status, indent=1)
    return found[0]


def light(direction: DirectionVerdict) -> float | None:
    return direction.rx.power.value if isinstance(direction.rx, Measured) else None


def finding(verdict: LinkVerdict, kind: FindingKind) -> Any:
    return next((f for f in verdict.findings if f.kind is kind), None)


def test_status_gives_the_margin_headroom_and_loss_of_the_given_watts(watched: Scene) -> None:
    directions = link_object(watched.watch.status())["directions"]
    assert directions["ba"]["margin_db"] == pytest.approx(LAB_MARGIN_DB, abs=CENTI)
    assert directions["ba"]["headroom_db"] == pytest.approx(LAB_HEADROOM_DB, abs=CENTI)
    assert directions["ab"]["margin_db"] == pytest.approx(PUMP_MARGIN_DB, abs=CENTI)
    assert directions["ab"]["headroom_db"] == pytest.approx(PUMP_HEADROOM_DB, abs=CENTI)
    assert directions["ab"]["loss_db"] == pytest.approx(LOSS_AB_DB, abs=CENTI)
    assert directions["ba"]["loss_db"] == pytest.approx(LOSS_BA_DB, abs=CENTI)


def test_status_in_words_names_the_link_and_both_places(watched: Scene) -> None:
    text = watched.watch.status_text()
    for word in (LINK, "Lab", "Pump house"):
        assert word in text
    assert "11 dB" in text  # 11.9 dB, in whole dB that are surely there
    assert "−12.1 dBm" in text


def test_a_reading_follows_the_light(watched: Scene) -> None:
    # 30.9 µW: 10·log10(0.0309 mW) = -15.1004 dBm, 8.8996 dB above -24.0
    watched.change_light(lab=30.9e-6)
    verdict = watched.watch.until_verdict(
        "the weaker light", lambda v: (light(v.ba) or 0) < -15, timeout_s=20
    )
    assert verdict.ba.margin is not None
    assert verdict.ba.margin.value == pytest.approx(8.8996, abs=CENTI)
    assert light(verdict.ab) == pytest.approx(-11.0018, abs=CENTI)


def test_light_lost_and_light_back_are_what_they_are(watched: Scene) -> None:
    begun = since(watched)
    watched.change_light(lab=0.0)
    lost = watched.watch.until_event(EventKind.LIGHT_LOST, since_ms=begun, timeout_s=60)
    assert lost.direction is Direction.BA
    verdict = watched.watch.until_verdict(
        "no light", lambda v: finding(v, FindingKind.LIGHT_LOST) is not None
    )
    assert verdict.ba.rx == NO_LIGHT
    assert verdict.ba.margin is None
    said = link_object(watched.watch.status())["directions"]["ba"]
    assert said["rx_dbm"] == "no-light"
    assert said["margin_db"] is None
    watched.lab.insert(LAB)
    watched.watch.until_event(EventKind.LIGHT_BACK, since_ms=begun)
    assert EventKind.RESTARTED not in watched.watch.kinds(since_ms=begun)


def test_silence_behind_the_cut_link_is_a_consequence_and_not_a_second_alarm(
    watched: Scene,
) -> None:
    begun = since(watched)
    watched.station.cut_fibre()
    watched.change_light(lab=0.0)
    watched.watch.until_event(EventKind.LINK_DOWN, since_ms=begun)
    verdict = watched.watch.until_verdict(
        "the far switch found silent",
        lambda v: finding(v, FindingKind.NO_ANSWER) is not None,
        timeout_s=45,
    )
    silence = finding(verdict, FindingKind.NO_ANSWER)
    assert silence.end is End.B
    assert silence.cause is Cause.BEHIND_A_LINK_THAT_IS_DOWN
    assert silence.severity is Severity.NOTE
    assert finding(verdict, FindingKind.LINK_DOWN) is not None
    watched.station.mend_fibre()
    watched.lab.insert(LAB)
    watched.watch.until_event(EventKind.LINK_UP, since_ms=begun)
    watched.watch.until_event(EventKind.ANSWERS_AGAIN, since_ms=begun)
    assert EventKind.RESTARTED not in watched.watch.kinds(since_ms=begun)
