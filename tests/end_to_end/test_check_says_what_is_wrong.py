"""`strandkeeper check` against real agents: every way to be refused, each in its own words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from real_agents.agent import USERS
from real_agents.configuration import (
    LinkEntry,
    Plan,
    SwitchEntry,
    community,
    usm,
    write_configuration,
)
from real_agents.scene import agents
from real_agents.station import FAR_IPV6, FAR_OUT_OF_BAND, NEAR, Station
from real_agents.watch import command

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(240)]

READER = USERS[0]
NOBODY = "10.77.1.77"  # an address of the copper network that no one has


@pytest.fixture(scope="module")
def station(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Station]:
    with agents(tmp_path_factory.mktemp("agents")) as (built, _lab, _pump):
        yield built


def pump_entry(where: Path, snmp: str, *, host: str = FAR_OUT_OF_BAND) -> SwitchEntry:
    return SwitchEntry(name="pump", host=host, snmp=snmp, timeout_s=0.7, retries=0)


def check(
    station: Station, where: Path, pump: SwitchEntry, link: LinkEntry | None = None
) -> tuple[int, str]:
    """The exit code of `check`, and all that it said."""
    lab = SwitchEntry(name="lab", host=NEAR, snmp=community(where))
    plan = Plan(directory=where, switches=[lab, pump], links=[link or LinkEntry()])
    done = command(station.desk, "check", str(write_configuration(plan)))
    said = done.stdout + done.stderr
    assert "Traceback" not in said, said
    return done.returncode, said


def has_words(said: str, *words: str) -> bool:
    return all(word.lower() in said.lower() for word in words)


def test_a_good_configuration_is_told_port_by_port_with_its_margin(
    station: Station, tmp_path: Path
) -> None:
    code, said = check(station, tmp_path, pump_entry(tmp_path, community(tmp_path)))
    assert code == 0, said
    # 11.90 and 8.50 dB in whole dB, rounded down; arithmetic: test_watched_through_its_own_link
    assert has_words(said, "lab", "pump", "fibre1", "1000BASE-LX10"), said
    assert "11 dB to spare" in said, said
    assert "8 dB to spare" in said, said


def test_a_switch_is_asked_over_ipv6_as_over_ipv4(station: Station, tmp_path: Path) -> None:
    if not station.ipv6:
        pytest.skip("NOT RUN: this machine has no IPv6")
    code, said = check(station, tmp_path, pump_entry(tmp_path, community(tmp_path), host=FAR_IPV6))
    assert code == 0, said
    assert has_words(said, FAR_IPV6, "fibre1"), said


def test_a_wrong_community_looks_like_silence_and_is_said_to(
    station: Station, tmp_path: Path
) -> None:
    code, said = check(station, tmp_path, pump_entry(tmp_path, community(tmp_path, "guess")))
    assert code == 1, said
    assert has_words(said, "pump", "community"), said
    assert "guess" not in said, "a credential was printed"
    assert "11 dB to spare" in said, "the switch that answers is told all the same: " + said


def test_a_wrong_user_is_named(station: Station, tmp_path: Path) -> None:
    user = replace(READER, name="stranger")
    code, said = check(station, tmp_path, pump_entry(tmp_path, usm(tmp_path, user)))
    assert code == 1, said
    assert has_words(said, "pump", "stranger", "user"), said


def test_a_wrong_authentication_key_is_said_to_be_one(station: Station, tmp_path: Path) -> None:
    user = replace(READER, auth_key="not-this-one-at-all")
    code, said = check(station, tmp_path, pump_entry(tmp_path, usm(tmp_path, user)))
    assert code == 1, said
    assert has_words(said, "pump", "reader", "auth", "key"), said
    assert "not-this-one-at-all" not in said, "a credential was printed"


def test_a_wrong_authentication_protocol_is_said_to_be_one(
    station: Station, tmp_path: Path
) -> None:
    entry = pump_entry(tmp_path, usm(tmp_path, READER, auth="SHA-512"))
    code, said = check(station, tmp_path, entry)
    assert code == 1, said
    assert has_words(said, "pump", "reader", "auth", "protocol"), said


def test_a_wrong_privacy_key_is_not_taken_for_something_else(
    station: Station, tmp_path: Path
) -> None:
    user = replace(READER, priv_key="not-this-one-either")
    code, said = check(station, tmp_path, pump_entry(tmp_path, usm(tmp_path, user)))
    assert code == 1, said
    assert has_words(said, "pump", "priv"), said
    assert "not-this-one-either" not in said, "a credential was printed"


def test_a_wrong_privacy_protocol_is_not_taken_for_something_else(
    station: Station, tmp_path: Path
) -> None:
    entry = pump_entry(tmp_path, usm(tmp_path, READER, priv="AES-256"))
    code, said = check(station, tmp_path, entry)
    assert code == 1, said
    assert has_words(said, "pump", "priv"), said


def test_an_address_that_nobody_has_is_no_answer(station: Station, tmp_path: Path) -> None:
    entry = pump_entry(tmp_path, community(tmp_path), host=NOBODY)
    code, said = check(station, tmp_path, entry)
    assert code == 1, said
    assert has_words(said, "pump", NOBODY, "answer"), said


def test_a_host_with_no_agent_is_no_answer(station: Station, tmp_path: Path) -> None:
    entry = replace(pump_entry(tmp_path, community(tmp_path)), port=1161)
    code, said = check(station, tmp_path, entry)
    assert code == 1, said
    assert has_words(said, "pump", "1161"), said


def test_a_name_that_does_not_resolve_is_said_to_be_that(station: Station, tmp_path: Path) -> None:
    entry = pump_entry(tmp_path, community(tmp_path), host="no-such-switch.invalid")
    code, said = check(station, tmp_path, entry)
    assert code == 1, said
    assert has_words(said, "pump", "no-such-switch.invalid"), said


def test_a_port_that_does_not_exist_is_told_with_the_ports_there_are(
    station: Station, tmp_path: Path
) -> None:
    entry = pump_entry(tmp_path, community(tmp_path))
    code, said = check(station, tmp_path, entry, LinkEntry(ports=("fibre1", "fibre7")))
    assert code == 1, said
    assert has_words(said, "fibre7", "fibre1", "oob"), said


def test_two_links_on_one_port_are_refused_by_name(station: Station, tmp_path: Path) -> None:
    lab = SwitchEntry(name="lab", host=NEAR, snmp=community(tmp_path))
    pump = pump_entry(tmp_path, community(tmp_path))
    twice = [LinkEntry(), LinkEntry(name="other cable", near=None)]
    plan = Plan(directory=tmp_path, switches=[lab, pump], links=twice)
    done = command(station.desk, "check", str(write_configuration(plan)))
    assert done.returncode == 1, done.stdout + done.stderr
    assert has_words(done.stdout + done.stderr, "shore cable", "other cable", "fibre1")


def test_an_interval_of_zero_is_refused_by_name(station: Station, tmp_path: Path) -> None:
    lab = SwitchEntry(name="lab", host=NEAR, snmp=community(tmp_path))
    pump = pump_entry(tmp_path, community(tmp_path))
    plan = Plan(directory=tmp_path, switches=[lab, pump], status_s=0)
    done = command(station.desk, "check", str(write_configuration(plan)))
    assert done.returncode == 1, done.stdout + done.stderr
    assert "status_s" in done.stdout + done.stderr
