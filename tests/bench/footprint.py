"""What the two processes weigh on the computer: the demo's three switches, daemon and dashboard.

    python tests/bench/footprint.py [--seconds 120]

Real processes, real SNMP on loopback; figures from /proc.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

TICKS = os.sysconf("SC_CLK_TCK")


def _status(pid: int, key: str) -> int:
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith(key):
            return int(line.split()[1])
    raise KeyError(key)


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def _written(pid: int) -> int:
    for line in Path(f"/proc/{pid}/io").read_text().splitlines():
        if line.startswith("wchar"):
            return int(line.split()[1])
    raise KeyError("wchar")


def _children(pid: int) -> list[int]:
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return [int(x) for x in text.split()]


def _command(pid: int) -> str:
    return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")


def _find(root: int, word: str) -> int:
    for pid in _children(root):
        if word in _command(pid):
            return pid
        with contextlib.suppress(LookupError):
            return _find(pid, word)
    raise LookupError(word)


def _wait(what: str, ready: object, seconds: float) -> float:
    began = time.monotonic()
    while time.monotonic() - began < seconds:
        with contextlib.suppress(OSError, LookupError, ValueError):
            if ready():  # type: ignore[operator]
                return time.monotonic() - began
        time.sleep(0.05)
    raise SystemExit(f"waited {seconds} s in vain for {what}")


def _polled(config: Path) -> bool:
    done = subprocess.run(
        [sys.executable, "-m", "strandkeeper", "status", str(config), "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    links = json.loads(done.stdout)["links"]
    return any(link["directions"]["ab"]["rx_dbm"] is not None for link in links)


def main() -> None:
    """Start, settle, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--port", type=int, default=18480)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        demo = subprocess.Popen(
            [sys.executable, "-m", "strandkeeper_demo", "--port", str(given.port), "--dir", folder],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            _measure(demo.pid, given, Path(folder))
        finally:
            demo.send_signal(signal.SIGINT)
            demo.wait(30)


def _measure(root: int, given: argparse.Namespace, folder: Path) -> None:
    _wait("the daemon", lambda: _find(root, "strandkeeper run"), 120)
    daemon = _find(root, "strandkeeper run")
    first_poll_s = _wait("the first figures", lambda: _polled(folder / "demo.toml"), 60)
    page = f"http://127.0.0.1:{given.port}/"
    _wait("the pages", lambda: urllib.request.urlopen(page, timeout=5).status == 200, 60)
    pages = _find(daemon, "strandkeeper_dashboard")
    time.sleep(15)
    before = {p: (_cpu_s(p), _written(p)) for p in (daemon, pages)}
    began = time.monotonic()
    time.sleep(given.seconds)
    span = time.monotonic() - began
    print(f"{'':12} {'RSS MB':>8} {'peak MB':>8} {'CPU %':>7} {'kB written/min':>15}")
    total = 0.0
    for name, pid in (("daemon", daemon), ("dashboard", pages)):
        rss, peak = _status(pid, "VmRSS") / 1024, _status(pid, "VmHWM") / 1024
        cpu, written = _cpu_s(pid) - before[pid][0], _written(pid) - before[pid][1]
        total += rss
        print(
            f"{name:12} {rss:8.1f} {peak:8.1f} {100 * cpu / span:7.2f}"
            f" {written / 1024 / span * 60:15.1f}"
        )
    print(f"{'together':12} {total:8.1f}")
    print(f"daemon seen to first figures in the record: at most {first_poll_s:.1f} s")


if __name__ == "__main__":
    main()
