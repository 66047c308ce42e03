"""The wall clock is stepped an hour either way under a running daemon: what do the switches see?

    python -m tests.bench.clock_steps [--steps 4] [--pause 12]

The daemon runs under libfaketime with its monotonic clock left alone; the switches (tests/bench/
crowd.py) run by the true clock and tell when they were asked. For each step: the longest time
without any poll, the most polls in one second against the busiest second without a step, and, in
the record, rows twice and seconds of record time that run back. Target: at most 2 s without polls,
no burst, no duplicate.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config

SWITCHES = 20
STATUS_S = 5  # four switches a second


@dataclass
class Outcome:
    """`gaps_s` and `bursts` by step; `usual_*` from the time before the first."""

    steps: list[str]
    gaps_s: list[float]
    bursts: list[int]
    usual_gap_s: float
    usual_burst: int
    rows: int
    doubled: int
    epochs: int

    @property
    def good(self) -> bool:
        """Whether the target is met."""
        return (
            bool(self.gaps_s)
            and max(self.gaps_s) <= 2.0
            and max(self.bursts) <= 2 * self.usual_burst
            and not self.doubled
            and self.epochs >= 2  # the start's and at least one step's: the record's clock judges
        )


def faketime() -> Path | None:
    """Debian's library, None where it is not installed."""
    found = sorted(Path("/usr/lib").glob("*/faketime/libfaketime.so.1"))
    return found[0] if found else None


def measure(library: Path, steps: int, pause_s: float, port: int) -> Outcome:
    """Step to and fro; ask the switches afterwards."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        text = config_text(Ways(SWITCHES), port, status_s=STATUS_S, optics_s=STATUS_S, batch_s=2)
        config = write_config(folder, text)
        stamp, log = folder / "offset", folder / "log"
        stamp.write_text("+0\n")
        crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(SWITCHES)]
        crowd += ["--port", str(port), "--seconds", str((steps + 4) * pause_s + 120)]
        with subprocess.Popen([*crowd, "--log", str(log)], stdout=subprocess.PIPE) as agents:
            assert agents.stdout is not None
            agents.stdout.readline()
            try:
                at = _run_and_step(config, library, stamp, steps, pause_s)
            finally:
                agents.terminate()
        return _judge(folder / "record.db", read_log(log), at, pause_s)


OFFSETS = ("+1h", "+0", "-1h", "+0")


def _run_and_step(
    config: Path, library: Path, stamp: Path, steps: int, pause_s: float
) -> list[tuple[float, str]]:
    environment = {
        **os.environ,
        "LD_PRELOAD": str(library),
        "FAKETIME_TIMESTAMP_FILE": str(stamp),
        "FAKETIME_NO_CACHE": "1",
        "FAKETIME_DONT_FAKE_MONOTONIC": "1",
        "DONT_FAKE_MONOTONIC": "1",
    }
    command = [sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
    said = config.with_name("said").open("w")
    with said, subprocess.Popen(command, env=environment, stderr=said) as daemon:
        try:
            time.sleep(2 * pause_s + 5)
            at = [(time.monotonic(), "usual")]
            for offset in itertools.islice(itertools.cycle(OFFSETS), steps):
                half = stamp.with_name("offset.new")
                half.write_text(f"{offset}\n")
                half.rename(stamp)
                at.append((time.monotonic(), offset))
                time.sleep(pause_s)
            at.append((time.monotonic(), "end"))
        finally:
            daemon.terminate()
            daemon.wait(60)
    if daemon.returncode:
        raise RuntimeError(f"the daemon ended with {daemon.returncode}: {said_text(config)}")
    return at


def said_text(config: Path) -> str:
    return config.with_name("said").read_text()[-2000:]


def _judge(
    record: Path, asked: dict[int, list[float]], at: list[tuple[float, str]], pause_s: float
) -> Outcome:
    times = sorted(t for of_one in asked.values() for t in of_one)
    begin = at[0][0]
    usual = [t for t in times if begin - pause_s <= t < begin]
    spans = [(a, b) for (a, _), (b, _) in itertools.pairwise(at[1:])]
    inside = [[t for t in times if a <= t < b] for a, b in spans]
    edges = [[a, *ts, b] for (a, b), ts in zip(spans, inside, strict=True)]
    with contextlib.closing(sqlite3.connect(record)) as database:
        rows = database.execute("SELECT count(*) FROM reading").fetchone()[0]
        # An hour is stepped in seconds: two rows of one end within a fifth of an interval are one
        # poll written twice, whichever clock dated them.
        doubled = database.execute(
            "SELECT count(*) FROM (SELECT (id >> 16) - lag(id >> 16) OVER "
            "(PARTITION BY id & 65535 ORDER BY id) AS apart FROM reading) WHERE apart < ?",
            (STATUS_S * 200,),
        ).fetchone()[0]
        epochs = database.execute("SELECT count(*) FROM time_epoch").fetchone()[0]
    return Outcome(
        steps=[name for _, name in at[1:-1]],
        gaps_s=[_longest(e) for e in edges],
        bursts=[_most_in_a_second(ts) for ts in inside],
        usual_gap_s=_longest(usual),
        usual_burst=_most_in_a_second(usual),
        rows=rows,
        doubled=doubled,
        epochs=epochs,
    )


def _longest(times: list[float]) -> float:
    return max((b - a for a, b in itertools.pairwise(times)), default=float("inf"))


def _most_in_a_second(times: list[float]) -> int:
    return max(Counter(int(t - times[0]) for t in times).values(), default=0) if times else 0


def main() -> int:
    """Print a line a step; 1 if the target is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--steps", type=int, default=4)
    parser.add_argument("--pause", type=float, default=12.0)
    parser.add_argument("--port", type=int, default=16620)
    given = parser.parse_args()
    library = faketime()
    if library is None:
        print("NOT RUN: libfaketime is missing (Debian package: libfaketime)")
        return 1
    outcome = measure(library, given.steps, given.pause, given.port)
    print(f"{'clock':>8} {'longest without polls s':>24} {'most requests in 1 s':>22}")
    print(f"{'usual':>8} {outcome.usual_gap_s:24.2f} {outcome.usual_burst:22}")
    for name, gap, burst in zip(outcome.steps, outcome.gaps_s, outcome.bursts, strict=True):
        print(f"{name:>8} {gap:24.2f} {burst:22}")
    print(f"{outcome.rows} rows, {outcome.doubled} doubled, {outcome.epochs} clock epochs written")
    return 0 if outcome.good else 1


if __name__ == "__main__":
    sys.exit(main())
