"""The program itself: where it listens, what it says when it cannot, that it waits for a record."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.error import HTTPError

import pytest

from strandkeeper.model.settings import Address
from strandkeeper.store import Batch, open_writer
from strandkeeper_dashboard.serve import AddressError, listen, serve

CONFIG = """
station = "Shore station"
[store]
path = "strandkeeper.db"
[dashboard]
port = 0
[[switch]]
name = "lab-switch"
host = "127.0.0.2"
snmp = { version = "2c", community_file = "community" }
[[link]]
name = "Lab to tower"
a = { name = "Lab", switch = "lab-switch", port = "Gi1", pmd = "1000BASE-LX10" }
b = { name = "Tower" }
"""


@pytest.fixture
def config(tmp_path: Path) -> Path:
    (tmp_path / "community").write_text("public\n")
    path = tmp_path / "station.toml"
    path.write_text(CONFIG)
    return path


@pytest.fixture
def program(config: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    running = subprocess.Popen(
        [sys.executable, "-m", "strandkeeper_dashboard", str(config)],
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stderr is not None
    said = running.stderr.readline()
    found = re.search(r"http://127\.0\.0\.1:\d+/", said)
    assert found, said
    yield running, found[0]
    running.kill()
    running.wait(timeout=10)
    running.stderr.close()


def get(address: str) -> tuple[int, str]:
    try:
        with urllib.request.urlopen(address, timeout=10) as answer:
            return answer.status, answer.read().decode()
    except HTTPError as error:
        with error:
            return error.code, error.read().decode()


def test_it_waits_for_the_record_and_shows_it_when_it_comes(
    program: tuple[subprocess.Popen[str], str], config: Path
) -> None:
    _running, address = program
    status, page = get(address)
    assert status == 503
    assert "Waiting for the first readings" in page
    writer = open_writer(config.parent / "strandkeeper.db", reserve=False)
    writer.append(Batch())
    writer.close()
    status, page = get(address)
    assert status == 200
    assert "Nothing has been read from this link yet." in page


def test_a_signal_ends_it_cleanly(program: tuple[subprocess.Popen[str], str]) -> None:
    running, address = program
    assert get(address)[0] == 503
    running.send_signal(signal.SIGTERM)
    assert running.wait(timeout=10) == 0


def test_a_taken_port_is_said_with_what_to_do(config: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = subprocess.run(
            [sys.executable, "-m", "strandkeeper_dashboard", str(config), "--port", str(port)],
            capture_output=True,
            text=True,
            timeout=30,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr == (
        f"strandkeeper dashboard: cannot serve on 127.0.0.1:{port}: another program listens there\n"
        "  stop it, or choose another port: [dashboard] port, or --port\n"
    )


def test_beyond_this_machine_it_will_not_serve() -> None:
    with pytest.raises(AddressError, match="nobody may log in yet"):
        serve(None, Address(host="0.0.0.0", port=0), anyone_may_log_in=False)  # type: ignore[arg-type]


def test_an_address_of_another_machine_is_refused() -> None:
    with pytest.raises(AddressError, match="cannot serve on"):
        listen(Address(host="192.0.2.1", port=0))


def test_a_configuration_that_is_wrong_is_told_and_ends_with_one(tmp_path: Path) -> None:
    path = tmp_path / "station.toml"
    path.write_text("station = 3\n")
    done = subprocess.run(
        [sys.executable, "-m", "strandkeeper_dashboard", str(path)],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert done.returncode == 1
    assert done.stderr.startswith("strandkeeper dashboard: ")
