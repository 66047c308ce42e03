"""The harness proves itself with Net-SNMP's own client, before anything of ours is asked."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from real_agents.agent import COMMUNITY, USERS, Agent
from real_agents.module_rows import DBM, Module
from real_agents.station import (
    FAR,
    FAR_OUT_OF_BAND,
    FIBRE,
    NEAR,
    Station,
    inside,
    remove_leftovers,
)
from real_agents.waiting import until

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(240)]

IF_NAME = "1.3.6.1.2.1.31.1.1.1.1"
IF_OPER_STATUS = "1.3.6.1.2.1.2.2.1.8"
SENSOR_VALUE = "1.3.6.1.2.1.99.1.1.1.4"
SYS_UP_TIME = "1.3.6.1.2.1.1.3.0"


@pytest.fixture(scope="module")
def station() -> Iterator[Station]:
    with Station() as built:
        yield built


@pytest.fixture(scope="module")
def lab(station: Station, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Agent]:
    where = tmp_path_factory.mktemp("lab") / "agent"
    module = Module(rx=12.5e-6, tx=251.2e-6)
    with Agent(namespace=station.near, directory=where, sys_name="lab", module=module) as agent:
        yield agent


@pytest.fixture(scope="module")
def pump(station: Station, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Agent]:
    where = tmp_path_factory.mktemp("pump") / "agent"
    module = Module(rx=-19.03, tx=-6.0, power=DBM, sensors_in_port=True, mau_type=49)
    with Agent(namespace=station.far, directory=where, sys_name="pump", module=module) as agent:
        yield agent


def ask(station: Station, program: str, host: str, *oids: str, due_s: float = 20) -> str:
    """What the client prints; `due_s` is short where no answer is due, or the question repeated."""
    client = [program, "-v2c", "-c", COMMUNITY, "-On", "-t", f"{due_s}", "-r", "0", host, *oids]
    done = subprocess.run(
        inside(station.desk, *client), capture_output=True, text=True, timeout=30, check=False
    )
    return done.stdout + done.stderr


def test_both_agents_answer_and_name_the_ports_of_the_kernel(
    station: Station, lab: Agent, pump: Agent
) -> None:
    for host in (NEAR, FAR, FAR_OUT_OF_BAND):
        assert f'STRING: "{FIBRE}"' in ask(station, "snmpwalk", host, IF_NAME)


def test_the_module_says_what_the_file_says_and_an_empty_slot_says_no_such_instance(
    station: Station, lab: Agent, pump: Agent
) -> None:
    before = lab.module
    try:
        assert "INTEGER: 125\n" in ask(station, "snmpget", NEAR, f"{SENSOR_VALUE}.111")
        assert "INTEGER: -1903\n" in ask(station, "snmpget", FAR, f"{SENSOR_VALUE}.111")
        lab.insert(Module(rx=25.0e-6, tx=251.2e-6))
        assert "INTEGER: 250\n" in ask(station, "snmpget", NEAR, f"{SENSOR_VALUE}.111")
        lab.insert(Module(rx=0, tx=0, serial=""))
        gone = ask(station, "snmpget", NEAR, f"{SENSOR_VALUE}.111")
        assert "No Such Instance" in gone
    finally:
        lab.insert(before)


def test_the_version_3_users_are_let_in(station: Station, pump: Agent) -> None:
    for user in USERS:
        secrets = ["-a", user.auth, "-A", user.auth_key, "-x", user.priv, "-X", user.priv_key]
        client = ["snmpget", "-v3", "-u", user.name, "-l", "authPriv", *secrets, FAR, SYS_UP_TIME]
        done = subprocess.run(
            inside(station.desk, *client), capture_output=True, text=True, timeout=30, check=False
        )
        assert "Timeticks" in done.stdout, done.stderr


def test_a_cut_fibre_silences_the_far_switch_but_not_its_other_path(
    station: Station, lab: Agent, pump: Agent
) -> None:
    oper = f"{IF_OPER_STATUS}.{station.if_index(station.near)}"
    station.cut_fibre()
    try:
        assert "No Response" in ask(station, "snmpget", FAR, SYS_UP_TIME, due_s=1)
        assert "Timeticks" in ask(station, "snmpget", FAR_OUT_OF_BAND, SYS_UP_TIME)
        until("down(2)", lambda: "INTEGER: 2" in ask(station, "snmpget", NEAR, oper), timeout_s=15)
    finally:
        station.mend_fibre()
    until(
        "again",
        lambda: "Timeticks" in ask(station, "snmpget", FAR, SYS_UP_TIME, due_s=1),
        timeout_s=15,
    )


def test_a_frozen_agent_is_silent_and_answers_after_it_is_thawed(
    station: Station, lab: Agent
) -> None:
    lab.freeze()
    try:
        assert "No Response" in ask(station, "snmpget", NEAR, SYS_UP_TIME, due_s=1)
    finally:
        lab.thaw()
    assert "Timeticks" in ask(station, "snmpget", NEAR, SYS_UP_TIME)


def test_a_restarted_agent_counts_its_boots_and_begins_its_clock_anew(
    station: Station, pump: Agent
) -> None:
    boots = "1.3.6.1.6.3.10.2.1.2.0"
    before = ask(station, "snmpget", FAR, boots)
    pump.restart()
    after = ask(station, "snmpget", FAR, boots)
    assert int(after.split()[-1]) == int(before.split()[-1]) + 1


def command_lines() -> list[str]:
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            found.append(path.read_bytes().decode(errors="replace"))
        except OSError:  # it ended meanwhile
            continue
    return found


def fail_with_an_agent_running(directory: Path, names: list[str]) -> None:
    module = Module(rx=1e-6, tx=1e-6)
    with Station() as built:
        names += [built.desk, built.near, built.far]
        with Agent(namespace=built.far, directory=directory, sys_name="gone", module=module):
            raise KeyError("on purpose")


def test_nothing_is_left_after_a_failure(tmp_path: Path) -> None:
    names: list[str] = []
    with pytest.raises(KeyError, match="on purpose"):
        fail_with_an_agent_running(tmp_path / "agent", names)
    left = subprocess.run(["ip", "netns", "list"], capture_output=True, text=True, check=True)
    assert len(names) == 3
    assert not [name for name in names if name in left.stdout]
    assert not [line for line in command_lines() if str(tmp_path) in line]


def test_what_a_killed_run_left_behind_is_removed_by_the_next(tmp_path: Path) -> None:
    gone = subprocess.Popen(["true"])
    gone.wait()
    left, ours = f"strand{gone.pid}n1-desk", f"strand{os.getpid()}n999-desk"
    for name in (left, ours):
        subprocess.run(["ip", "netns", "add", name], check=True)
    try:
        remove_leftovers()
        there = subprocess.run(["ip", "netns", "list"], capture_output=True, text=True, check=True)
        assert left not in there.stdout
        assert ours in there.stdout
    finally:
        subprocess.run(["ip", "netns", "del", ours], check=True)
