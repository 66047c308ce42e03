"""Surveys of real switches, replayed from recorded walks by snmpsim: ports found, no light made up.

The recordings (package snmpsim-data) are taken by size and kind alone and known here by number.
What a survey must find is counted in the recording itself.
"""

from __future__ import annotations

import bz2
import importlib.util
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from strandkeeper.config.load import loads
from strandkeeper.jobs.survey import SurveyedSwitch, survey_switch
from strandkeeper.jobs.survey_toml import survey_text
from strandkeeper.model.names import SwitchName
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient

REF = CommunityRef(version="2c", community=SecretRef(kind=SecretKind.FILE, where="/x/community"))
ETHERNET = re.compile(r"^1\.3\.6\.1\.2\.1\.2\.2\.1\.3\.\d+\|2\|(6|62|69|117)$", re.MULTILINE)
LIGHT = re.compile(r"^1\.3\.6\.1\.2\.1\.99\.1\.1\.1\.4\.", re.MULTILINE)
SYS_OBJECT = re.compile(r"^1\.3\.6\.1\.2\.1\.1\.2\.0\|6\|1\.3\.6\.1\.4\.1\.(\d+)", re.MULTILINE)
ROWS = range(4_000, 30_000)


@dataclass(frozen=True, slots=True)
class Recording:
    """A recorded walk and what it holds, counted in its text."""

    path: Path
    ethernet: int
    enterprise: int


def recordings() -> list[Recording]:
    """All switches among the recordings that are of a usual size and have Ethernet ports."""
    spec = importlib.util.find_spec("snmpsim_data")
    assert spec is not None
    assert spec.origin is not None
    found = []
    for path in sorted((Path(spec.origin).parent / "data" / "network" / "switch").iterdir()):
        if path.suffixes[-2:] != [".snmprec", ".bz2"]:
            continue
        text = bz2.decompress(path.read_bytes()).decode("latin-1").replace("\r\n", "\n")
        who = SYS_OBJECT.search(text)
        ports = len(ETHERNET.findall(text))
        if text.count("\n") in ROWS and ports and who and not LIGHT.search(text):
            found.append(Recording(path, ports, int(who.group(1))))
    return found


RECORDINGS = recordings()


# GET of sysUpTime.0 with community "0", SNMPv2c, request number 1 (RFC 3416)
GET = bytes.fromhex("3021020101040130a019020101020100020100300e300c06082b060102010103000500")


def wait_for_answer(port: int) -> None:
    """Until the replay has read its recordings and answers; two minutes at most."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.settimeout(0.5)
        for _ in range(240):
            asking.sendto(GET, ("127.0.0.1", port))
            try:
                asking.recv(2000)
            except TimeoutError:
                continue
            return
    raise AssertionError("the replay of the recordings did not start")


@pytest.fixture(scope="module")
def agent() -> Iterator[tuple[str, int]]:
    """One process that replays them all; the community is the number of the recording."""
    directory = Path(tempfile.mkdtemp(prefix="recorded-"))
    directory.chmod(0o755)
    (data := directory / "data").mkdir()
    (cache := directory / "cache").mkdir()
    cache.chmod(0o777)
    for n, recording in enumerate(RECORDINGS):
        (data / f"{n}.snmprec").write_bytes(bz2.decompress(recording.path.read_bytes()))
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    user = ["--process-user=root", "--process-group=root"] if os.geteuid() == 0 else []
    program = Path(sys.executable).with_name("snmpsim-command-responder")
    process = subprocess.Popen(
        [
            str(program), "--logging-method=null", "--log-level=error", f"--data-dir={data}",
            f"--cache-dir={cache}", f"--agent-udpv4-endpoint=127.0.0.1:{port}", *user,
        ],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    wait_for_answer(port)
    try:
        yield "127.0.0.1", port
    finally:
        process.terminate()
        process.wait(timeout=20)
        shutil.rmtree(directory)


async def surveyed(address: tuple[str, int], community: str) -> SurveyedSwitch:
    where = SwitchTarget(
        name=SwitchName("recorded"), host=address[0], port=address[1], credentials=REF,
        timeout_s=5.0, retries=8,
    )  # fmt: skip
    client = SnmpClient([(where, Community(version="2c", text=community))])
    await client.start()
    try:
        return await survey_switch(client, where, lambda _: None)
    finally:
        await client.close()


def test_there_are_enough_recordings() -> None:
    assert len(RECORDINGS) >= 8


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(RECORDINGS)))
async def test_a_recorded_switch_has_ports_and_no_light_that_was_not_there(
    agent: tuple[str, int], number: int
) -> None:
    switch = await surveyed(agent, str(number))
    assert switch.error == ""
    assert len(switch.ports) == RECORDINGS[number].ethernet
    assert switch.identity.enterprise == RECORDINGS[number].enterprise
    assert switch.readers == ()
    assert not any(port.reading for port in switch.ports)
    assert not any("the survey ends" in remark for remark in switch.remarks)
    settings = loads(survey_text([switch], {}), base=Path("/srv"))
    assert not settings.links
