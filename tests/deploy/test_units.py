"""The systemd units, as systemd itself reads them. No service manager runs here: offline only."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

UNITS = Path(__file__).parents[2] / "deploy" / "systemd"
SERVICES = ("strandkeeper.service", "strandkeeper-dashboard.service")

needs_systemd = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="NOT RUN: systemd-analyze is missing"
)


@needs_systemd
@pytest.mark.parametrize("unit", SERVICES)
def test_exposure_is_below_two(unit: str) -> None:
    done = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", "--no-pager", UNITS / unit],
        capture_output=True,
        text=True,
        check=True,
    )
    found = re.search(r"Overall exposure level for \S+: ([\d.]+)", done.stdout)
    assert found, done.stdout
    assert float(found[1]) < 2.0


@needs_systemd
def test_systemd_finds_nothing_wrong(tmp_path: Path) -> None:
    """In a tree of its own, where the command that the units start exists."""
    place = tmp_path / "etc" / "systemd" / "system"
    place.mkdir(parents=True)
    python = tmp_path / "opt" / "strandkeeper" / "current" / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.write_text("#!/bin/sh\n")
    python.chmod(0o755)
    for name in SERVICES:
        shutil.copy(UNITS / name, place)
    for name in ("sysinit", "basic", "shutdown", "network", "network-online", "multi-user"):
        (place / f"{name}.target").write_text("[Unit]\nDescription=of this test\n")
    done = subprocess.run(
        ["systemd-analyze", "verify", f"--root={tmp_path}", "--man=no", *SERVICES],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@needs_systemd
def test_a_mistake_in_a_unit_would_be_found(tmp_path: Path) -> None:
    text = (UNITS / "strandkeeper.service").read_text()
    wrong = tmp_path / "strandkeeper.service"
    wrong.write_text(text.replace("ProtectSystem=strict", "ProtectSystem=rather"))
    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", wrong],
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Failed to parse protect system value" in done.stderr


def settings(unit: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line in (UNITS / unit).read_text().splitlines():
        if "=" in line and not line.startswith("#"):
            key, _, value = line.partition("=")
            found.setdefault(key, []).append(value)
    return found


def test_the_dashboard_is_given_no_credential_and_another_user() -> None:
    daemon, pages = settings(SERVICES[0]), settings(SERVICES[1])
    assert "LoadCredential" in daemon
    assert not [key for key in pages if "Credential" in key]
    assert "/etc/strandkeeper/secrets" in pages["InaccessiblePaths"][0]
    assert daemon["User"] != pages["User"]
    assert daemon["Group"] == pages["Group"], "the record is shared through the group"


def test_the_daemon_is_watched() -> None:
    daemon = settings(SERVICES[0])
    assert daemon["Type"] == ["notify"]
    assert float(daemon["WatchdogSec"][0]) > 30, "longer than the tick may stand still"
