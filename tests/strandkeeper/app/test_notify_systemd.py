"""A real datagram socket in the manager's place."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from strandkeeper.app.notify_systemd import ServiceManager, is_alive


@pytest.fixture
def listener(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as server:
        server.bind(str(tmp_path / "notify"))
        server.setblocking(False)
        yield server


def heard(listener: socket.socket) -> list[bytes]:
    told = []
    while True:
        try:
            told.append(listener.recv(4096))
        except BlockingIOError:
            return told


def environment(listener: socket.socket, **more: str) -> dict[str, str]:
    return {"NOTIFY_SOCKET": listener.getsockname(), **more}


def test_it_says_ready_and_stopping(listener: socket.socket) -> None:
    manager = ServiceManager(environment(listener))
    manager.ready()
    manager.stopping()
    assert heard(listener) == [b"READY=1", b"STOPPING=1"]


def test_signs_of_life_come_four_times_in_the_watchdogs_time(listener: socket.socket) -> None:
    manager = ServiceManager(environment(listener, WATCHDOG_USEC="8000000"))
    for second in range(9):
        manager.beat(float(second), alive=True)
    assert heard(listener) == [b"WATCHDOG=1"] * 5  # at 0, 2, 4, 6 and 8 s


def test_nothing_is_heard_of_one_that_is_not_alive(listener: socket.socket) -> None:
    manager = ServiceManager(environment(listener, WATCHDOG_USEC="8000000"))
    for second in range(100):
        manager.beat(float(second), alive=False)
    assert heard(listener) == []


@pytest.mark.parametrize(
    "given", [{}, {"WATCHDOG_USEC": "0"}, {"WATCHDOG_USEC": "8000000", "WATCHDOG_PID": "1"}]
)
def test_no_sign_of_life_is_sent_unasked(listener: socket.socket, given: dict[str, str]) -> None:
    ServiceManager(environment(listener, **given)).beat(0.0, alive=True)
    assert heard(listener) == []


def test_an_abstract_address_is_understood() -> None:
    name = f"strandkeeper-test-{os.getpid()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as server:
        server.bind(f"\0{name}")
        ServiceManager({"NOTIFY_SOCKET": f"@{name}"}).ready()
        assert server.recv(100) == b"READY=1"


def test_without_a_manager_nothing_happens(tmp_path: Path) -> None:
    ServiceManager({}).ready()
    ServiceManager({"NOTIFY_SOCKET": str(tmp_path / "gone")}).ready()


def test_a_tick_that_stands_still_or_polls_that_never_end_are_no_life() -> None:
    assert is_alive(1000.0, ticked_s=999.0, poll_ended_s=900.0)
    assert not is_alive(1000.0, ticked_s=960.0, poll_ended_s=999.0)
    assert not is_alive(1000.0, ticked_s=999.0, poll_ended_s=870.0)
