"""`strandkeeper backup` and `restore` beside a real daemon."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from strandkeeper.store import open_reader
from strandkeeper.store.care import read_care

HERE = Path(__file__).parent
PORT = 16431


def strandkeeper(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "strandkeeper", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def station(tmp_path: Path) -> Iterator[Path]:
    """The demo's agents; the configuration that goes with them."""
    with subprocess.Popen(
        [sys.executable, str(HERE / "station_process.py"), str(tmp_path), str(PORT)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as agents:
        assert agents.stdout is not None
        assert agents.stdout.readline() == b"ready\n"
        yield tmp_path / "station.toml"
        agents.communicate(b"")


@pytest.fixture
def daemon(station: Path) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(
        [sys.executable, "-m", "strandkeeper", "run", str(station), "--no-dashboard"],
        stderr=subprocess.DEVNULL,
    )
    try:
        _until_there_are_readings(station)
        yield process
    finally:
        process.terminate()
        process.wait(30)


def _until_there_are_readings(config: Path) -> None:
    for number in range(100):
        copy = config.with_name(f"probe-{number}.db")
        if "readings from" in strandkeeper("backup", config, copy).stdout:
            return
        time.sleep(0.3)
    raise AssertionError("the daemon wrote nothing")


@pytest.mark.slow
def test_backup_while_it_runs_restore_only_after_it_ended(
    station: Path, daemon: subprocess.Popen[bytes], tmp_path: Path
) -> None:
    copy = tmp_path / "copy.db"
    done = strandkeeper("backup", station, copy)
    assert done.returncode == 0, done.stderr
    assert re.search(
        r"copy\.db: \d+\.\d MB, \d links?, readings from \S+Z to \S+Z; checked whole", done.stdout
    )
    assert "no password or key" in done.stderr
    with closing(open_reader(station.with_name("record.db"))) as reader:
        care = reader.ask(read_care)
    assert care.backup_file == "copy.db"
    assert care.backup_bytes == copy.stat().st_size
    refused = strandkeeper("restore", station, copy)
    assert refused.returncode == 1
    assert "is in use: the daemon or the dashboard is running" in refused.stderr
    daemon.terminate()
    assert daemon.wait(30) == 0
    brought = strandkeeper("restore", station, copy)
    assert brought.returncode == 0, brought.stderr
    assert "brought back" in brought.stdout
    assert "before-restore-" in brought.stderr
    assert strandkeeper("status", station).returncode == 0


@pytest.mark.slow
def test_no_secret_of_the_station_is_in_a_backup(
    station: Path, daemon: subprocess.Popen[bytes], tmp_path: Path
) -> None:
    assert strandkeeper("backup", station, tmp_path / "copy.db").returncode == 0
    raw = (tmp_path / "copy.db").read_bytes()
    secrets = [
        (station.parent / name).read_bytes().strip()
        for name in re.findall(r'(?:community|key)_file = "([^"]+)"', station.read_text())
    ]
    assert secrets
    assert [s for s in secrets if s in raw] == []


def test_a_backup_never_writes_over_a_file(station: Path, tmp_path: Path) -> None:
    (tmp_path / "there").write_text("mine")
    done = strandkeeper("backup", station, tmp_path / "there")
    assert done.returncode == 1
    assert (tmp_path / "there").read_text() == "mine"
