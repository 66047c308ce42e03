"""SNMPv3 authPriv does what v2c does, also after the agent's boots changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from real_agents.agent import USERS
from real_agents.configuration import LinkEntry, usm
from real_agents.module_rows import DBM, Sensor
from real_agents.scene import LAB, PUMP, Scene, scene
from real_agents.station import FAR_OUT_OF_BAND

from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.link import LimitOrigin
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import EventKind

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(240)]

# 49 is dot3MauType1000BaseLX10: the switch names the optic, the configuration does not
PUMP_IN_DBM = replace(PUMP, power=DBM, rx=-11.0, tx=-6.5, mau_type=49)
NANOWATTS = Sensor(6, 9, 9, "watts")  # units(9), precision 9: the value counts nanowatts


def sha_256(directory: Path) -> str:
    return usm(directory, USERS[0])


def sha_1(directory: Path) -> str:
    return usm(directory, USERS[1], auth="SHA")


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    """Lab counts in nanowatts under SHA-256; Pump house, with SHA, says dBm itself."""
    with scene(
        tmp_path_factory.mktemp("version3"),
        far_host=FAR_OUT_OF_BAND,
        snmp=sha_256,
        far_snmp=sha_1,
        lab=replace(LAB, power=NANOWATTS, rx=5.0e-6),
        pump=PUMP_IN_DBM,
        links=[LinkEntry(b="")],
    ) as built:
        yield built


def test_version_3_gives_the_same_margin_from_other_units(watched: Scene) -> None:
    verdict = watched.watch.until_verdict(
        "both margins", lambda v: v.ab.margin is not None and v.ba.margin is not None
    )
    assert verdict.ba.margin is not None
    assert verdict.ab.margin is not None
    # 5.0 µW is -23.0103 dBm, 0.9897 dB above the owner's -24.0; -11.00 dBm is 8.50 dB above the
    # -19.5 of 1000BASE-LX10
    assert verdict.ba.margin.value == pytest.approx(0.9897, abs=0.01)
    assert verdict.ab.margin.value == pytest.approx(8.50, abs=0.01)


def test_a_module_type_that_only_the_switch_names_gives_the_limits(watched: Scene) -> None:
    verdict = watched.watch.until_verdict("a margin", lambda v: v.ab.margin is not None)
    assert verdict.ab.limits_origin is LimitOrigin.PMD_RECOGNISED
    assert "1000BASE-LX10" in verdict.ab.limits_source
    assert verdict.ba.limits_origin is LimitOrigin.OWNER


def test_a_margin_below_the_reserve_is_urgent_in_its_direction_alone(watched: Scene) -> None:
    # 0.99 dB in one direction, below the 3 dB that are urgent; 8.50 dB in the other
    verdict = watched.watch.until_verdict(
        "margin found low",
        lambda v: (
            v.ab.margin is not None and FindingKind.MARGIN_LOW in {f.kind for f in v.findings}
        ),
    )
    low = [f for f in verdict.findings if f.kind is FindingKind.MARGIN_LOW]
    assert [(f.direction, f.severity) for f in low] == [(Direction.BA, Severity.URGENT)]


def test_version_3_goes_on_after_the_agent_restarted_with_other_boots(watched: Scene) -> None:
    first = watched.watch.until_verdict("ten seconds up", lambda v: (v.b.uptime_cs or 0) > 10_00)
    begun = first.at_ms + 1
    watched.pump.restart()
    watched.watch.until_event(EventKind.RESTARTED, since_ms=begun)
    watched.pump.insert(replace(PUMP_IN_DBM, rx=-12.0))
    verdict = watched.watch.until_verdict(
        "a new reading over version 3",
        lambda v: v.ab.margin is not None and abs(v.ab.margin.value - 7.5) < 0.01,
    )
    assert verdict.b.answers


def test_version_3_goes_on_with_another_device_at_the_same_address(watched: Scene) -> None:
    """A new engine ID: requests to the old one are answered by nobody."""
    watched.pump.replace()
    watched.pump.insert(replace(PUMP_IN_DBM, rx=-13.0))
    verdict = watched.watch.until_verdict(
        "a reading of the new device",
        lambda v: v.ab.margin is not None and abs(v.ab.margin.value - 6.5) < 0.01,
        timeout_s=60,
    )
    assert verdict.b.answers
