"""`strandkeeper check`: against real agents in another process, and each answer in words."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from strandkeeper.cli.main import main
from strandkeeper_demo.agent import free_udp_port

STATION = Path(__file__).with_name("station_process.py")


@pytest.fixture(scope="module")
def station(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The configuration of a station whose switches answer; its secrets beside it."""
    directory = tmp_path_factory.mktemp("station")
    hosts = ["127.0.73.1", "127.0.73.2", "127.0.73.3"]
    port = free_udp_port(hosts, 20171)
    process = subprocess.Popen(
        [sys.executable, str(STATION), str(directory), str(port)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    yield directory / "station.toml"
    process.stdin.close()
    process.wait(timeout=10)
    process.stdout.close()


def spoilt(station: Path, *changes: tuple[str, str]) -> Path:
    """The station's configuration with the first of each text changed."""
    text = station.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    tomllib.loads(text)
    path = station.with_name("spoilt.toml")
    path.write_text(text, encoding="utf-8")
    return path


def check(capsys: pytest.CaptureFixture[str], path: Path, *arguments: str) -> tuple[int, str, str]:
    code = main(["check", str(path), *arguments])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_a_station_that_is_well_is_told_switch_by_switch(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = check(capsys, station)
    assert (code, err) == (0, "")
    assert re.search(
        r"^Switch lab \(127\.0\.73\.1 port \d+, SNMP v2c\)\n"
        r'  answers as "lab\.station\.example", in \d+ ms, enterprise number 32473, up for .*\n'
        r"  port sfp1: found, up; "
        r"receives −\d+\.\d dBm, sends −\d+\.\d dBm \(the standard sensors\)\n",
        out,
        re.MULTILINE,
    ), out
    assert "Switch pump-house (127.0.73.2" in out
    assert out.endswith("\nAll is well.\n")


def test_the_margin_is_reading_minus_sensitivity_and_its_origin_is_shown(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = check(capsys, station)
    found = re.search(
        r"  Lab → Pump house: (\d+) dB to spare \(±3 dB\): receives −(\d+\.\d) dBm, can use "
        r"light down to −19\.5 dBm; by the module type you named: 1000BASE-LX10, IEEE 802\.3",
        out,
    )
    assert found, out
    # IEEE 802.3 clause 59.3: receive sensitivity of 1000BASE-LX10 is -19.5 dBm
    # rounded down to whole dB, as in `status`: a module's own reading is no better than ±3 dB
    left_db = 19.5 - float(found.group(2))
    assert left_db - 1.06 < float(found.group(1)) <= left_db + 0.06


def test_a_community_in_the_clear_is_remarked_on_once(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = check(capsys, station)
    assert out.count("Remark: SNMP v2c sends its community in the clear") == 1


def test_a_wrong_community_and_a_switch_that_is_off_look_alike_and_both_are_said(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (station.parent / "wrong").write_text("geheim\n", encoding="utf-8")
    wrong = '"wrong" }\ntimeout_s = 0.4\nretries = 0'
    path = spoilt(station, ('"lab.community" }', wrong))
    code, out, err = check(capsys, path)
    assert code == 1
    assert "geheim" not in out + err
    said = re.search(r"  - switch .* did not answer .*", out)
    assert said, out
    assert re.sub(r"port \d+", "port N", said.group()) == (
        '  - switch "lab" (127.0.73.1 port N) did not answer within 0.4 s; check its power and the '
        "way to it, the host and port, that SNMP v2c is on, and the community: a wrong one is "
        "answered with silence"
    )
    assert "Pump house → Lab: not known: no reading from Lab" in out
    assert "Lab → Pump house: 1" in out  # the rest is asked and told all the same


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('user = "strandkeeper"', 'user = "stranger"', "does not know the SNMPv3 user"),
        ('auth = "SHA-256"', 'auth = "SHA-512"', "says the authentication does not fit"),
    ],
)
def test_what_an_snmpv3_switch_reports_is_passed_on(
    station: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, said: str
) -> None:
    code, out, _ = check(capsys, spoilt(station, (old, new)))
    assert code == 1
    assert f"{said} (user" in out


def test_a_port_that_does_not_exist_is_told_with_those_that_do(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = check(capsys, spoilt(station, ('"fibre1"', '"fibre9"')))
    assert code == 1
    assert (
        "  port fibre9: not found; ports there are: copper1, copper2, copper3, copper4, fibre1\n"
        in out
    )
    assert out.endswith(
        "\nOne thing to mend:\n"
        '  - switch "jetty" › port fibre9: not found; write: port = "fibre1", or another of: '
        "copper1, copper2, copper3, copper4, fibre1\n"
    )


def test_a_port_without_an_optic_has_no_light_and_that_is_no_fault(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = check(capsys, spoilt(station, ('"fibre1"', '"copper1"')))
    assert "the switch reports no light for it: state, errors and flaps can be watched" in out
    assert "Lab → Jetty: not known: no reading from Jetty" in out


def test_a_module_type_that_was_left_out_is_recognised_from_what_the_switch_says(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = check(capsys, spoilt(station, ('pmd = "1000BASE-LX10"', "")))
    assert code == 0
    assert "; by the module type that was recognised: 1000BASE-LX10, IEEE 802.3 clause 59.3" in out


def test_a_missing_secret_is_no_reason_not_to_ask_the_others(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = check(capsys, spoilt(station, ('"lab.community"', '"nowhere"')))
    missing = station.parent / "nowhere"
    assert code == 1
    assert (
        f'  - switch "lab": the secret in {missing} cannot be read: No such file or directory; '
        f"write the secret into it: install -m 600 /dev/stdin {missing}\n"
    ) in out
    assert 'answers as "jetty.station.example"' in out


def test_a_switch_that_no_link_uses_is_told_with_its_ports(
    station: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = station.read_text(encoding="utf-8").split("[[link]]")[0]
    path = station.with_name("no-link.toml")
    path.write_text(head, encoding="utf-8")
    code, out, _ = check(capsys, path)
    assert code == 1
    assert "  No link uses it. Ports there are: copper1, copper2, copper3, copper4, fibre1\n" in out
    assert "  - no link is configured, so nothing is watched: add a [[link]]\n" in out


def test_offline_asks_nobody(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = check(capsys, station, "--offline")
    assert code == 0
    assert out == (
        f"{station} is in order: Tern Sound field station (invented), 3 switches, 2 links.\n\n"
        "No switch was asked.\n"
    )


def test_a_record_that_cannot_be_written_is_told_before_the_service_starts(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = spoilt(station, ('path = "record.db"', 'path = "nix/da/record.db"'))
    code, out, _ = check(capsys, path, "--offline")
    folder = station.parent / "nix" / "da"
    assert code == 1
    assert out.endswith(
        "\nOne thing to mend:\n"
        f"  - store › path: there is no directory {folder}; make it: mkdir -p {folder}\n"
    )


def test_a_secret_open_to_everyone_is_remarked_on(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    secret = station.parent / "open"
    secret.write_text("x\n", encoding="utf-8")
    secret.chmod(0o644)
    code, out, _ = check(capsys, spoilt(station, ('"lab.community"', '"open"')), "--offline")
    assert code == 0
    assert (
        f'Remark: switch "lab": everyone on this computer can read the secret in {secret}; '
        f"shut it: chmod o= {secret}\n"
    ) in out


def test_the_starter_file_is_printed_and_is_a_configuration(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", "--starter"]) == 0
    path = tmp_path / "station.toml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    code, out, _ = check(capsys, path, "--offline")
    assert code == 0
    assert "is in order: Shore station, 2 switches, 1 link." in out


def test_a_wrong_configuration_ends_before_anybody_is_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "station.toml"
    path.write_text("[intervals]\nstatus_s = 0\n", encoding="utf-8")
    code, out, err = check(capsys, path)
    assert (code, out) == (1, "")
    assert err == (
        f"strandkeeper: {path}: 2 problems\n"
        "  - switch: missing (the switches to ask); write: [[switch]]\n"
        "  - intervals › status_s: got 0, expected at least 1; write: status_s = 10\n"
    )


def test_without_a_configuration_the_usage_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check"]) == 2
    assert capsys.readouterr().err == (
        "strandkeeper check: name the configuration, or give --starter\n"
    )
