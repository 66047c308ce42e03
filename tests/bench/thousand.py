"""A thousand switches of two fibre ports each, asked by a real daemon; some dead, some slow.

    python -m tests.bench.thousand [--switches 1000] [--minutes 15] [--dead 0.05] [--slow 0.05]

When each switch was asked is told by the switches (tests/bench/crowd.py), not by the daemon. The
poll of a switch should come every --status seconds; how much later than the switch's own best
rhythm it came is its lateness. An interval in which none came is a lost poll. A run with all
healthy comes first, for comparison. Daemon and switches are put on different cores.
Targets: none later than one interval, p99 under 1 s, none lost, memory flat, and the healthy
ones' p99 at most twice that of the all-healthy run.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import signal
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config

TICKS = os.sysconf("SC_CLK_TCK")
SETTLE_S = 30.0
LONGEST_START_S = 600.0


@dataclass
class Run:
    """What one run showed."""

    name: str
    polls: int
    lateness: list[float]  # s, of healthy switches
    lost: int
    worst_switch: int
    cpu: float  # share of one core
    cpu_ms_a_poll: float
    rss_mb: list[float]
    read_s: float = 0.0  # from the start until every healthy end had a row

    def row(self) -> str:
        """One line of the table."""
        p50, p99 = _at(self.lateness, 0.5), _at(self.lateness, 0.99)
        most = max(self.lateness, default=0.0)
        return (
            f"{self.name:14} {self.polls:8} {p50 * 1e3:8.0f} {p99 * 1e3:8.0f} {most * 1e3:8.0f}"
            f" {self.lost:6} {100 * self.cpu:7.1f} {self.cpu_ms_a_poll:8.2f}"
            f" {self.rss_mb[0]:8.1f} {self.rss_mb[-1]:8.1f} {self.read_s:8.1f}"
        )


HEAD = (
    f"{'':14} {'polls':>8} {'p50 ms':>8} {'p99 ms':>8} {'max ms':>8} {'lost':>6} {'CPU %':>7}"
    f" {'ms/poll':>8} {'MB first':>8} {'MB last':>8} {'start s':>8}"
)


def _at(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else 0.0


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def _rss_mb(pid: int) -> float:
    return (
        int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGESIZE") / 2**20
    )


@contextlib.contextmanager
def running(
    command: list[str], core: int | None, **more: object
) -> Iterator[subprocess.Popen[str]]:
    """A child on a core of its own where there are two; ended by SIGTERM."""
    process = subprocess.Popen(command, text=True, **more)  # type: ignore[call-overload]
    if core is not None and (os.cpu_count() or 1) > 1:
        os.sched_setaffinity(process.pid, {core})
    try:
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(60)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def one_run(given: argparse.Namespace, name: str, dead: float, slow: float) -> Run:
    """Start both, let them settle, measure."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        ways = Ways(given.switches, dead, slow, given.slow_s)
        text = config_text(
            ways, given.port, status_s=given.status, optics_s=given.optics, batch_s=20
        )
        config = write_config(folder, text)
        crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(given.switches)]
        crowd += ["--port", str(given.port), "--seconds", str(given.minutes * 60 + 600)]
        crowd += ["--dead", str(dead), "--slow", str(slow), "--slow-s", str(given.slow_s)]
        crowd += ["--log", str(folder / "log")]
        profile = ["-m", "cProfile", "-o", given.profile] if given.profile else []
        daemon = [sys.executable, *profile, "-m", "strandkeeper", "run", str(config)]
        with running(crowd, 1, stdout=subprocess.PIPE) as agents:
            assert agents.stdout is not None
            agents.stdout.readline()
            with running(
                [*daemon, "--no-dashboard"], 0, stderr=(folder / "said").open("w")
            ) as asker:
                started = time.monotonic()
                _until_all_are_read(folder / "record.db", ways)
                read_s = time.monotonic() - started
                time.sleep(SETTLE_S)
                began, cpu, rss = time.monotonic(), _cpu_s(asker.pid), []
                while time.monotonic() - began < given.minutes * 60:
                    rss.append(_rss_mb(asker.pid))
                    time.sleep(5)
                ended, cpu = time.monotonic(), _cpu_s(asker.pid) - cpu
        said = (folder / "said").read_text()
        if said.count("\n") > 2 or given.verbose:
            print("".join(said.splitlines(keepends=True)[:12]), file=sys.stderr)
        asked = read_log(folder / "log")
        if given.keep:
            shutil.copy(folder / "log", given.keep)
        run = _judge(name, ways, asked, (began, ended), given.status, cpu, rss)
        run.read_s = read_s
        return run


def _until_all_are_read(record: Path, ways: Ways) -> None:
    wanted = 2 * (ways.switches - len(ways.dead_ones))
    end = time.monotonic() + LONGEST_START_S
    while time.monotonic() < end:
        with contextlib.suppress(sqlite3.Error), contextlib.closing(_reading(record)) as database:
            question = "SELECT count(DISTINCT id & 65535) FROM reading WHERE rx_kind IS NOT NULL"
            if database.execute(question).fetchone()[0] >= wanted:
                return
        time.sleep(2)
    print(f"not every end was read within {LONGEST_START_S:.0f} s", file=sys.stderr)


def _reading(record: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{record}?mode=rw", uri=True, timeout=5)


def _judge(
    name: str,
    ways: Ways,
    asked: dict[int, list[float]],
    window: tuple[float, float],
    status_s: float,
    cpu_s: float,
    rss: list[float],
) -> Run:
    lateness, lost, polls, worst = [], 0, 0, (0.0, -1)
    for number in range(ways.switches):
        starts = _poll_starts([t for t in asked.get(number, []) if window[0] <= t < window[1]])
        polls += len(starts)
        if number in ways.dead_ones or number in ways.slow_ones:
            continue
        late, gone = _against_rhythm(starts, window, status_s)
        lost += gone
        lateness += late
        worst = max(worst, (max(late, default=0.0), number))
    span = window[1] - window[0]
    return Run(name, polls, lateness, lost, worst[1], cpu_s / span, 1e3 * cpu_s / polls, rss)


def _poll_starts(times: list[float]) -> list[float]:
    """The first request of each poll: what follows within 3 s belongs to it."""
    starts: list[float] = []
    last = -1e9
    for at in times:
        if at - last > 3.0:
            starts.append(at)
        last = at
    return starts


def _against_rhythm(
    starts: list[float], window: tuple[float, float], status_s: float
) -> tuple[list[float], int]:
    """How late each poll came against the earliest phase, and intervals without one."""
    if not starts:
        return [], int((window[1] - window[0]) / status_s)
    phase = min(starts, key=lambda t: (t - starts[0] + status_s / 2) % status_s)
    residues = [(t - phase + status_s / 2) % status_s - status_s / 2 for t in starts]
    least = min(residues)
    slots = {round((t - phase) / status_s) for t in starts}
    wanted = range(min(slots), max(slots) + 1)
    missing = sum(slot not in slots for slot in wanted)
    missing += max(0, int((window[1] - starts[-1]) / status_s))
    missing += max(0, int((starts[0] - window[0]) / status_s))
    return [r - least for r in residues], missing


def main() -> int:
    """Print the table; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--switches", type=int, default=1000)
    parser.add_argument("--minutes", type=float, default=15.0)
    parser.add_argument("--dead", type=float, default=0.05)
    parser.add_argument("--slow", type=float, default=0.05)
    parser.add_argument("--slow-s", type=float, default=1.0)
    parser.add_argument("--status", type=int, default=10)
    parser.add_argument("--optics", type=int, default=30)
    parser.add_argument("--port", type=int, default=16500)
    parser.add_argument("--only", choices=("healthy", "mixed"))
    parser.add_argument("--keep", help="keep the switches' log of the last run here")
    parser.add_argument("--profile", help="write a profile of the daemon here (costs speed)")
    parser.add_argument("--verbose", action="store_true", help="show what the daemon said")
    given = parser.parse_args()
    print(f"{given.switches} switches, status {given.status} s, optics {given.optics} s")
    print(HEAD, flush=True)
    runs = []
    for name, dead, slow in (("healthy", 0.0, 0.0), ("mixed", given.dead, given.slow)):
        if given.only in (None, name):
            runs.append(one_run(given, name, dead, slow))
            print(runs[-1].row(), flush=True)
    good = all(
        r.lost == 0 and max(r.lateness) < given.status and _at(r.lateness, 0.99) < 1 for r in runs
    )
    if len(runs) == 2:
        ratio = _at(runs[1].lateness, 0.99) / max(1e-9, _at(runs[0].lateness, 0.99))
        growth = statistics.mean(runs[1].rss_mb[-3:]) - statistics.mean(runs[1].rss_mb[:3])
        print(f"p99 mixed / healthy {ratio:.2f}; memory {growth:+.1f} MB over the run")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
