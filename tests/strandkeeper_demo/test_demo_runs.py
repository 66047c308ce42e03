"""The whole demo as a person starts it: real switches, real service, real pages, real signals."""

from __future__ import annotations

import csv
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from strandkeeper_demo.once import has_all_figures

DEMO = [sys.executable, "-m", "strandkeeper", "demo"]
PATIENCE_S = 200

pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def running(*arguments: str, log: Path) -> Iterator[subprocess.Popen[bytes]]:
    with log.open("wb") as out:
        child = subprocess.Popen([*DEMO, *arguments], stdout=out, stderr=out)
        try:
            yield child
        finally:
            if child.poll() is None:
                child.send_signal(signal.SIGINT)
                child.wait(30)


def wait_until_open(child: subprocess.Popen[bytes], log: Path) -> str:
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline and child.poll() is None:
        if found := re.search(r"Open (http://\S+/) in a browser", log.read_text()):
            return found[1]
        time.sleep(0.2)
    pytest.fail(f"the demo did not open:\n{log.read_text()}")


def descendants(pid: int) -> set[int]:
    """All processes below one, out of /proc."""
    found: set[int] = set()
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in map(int, task.read_text().split()):
            found |= {child} | descendants(child)
    return found


def page(address: str) -> str:
    with urllib.request.urlopen(address, timeout=20) as answer:
        return str(answer.read().decode())


def status(directory: Path) -> dict[str, object]:
    config = str(directory / "demo.toml")
    done = subprocess.run(
        [sys.executable, "-m", "strandkeeper", "status", config, "--json"],
        capture_output=True,
        check=True,
        timeout=60,
    )
    loaded: dict[str, object] = json.loads(done.stdout)
    return loaded


def received(directory: Path) -> dict[tuple[str, str], float]:
    links = status(directory)["links"]
    assert isinstance(links, list)
    return {(v["link"], d): v["directions"][d]["rx_dbm"] for v in links for d in ("ab", "ba")}


def last_of_history(directory: Path, name: str) -> dict[str, float]:
    with (directory / f"history-{name}.csv").open() as file:
        rows = list(csv.DictReader(file))[-2:]
    return {{"A": "ba", "B": "ab"}[row["end"]]: float(row["rx_dbm"]) for row in rows}


def test_the_demo_opens_goes_on_from_its_history_stops_whole_and_starts_again(
    tmp_path: Path,
) -> None:
    directory, log, port = tmp_path / "demo", tmp_path / "log", free_port()
    arguments = ("--dir", str(directory), "--port", str(port))
    with running(*arguments, log=log) as child:
        address = wait_until_open(child, log)
        assert address == f"http://127.0.0.1:{port}/"
        assert "(invented)" in page(address)
        time.sleep(8)  # a poll and a batch of it
        live = received(directory)
        for link, name in (("Pump house", "pump-house"), ("Jetty", "jetty")):
            for direction, before in last_of_history(directory, name).items():
                # Noise and half a minute of weather; a seam would show as tenths of a dB.
                assert live[link, direction] == pytest.approx(before, abs=0.2)
        below = descendants(child.pid)
        assert len(below) >= 2, "the service and the pages"
        child.send_signal(signal.SIGINT)
        assert child.wait(30) == 130
    assert not _alive(below)
    rows_before = json.dumps(status(directory)["links"])

    with running(*arguments, log=log) as child:
        wait_until_open(child, log)
        assert "Inventing" not in log.read_text()
        time.sleep(4)
        assert json.dumps(status(directory)["links"]) != rows_before
        # A service that ends by itself takes the demo along, and that says so.
        below = descendants(child.pid)
        (service,) = [pid for pid in below if _is_service(pid)]
        os.kill(service, signal.SIGKILL)
        assert child.wait(30) == 1
        deadline = time.monotonic() + 10
        while time.monotonic() < deadline and _alive(below):
            time.sleep(0.1)
        assert not _alive(below)
    assert "the service ended by itself (exit code -9)" in log.read_text()


def _alive(pids: set[int]) -> list[int]:
    return [pid for pid in pids if _command(pid)]


def _command(pid: int) -> bytes:
    """Empty for a process that has ended."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return b""


def _is_service(pid: int) -> bool:
    return b"\0run\0" in _command(pid)


def test_once_prints_the_status_table_and_leaves_nothing_behind(tmp_path: Path) -> None:
    done = subprocess.run(
        [*DEMO, "--once", "--snmp-port", "16333"],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
        env=os.environ | {"TMPDIR": str(tmp_path)},
    )
    assert done.returncode == 0, done.stderr
    for words in ("Lab → Pump house", "Pump house → Lab", "Lab → Jetty", "Jetty → Lab"):
        (line,) = [line for line in done.stdout.splitlines() if words in line]
        assert "dBm" in line
    assert list(tmp_path.iterdir()) == []


def test_a_taken_port_gets_a_message_with_the_way_out(tmp_path: Path) -> None:
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        done = subprocess.run(
            [*DEMO, "--dir", str(tmp_path / "demo"), "--port", str(port)],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
    assert done.returncode == 1
    assert f"port {port} on 127.0.0.1 is taken by another program" in done.stderr
    assert re.search(r"choose another port for the dashboard: --port \d+", done.stderr)


def test_the_switches_alone_print_where_they_are_and_end_with_a_signal(tmp_path: Path) -> None:
    log = tmp_path / "log"
    with running("--agents-only", "--snmp-port", "16444", log=log) as child:
        deadline = time.monotonic() + 30
        while time.monotonic() < deadline and log.read_text().count("\n") < 3:
            time.sleep(0.1)
        child.send_signal(signal.SIGTERM)
        assert child.wait(20) == 130
    assert re.findall(r"127\.0\.73\.\d", log.read_text()) == [f"127.0.73.{n}" for n in (1, 2, 3)]


@pytest.mark.parametrize("wrong", ["0", "65536", "many"])
def test_a_port_that_is_none_is_a_usage_error(wrong: str) -> None:
    done = subprocess.run(
        [*DEMO, "--port", wrong], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 2
    assert "--port" in done.stderr


def test_figures_count_only_when_every_direction_has_one() -> None:
    def told(*powers: object) -> str:
        pairs = zip(powers[::2], powers[1::2], strict=True)
        both = [{"ab": {"rx_dbm": a}, "ba": {"rx_dbm": b}} for a, b in pairs]
        return json.dumps({"links": [{"directions": each} for each in both]})

    assert has_all_figures(told(-7.0, -8.5, -9.0, -6.0), links=2)
    assert not has_all_figures(told(-7.0, -8.5), links=2)
    assert not has_all_figures(told(-7.0, None, -9.0, -6.0), links=2)
    assert not has_all_figures(told(-7.0, "no-light", -9.0, -6.0), links=2)
    assert not has_all_figures("", links=2)
