"""All-in CPU of a poll (schedule, send, decode, deltas, judge, store) beside the plain way.

    python -m tests.bench.end_to_end [--switches 200] [--seconds 60]

The daemon and tests/bench/naive_station.py run at the same time on the same core, each over a crowd
of its own; their polls are counted by the switches. Target: half of the plain way's CPU. With
--profile FILE a profile of the daemon over the same time says what the rest is (it costs speed).
"""

from __future__ import annotations

import argparse
import contextlib
import pstats
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config
from tests.bench.crowd_run import cpu_s, running
from tests.bench.target import Target, report

PORT = 16640
STATUS_S, OPTICS_S = 10, 30
WARM_S = 45.0  # every switch walked, every target known to the plain way's engine


def crowd_of(folder: Path, switches: int, port: int, seconds: float) -> list[str]:
    """The command of one crowd."""
    return [
        sys.executable, "-m", "tests.bench.crowd", "--switches", str(switches), "--port", str(port),
        "--seconds", str(seconds + WARM_S + 60), "--log", str(folder / f"log{port}"),
    ]  # fmt: skip


def measure(switches: int, seconds: float, profile: str | None) -> dict[str, float]:
    """CPU ms a poll of both."""
    with tempfile.TemporaryDirectory() as place, contextlib.ExitStack() as ends:
        folder = Path(place)
        for port in (PORT, PORT + 1):
            crowd = ends.enter_context(
                running(crowd_of(folder, switches, port, seconds), 1, stdout=subprocess.PIPE)
            )
            assert crowd.stdout is not None
            crowd.stdout.readline()
        text = config_text(Ways(switches), PORT, status_s=STATUS_S, optics_s=OPTICS_S, batch_s=20)
        config = write_config(folder, text)
        traced = ["-m", "cProfile", "-o", profile] if profile else []
        ours = [sys.executable, *traced, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
        plain = [sys.executable, "-m", "tests.bench.naive_station", "--switches", str(switches)]
        plain += ["--port", str(PORT + 1), "--record", str(folder / "naive.db")]
        said = ends.enter_context((folder / "said").open("w"))
        asker = ends.enter_context(running(ours, 0, stderr=said))
        naive = ends.enter_context(running(plain, 0))
        time.sleep(WARM_S)
        began, before = time.monotonic(), [cpu_s(asker.pid), cpu_s(naive.pid)]
        time.sleep(seconds)
        ended, after = time.monotonic(), [cpu_s(asker.pid), cpu_s(naive.pid)]
        rows = _rows(folder / "record.db"), _rows(folder / "naive.db")
        if not all(rows):
            raise RuntimeError(f"one of them wrote nothing: {rows}")
        ends.close()
        found = {}
        for name, port, first, last in zip(
            ("ours", "plain"), (PORT, PORT + 1), before, after, strict=True
        ):
            polls = _polls(folder / f"log{port}", began, ended)
            found[name] = 1e3 * (last - first) / polls
            print(f"  {name:6} {polls:6} polls, {found[name]:6.2f} ms CPU a poll")
        return found


def _rows(record: Path) -> int:
    with contextlib.closing(sqlite3.connect(f"file:{record}?mode=rw", uri=True)) as database:
        return int(database.execute("SELECT count(*) FROM reading").fetchone()[0])


def _polls(log: Path, began: float, ended: float) -> int:
    """What follows within 3 s belongs to the same poll."""
    polls = 0
    for times in read_log(log).values():
        last = -1e9
        for at in times:
            polls += at - last > 3.0 and began <= at < ended
            last = at
    return polls


def main() -> int:
    """Print both; 1 if the target is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--switches", type=int, default=200)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--profile", help="write a profile of the daemon here and print its heads")
    given = parser.parse_args()
    print(f"{given.switches} switches, status every {STATUS_S} s, light every {OPTICS_S} s")
    found = measure(given.switches, given.seconds, given.profile)
    if given.profile:
        pstats.Stats(given.profile).sort_stats("tottime").print_stats(25)
    target = Target(
        subject="e2e", name="CPU of a poll, all in", unit="ms", ours=found["ours"],
        baseline=found["plain"], limit=0.5, of="ratio",
        beside="job, objects and commit a switch",
    )  # fmt: skip
    report(target)
    print(f"  ratio {target.ratio:.2f}, target at most {target.limit}")
    return int(not target.met)


if __name__ == "__main__":
    sys.exit(main())
