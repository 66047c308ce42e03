"""`strandkeeper demo --once`: simulated switches, real daemon, the status table, and an end."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = [pytest.mark.slow, pytest.mark.timeout(240)]


def processes_of(directory: Path) -> list[str]:
    """The command lines, of this machine's processes, that name the directory."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = path.read_bytes().decode(errors="replace").split("\0")
        except OSError:  # it ended meanwhile
            continue
        if any(str(directory) in word for word in words):
            found.append(" ".join(words))
    return found


def demo_once(directory: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "strandkeeper", "demo", "--once", "--dir", str(directory)],
        capture_output=True,
        text=True,
        timeout=110,
        check=False,
        stdin=subprocess.DEVNULL,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )


def test_the_demo_polls_once_prints_the_links_and_ends_with_zero(tmp_path: Path) -> None:
    done = demo_once(tmp_path / "demo")
    said = f"{done.stdout}\n{done.stderr}"
    assert done.returncode == 0, said
    assert "Traceback" not in said
    for place in ("Lab → Pump house", "Pump house → Lab", "Lab → Jetty", "Jetty → Lab"):
        assert place in done.stdout, said
    assert "dB" in done.stdout, "no figure was printed: " + said
    assert processes_of(tmp_path) == []


def test_a_second_demo_in_the_same_directory_works_as_the_first(tmp_path: Path) -> None:
    first = demo_once(tmp_path / "demo")
    second = demo_once(tmp_path / "demo")
    assert (first.returncode, second.returncode) == (0, 0), second.stderr
    assert "dB" in second.stdout
