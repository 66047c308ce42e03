"""Guards that every test runs under: only this machine, nobody's home or files, sound log calls."""

from __future__ import annotations

import ipaddress
import logging
import os
import socket
import threading
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# No test is timed: a busy machine must not turn a property into a failure.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

_real_connect = socket.socket.connect


class NetworkGuardError(AssertionError):
    """A test tried to reach beyond the loopback range."""


def _checked_connect(self: socket.socket, address: Any) -> None:
    if self.family in (socket.AF_INET, socket.AF_INET6):
        host = str(address[0])
        if host != "localhost" and not ipaddress.ip_address(host.split("%")[0]).is_loopback:
            raise NetworkGuardError(f"a test tried to connect to {host}")
    return _real_connect(self, address)


@pytest.fixture(autouse=True)
def _only_this_machine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests marked `root` talk to addresses of the namespaces they made themselves."""
    if request.node.get_closest_marker("root") is None:
        monkeypatch.setattr(socket.socket, "connect", _checked_connect)


@pytest.fixture(autouse=True)
def _no_home(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    monkeypatch.setenv("HOME", str(tmp_path_factory.getbasetemp() / "home-of-nobody"))


@pytest.fixture(scope="session", autouse=True)
def _clients_that_keep_nothing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Net-SNMP's clients keep engine IDs from run to run, in one file of the system; one that is
    killed, or runs beside another, spoils it for all that follow. Here they neither read nor write
    it, and load no MIB."""
    place = tmp_path_factory.mktemp("net-snmp")
    (place / "snmp.conf").write_text("noPersistentLoad yes\nnoPersistentSave yes\n")
    (place / "cert_indexes").mkdir()  # or the first client says that it made it
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MIBS", "")
        patch.setenv("SNMPCONFPATH", str(place))
        patch.setenv("SNMP_PERSISTENT_DIR", str(place))
        yield


@pytest.fixture(autouse=True)
def _log_calls_format() -> Iterator[None]:
    """A log call whose arguments do not fit its text fails the test that made it."""
    before = logging.raiseExceptions
    handler = _Formatting()
    root = logging.getLogger()
    root.addHandler(handler)
    logging.raiseExceptions = True
    yield
    logging.raiseExceptions = before
    root.removeHandler(handler)
    assert not handler.broken, f"log calls that do not format: {handler.broken}"


class _Formatting(logging.Handler):
    def __init__(self) -> None:
        super().__init__()
        self.broken: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        try:
            record.getMessage()
        except (TypeError, ValueError) as error:
            self.broken.append(f"{record.msg!r} % {record.args!r}: {error}")


@pytest.fixture(autouse=True)
def _no_thread_left() -> Iterator[None]:
    before = set(threading.enumerate())
    yield
    left = [t for t in threading.enumerate() if t not in before and not t.daemon and t.is_alive()]
    for thread in left:
        thread.join(timeout=5)
    left = [t for t in left if t.is_alive()]
    assert not left, f"threads left behind: {left}"


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what this machine cannot run, loudly; in CI a missing program is a failure.

    The longest file comes first: it keeps one core busy while the tests from end to end wait.
    """
    items.sort(key=lambda item: item.path.name != "test_in_browser.py")
    if os.environ.get("STRANDKEEPER_NO_SKIPS") == "1":
        return
    reason = _why_no_namespaces()
    if reason:
        for item in items:
            if item.get_closest_marker("root"):
                item.add_marker(pytest.mark.skip(reason=reason))
    if not Path("/usr/bin/chromium").exists():
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(pytest.mark.skip(reason="NOT RUN: /usr/bin/chromium is missing"))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """With STRANDKEEPER_NO_SKIPS=1 what was not run has failed, and says why it was not."""
    report = yield
    if report.skipped and os.environ.get("STRANDKEEPER_NO_SKIPS") == "1":
        report.outcome = "failed"
        report.longrepr = str(report.longrepr)
    return report


def _why_no_namespaces() -> str:
    if os.geteuid() != 0:
        return "NOT RUN: the tests against real SNMP agents need root (network namespaces)"
    missing = [p for p in ("/usr/sbin/snmpd", "/usr/bin/snmpget") if not Path(p).exists()]
    return f"NOT RUN: {', '.join(missing)} missing" if missing else ""
