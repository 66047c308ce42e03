"""The demo's configuration can be read by people and by the service."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from strandkeeper.config.load import load
from strandkeeper.model.names import End
from strandkeeper_demo.config_text import Ports, config_text, write_secrets
from strandkeeper_demo.scenario import Scenario
from strandkeeper_demo.station import Community

PORTS = Ports(dashboard=8123, metrics=8124, snmp=16999)


@pytest.fixture
def text(scenario: Scenario) -> str:
    return config_text(scenario, PORTS, record="record.db")


def test_it_says_on_its_first_lines_that_it_is_invented(text: str) -> None:
    head = "\n".join(text.splitlines()[:3])
    assert "invented" in head
    assert "(invented)" in tomllib.loads(text)["station"]


def test_the_service_reads_it_and_finds_the_same_station(
    text: str, scenario: Scenario, tmp_path: Path
) -> None:
    (tmp_path / "demo.toml").write_text(text, encoding="utf-8")
    write_secrets(scenario, tmp_path)
    settings = load(tmp_path / "demo.toml")
    assert [s.host for s in settings.switches] == [s.address for s in scenario.switches]
    assert {s.port for s in settings.switches} == {16999}
    assert settings.dashboard.port == 8123
    for told, read in zip(scenario.links, settings.links, strict=True):
        assert (read.name, read.strands, read.length_m) == (told.name, told.strands, told.length_m)
        assert (read.strand_ab, read.strand_ba) == (told.strand_ab, told.strand_ba)
        assert read.near is End.A
        for end in End:
            assert (read.end(end).switch, read.end(end).port) == (
                told.end(end).switch,
                told.end(end).port,
            )


def test_passwords_stand_in_files_of_their_owner_alone(
    text: str, scenario: Scenario, tmp_path: Path
) -> None:
    write_secrets(scenario, tmp_path)
    write_secrets(scenario, tmp_path)  # a second start finds them there
    files = sorted(tmp_path.iterdir())
    assert len(files) == 4
    assert {file.stat().st_mode & 0o777 for file in files} == {0o600}
    for switch in scenario.switches:
        access = switch.access
        secrets = (
            [access.text] if isinstance(access, Community) else [access.auth_key, access.priv_key]
        )
        assert all(secret not in text for secret in secrets)


def test_every_line_fits_on_a_screen(text: str) -> None:
    assert max(len(line) for line in text.splitlines()) <= 100
