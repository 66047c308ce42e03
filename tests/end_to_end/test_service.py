"""The daemon as a service manager sees it: ready, alive, killed."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

STATION = Path(__file__).parents[1] / "strandkeeper" / "cli" / "station_process.py"
AGENTS_PORT = 16432

pytestmark = pytest.mark.slow


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def until(ready: Callable[[], bool], what: str, seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if ready():
            return
        time.sleep(0.1)
    raise AssertionError(f"waited in vain for {what}")


def listens(port: int) -> bool:
    with socket.socket() as client:
        return client.connect_ex(("127.0.0.1", port)) == 0


@pytest.fixture
def station(tmp_path: Path) -> Iterator[tuple[Path, int]]:
    """The demo's agents, a configuration, and the port of its pages."""
    port = free_port()
    with subprocess.Popen(
        [sys.executable, str(STATION), str(tmp_path), str(AGENTS_PORT)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as agents:
        assert agents.stdout is not None
        assert agents.stdout.readline() == b"ready\n"
        config = tmp_path / "station.toml"
        text = re.sub(r"(\[dashboard\][^\[]*?port = )0", rf"\g<1>{port}", config.read_text())
        config.write_text(text)
        yield config, port
        agents.communicate(b"")


def silent_after_what_was_said(manager: socket.socket, *, seconds: float) -> bool:
    manager.settimeout(seconds)
    for _ in range(3):
        try:
            manager.recv(100)
        except TimeoutError:
            return True
    return False


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as server:
        server.bind(str(tmp_path / "notify"))
        server.settimeout(30)
        yield server


def run(config: Path, *arguments: str, **environment: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "strandkeeper", "run", str(config), *arguments],
        stderr=subprocess.DEVNULL,
        env={**os.environ, **environment},
    )


def test_the_manager_hears_ready_signs_of_life_and_the_end(
    station: tuple[Path, int], manager: socket.socket
) -> None:
    daemon = run(
        station[0],
        "--no-dashboard",
        NOTIFY_SOCKET=manager.getsockname(),
        WATCHDOG_USEC="4000000",
    )
    try:
        told = [manager.recv(100) for _ in range(4)]
        assert b"READY=1" in told
        assert told.count(b"WATCHDOG=1") == 3
        os.kill(daemon.pid, signal.SIGSTOP)  # stands still, as a loop that hangs does
        assert silent_after_what_was_said(manager, seconds=2.5)
        os.kill(daemon.pid, signal.SIGCONT)
        manager.settimeout(30)
        daemon.terminate()
        while manager.recv(100) != b"STOPPING=1":
            pass
        assert daemon.wait(30) == 0
    finally:
        daemon.kill()
        daemon.wait()


def test_the_pages_end_with_a_daemon_that_is_killed_and_their_port_is_free(
    station: tuple[Path, int],
) -> None:
    config, port = station
    for _ in range(2):  # the second one gets the port again
        daemon = run(config)
        try:
            until(lambda: listens(port), "the pages")
        finally:
            daemon.kill()
            daemon.wait()
        until(lambda: not listens(port), "the end of the pages")
