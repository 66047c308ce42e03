"""A table of the switch's own, served by a real Net-SNMP snmpd through pass_persist, as described.

The port is the kernel's own loopback interface; the rows come out of a file that a test replaces.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

pytestmark = [pytest.mark.root, pytest.mark.slow]

SCRIPT = Path(__file__).parent / "real_agents" / "pass_persist.py"
BASE = "1.3.6.1.4.1.32473.55"


@dataclass(frozen=True, slots=True)
class OwnTable:
    """A running snmpd and a configuration that describes its table."""

    rows: Path
    config: Path

    def say(self, *, rx: str, tx: str, serial: str = "AB1") -> None:
        """Say these cells from now on, for ifIndex 1."""
        lines = [
            f"{BASE}.1.2.1 string {rx}",
            f"{BASE}.1.3.1 string {tx}",
            f"{BASE}.1.4.1 integer 352",
            f"{BASE}.1.5.1 string {serial}",
        ]
        fresh = self.rows.with_suffix(".new")
        fresh.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
        fresh.replace(self.rows)

    def check(self) -> str:
        """What `check` says."""
        done = subprocess.run(
            [sys.executable, "-m", "strandkeeper", "check", str(self.config)],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
            env={**os.environ, "LOOK": "look-only"},
        )
        assert done.stderr == ""
        return done.stdout


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OwnTable]:
    directory = tmp_path_factory.mktemp("own")
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    table = OwnTable(directory / "rows", directory / "station.toml")
    table.say(rx="-7.10 dBm", tx="-5.90 dBm")
    table.config.write_text(
        f'[[switch]]\nname = "near"\nhost = "127.0.0.1"\nport = {port}\ntables = ["own"]\n'
        'snmp = { version = "2c", community_env = "LOOK" }\n'
        f'[[table]]\nname = "own"\nrx = {{ oid = "{BASE}.1.2", unit = "text" }}\n'
        f'tx = {{ oid = "{BASE}.1.3", unit = "text" }}\n'
        f'temperature = {{ oid = "{BASE}.1.4", unit = "0.1 C" }}\nserial = "{BASE}.1.5"\n'
        'not_there = ["N/A"]\n'
        '[[link]]\nname = "Loop"\na = { name = "Here", switch = "near", port = "lo" }\n'
        'b = { name = "There" }\n',
        encoding="utf-8",
    )
    conf = directory / "snmpd.conf"
    script = f"{sys.executable} -I -S {SCRIPT} {table.rows} {BASE}"
    conf.write_text(
        f"agentaddress udp:127.0.0.1:{port}\nsysname near\nrocommunity look-only\n"
        f"pass_persist .{BASE} {script}\n",
        encoding="utf-8",
    )
    process = subprocess.Popen(
        ["snmpd", "-f", "-C", "-c", str(conf), "-LF", "n", str(directory / "log"), "-I", "-smux"],
        env={
            "PATH": f"{os.environ['PATH']}:/usr/sbin",
            "MIBS": "",
            "SNMPCONFPATH": str(directory),
            "SNMP_PERSISTENT_DIR": str(directory),
        },
    )
    try:
        for _ in range(60):
            if "answers as" in table.check():
                break
            time.sleep(0.5)
        yield table
    finally:
        process.terminate()
        process.wait(timeout=10)


def test_the_light_of_a_described_table_is_shown_with_its_module(own: OwnTable) -> None:
    own.say(rx="-7.10 dBm", tx="-5.90 dBm")
    said = own.check()
    assert 'port lo: found, up; receives −7.1 dBm, sends −5.9 dBm (table "own")' in said
    assert "module AB1" in said


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("-7,10", "not reported"),
        ("-inf", "no light"),
        ("N/A", "not reported"),
        ("0.00 mW", "no light"),
    ],
)
def test_a_cell_means_what_the_description_says(own: OwnTable, cell: str, words: str) -> None:
    own.say(rx=cell, tx="-5.90 dBm")
    assert f"receives {words}, sends −5.9 dBm" in own.check()


def test_a_cell_that_is_no_figure_is_named(own: OwnTable) -> None:
    own.say(rx="kaputt", tx="-5.90 dBm")
    assert '"kaputt" (receive power); name them in no_light or not_there' in own.check()
