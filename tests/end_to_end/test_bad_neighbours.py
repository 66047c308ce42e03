"""Entries that cannot work beside one that does: the daemon says so and goes on with the rest.

The link that works has a far switch that is asked by SNMP v1.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from real_agents.agent import USERS
from real_agents.configuration import (
    LINK,
    LinkEntry,
    Plan,
    SwitchEntry,
    community,
    usm,
    write_configuration,
)
from real_agents.scene import Scene, scene
from real_agents.station import FAR, FAR_OUT_OF_BAND, NEAR, NEAR_ON_FIBRE
from real_agents.watch import command

from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.names import End, LinkName

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(240)]

STRANGER = replace(USERS[0], name="stranger")


def bad_switches(directory: Path) -> list[SwitchEntry]:
    return [
        SwitchEntry(name="nobody", host="10.77.1.77", snmp=community(directory)),
        SwitchEntry(name="locked", host=FAR, snmp=community(directory, "guess")),
        SwitchEntry(name="strange", host=NEAR_ON_FIBRE, snmp=usm(directory, STRANGER)),
    ]


def version_1(directory: Path) -> str:
    return community(directory, version="1")


LINKS = (
    LinkEntry(),
    LinkEntry(name="to nobody", switches=("nobody", "locked"), near=None),
    LinkEntry(name="to a stranger", switches=("strange", "pump"), near=None, ports=("x", "y7")),
)


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    directory = tmp_path_factory.mktemp("neighbours")
    with scene(
        directory,
        far_host=FAR_OUT_OF_BAND,
        far_snmp=version_1,
        links=LINKS,
        more_switches=bad_switches(directory),
    ) as built:
        yield built


def test_the_good_link_is_watched_beside_three_bad_switches(watched: Scene) -> None:
    watched.settle()
    verdict = watched.watch.verdict()
    assert verdict is not None
    assert verdict.ba.margin is not None
    assert verdict.ab.margin is not None
    # 61.7 µW is -12.0971 dBm, 11.9029 dB above -24.0; 79.4 µW is -11.0018 dBm, 8.4982 above -19.5
    assert verdict.ba.margin.value == pytest.approx(11.9029, abs=0.01)
    assert verdict.ab.margin.value == pytest.approx(8.4982, abs=0.01)


def test_a_version_1_agent_counts_frames_without_64_bit_counters(watched: Scene) -> None:
    begun = watched.settle()

    def counts() -> list[int | None]:
        with watched.watch.reader() as reader:
            rows = [r for r in reader.rows(LinkName(LINK), begun) if r.end is End.B]
        return [r.deltas.in_frames for r in rows]

    def counted() -> int:
        return sum(count or 0 for count in counts())

    # an agent of a few seconds may answer zeros that it has not read yet: they are no beginning
    watched.watch.until("a known count", lambda: any(c is not None for c in counts()))
    watched.station.send(frames=1000)
    watched.watch.until("1000 frames", lambda: counted() >= 1000)
    assert counted() < 1200


def test_each_bad_switch_says_its_own_reason_in_the_record(watched: Scene) -> None:
    def reasons() -> dict[str, str]:
        with watched.watch.reader() as reader:
            return {s.switch: f"{s.error} {s.hint}" for s in reader.switches()}

    watched.watch.until("three reasons", lambda: {"nobody", "locked", "strange"} <= set(reasons()))
    watched.watch.until(
        "a reason each",
        lambda: all(reasons()[name].strip() for name in ("nobody", "locked", "strange")),
    )
    said = reasons()
    assert "10.77.1.77" in said["nobody"] or "nobody" in said["nobody"]
    assert "community" in said["locked"]
    assert "stranger" in said["strange"]
    assert "guess" not in "".join(said.values())
    assert not said["lab"].strip()
    assert watched.watch.runs


def test_a_port_that_is_not_there_is_recorded_with_the_ports_that_are(watched: Scene) -> None:
    def pump() -> SwitchHealth:
        with watched.watch.reader() as reader:
            return next(s for s in reader.switches() if s.switch == "pump")

    watched.watch.until("the missing port", lambda: "y7" in pump().missing_ports)
    assert "fibre1" in pump().known_ports
    assert pump().answered


def test_the_metrics_page_is_one_that_promtool_has_nothing_to_say_about(watched: Scene) -> None:
    watched.settle()
    page = watched.watch.metrics()
    assert "strandkeeper_margin_db{" in page
    promtool = shutil.which("promtool")
    if promtool is None and os.environ.get("STRANDKEEPER_NO_SKIPS") != "1":
        pytest.skip("NOT RUN: promtool (Debian package prometheus) is missing")
    assert promtool is not None
    checked = subprocess.run(
        [promtool, "check", "metrics"],
        input=page,
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert (checked.returncode, checked.stdout, checked.stderr) == (0, "", ""), page


@pytest.mark.parametrize("path", ["/proc/no/record.db", "station.toml/record.db"])
def test_a_record_that_cannot_be_written_is_said_plainly_and_ends_the_run(
    watched: Scene, tmp_path: Path, path: str
) -> None:
    plan = Plan(
        directory=tmp_path,
        switches=[SwitchEntry(name="lab", host=NEAR, snmp=community(tmp_path))],
        links=[],
        store=path,
    )
    configuration = write_configuration(plan)
    done = command(watched.station.desk, "run", str(configuration), "--no-dashboard")
    said = done.stdout + done.stderr
    assert done.returncode == 1, said
    assert "Traceback" not in said, said
    assert path in said, said
