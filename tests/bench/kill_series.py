"""A running daemon is killed again and again at random instants; what is missing afterwards?

    python -m tests.bench.kill_series [--kills 20] [--switches 6] [--parallel 1] [--longest 6]

`--parallel` runs so many daemons beside one another, each with its own record and switches; a kill
costs a start (a second and a half of processor time) and its share of `--longest` seconds. Four of
five daemons live for that time from their being started on, however long that took on a busy
machine; every fifth is killed within two seconds of its first breath, in the middle of its start.

The daemon polls simulated switches whose links flap (tests/bench/crowd.py), every second, with a
batch of two seconds, so that every kill falls among writing, judging, alerting and summing up.
SIGKILL: the kernel lives, so what was handed to it arrives; power cuts are store_proof's. Counted:

unreadable   the record cannot be opened, or its integrity check finds something
lost         seconds without a row of an end that was being polled, older than one batch when the
             kill came; and rows that a reader had seen before the kill and that are gone after it
doubled      the same event, alert or transition of an alert twice
transitions  of a port, seen in the rows and without its event, or an event without them: the rows
             are judged again from the first, in one go, by a state that was never killed
"""

from __future__ import annotations

import argparse
import collections
import contextlib
import itertools
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config

from strandkeeper.analysis import engine
from strandkeeper.config.load import load
from strandkeeper.errors import StoreError
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.block import Block
from strandkeeper.store import open_reader
from strandkeeper.store.checking import check_whole

BATCH_S = 2.0
POLL_S = 1.0
LONGEST_S = 6.0  # a daemon lives at most so long
START_S = 4.0  # from the first request to the first row, walks included, on a busy machine
WINDOW_MS = 30_000
LATE_S = 1.5  # a poll's own time and the tick's, on a busy machine


@dataclass
class Outcome:
    """What the series showed."""

    kills: int = 0
    lived: int = 0  # of them: killed after they had started
    rows: int = 0
    events: int = 0
    transitions: int = 0
    unreadable: int = 0
    lost: int = 0
    doubled: list[str] = field(default_factory=list)
    untrue: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Whether nothing at all was found."""
        return not (self.unreadable or self.lost or self.doubled or self.untrue)

    def add(self, other: Outcome) -> None:
        """Count the other's in."""
        self.kills += other.kills
        self.lived += other.lived
        self.rows += other.rows
        self.events += other.events
        self.transitions += other.transitions
        self.unreadable += other.unreadable
        self.lost += other.lost
        self.doubled += other.doubled
        self.untrue += other.untrue


@dataclass(frozen=True)
class Kill:
    """Monotonic seconds; `wall_s` added gives the wall's. Rows by end, before and after."""

    began_s: float
    killed_s: float
    wall_s: float
    seen: dict[int, list[int]]
    found: dict[int, list[int]]


def in_parallel(
    kills: int, parallel: int, *, switches: int, port: int, seed: int, longest_s: float
) -> Outcome:
    """Several series at once, each on a port and with a seed of its own."""
    shares = [kills // parallel + (n < kills % parallel) for n in range(parallel)]
    outcome = Outcome()
    with ThreadPoolExecutor(parallel) as pool:
        for part in pool.map(
            lambda n: series(shares[n], switches, port + n, seed + n, longest_s), range(parallel)
        ):
            outcome.add(part)
    return outcome


def series(
    kills: int, switches: int, port: int, seed: int, longest_s: float = LONGEST_S
) -> Outcome:
    """Start, kill, look; in the end look at everything."""
    outcome = Outcome()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        ways = Ways(switches, flap_s=10)
        text = config_text(ways, port, status_s=1, optics_s=1, batch_s=BATCH_S)
        config = write_config(folder, text)
        crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(switches)]
        crowd += ["--port", str(port), "--seconds", str(kills * 30 + 600), "--flap-s", "10"]
        crowd += ["--log", str(folder / "asked")]
        with subprocess.Popen(crowd, stdout=subprocess.PIPE) as agents:
            assert agents.stdout is not None
            if agents.stdout.readline() != b"ready\n":
                raise RuntimeError(f"the switches cannot listen at port {port}: take another")
            try:
                killed = _kill_again_and_again(
                    config, kills, random.Random(seed), outcome, longest_s
                )
            finally:
                agents.terminate()
        asked = sorted(t for times in read_log(folder / "asked").values() for t in times)
        for kill in killed:
            _count_lost(kill, asked, outcome)
        record = folder / "record.db"
        _count_doubled(record, outcome)
        _judge_anew(config, record, outcome)
    return outcome


def _kill_again_and_again(
    config: Path, kills: int, chance: random.Random, outcome: Outcome, longest_s: float
) -> list[Kill]:
    killed = []
    record = config.with_name("record.db")
    for number in range(kills):
        began_s = time.monotonic()
        command = [sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
        said = config.with_name("said")
        with said.open("wb") as out, subprocess.Popen(command, stderr=out) as daemon:
            if number % 5 == 4:
                time.sleep(chance.uniform(0.3, 2.0))
            else:
                outcome.lived += _wait_for_start(daemon, said)
                time.sleep(chance.uniform(0.0, longest_s))
            since_ms = time.time_ns() // 1_000_000 - WINDOW_MS
            seen = _ends(record, since_ms)
            killed_s = time.monotonic()
            daemon.send_signal(signal.SIGKILL)
            daemon.wait()
        outcome.kills += 1
        found = _look(record, outcome, since_ms)
        killed.append(Kill(began_s, killed_s, time.time() - time.monotonic(), seen, found))
        _progress(number + 1, kills)
    return killed


def _wait_for_start(daemon: subprocess.Popen[bytes], said: Path) -> bool:
    """Whether the daemon said within a minute that it has started."""
    for _ in range(600):
        if b"started switches=" in said.read_bytes():
            return True
        if daemon.poll() is not None:
            raise RuntimeError(f"the daemon ended by itself: {said.read_text()[-2000:]}")
        time.sleep(0.1)
    return False


def _progress(done: int, kills: int) -> None:
    if sys.stderr.isatty():
        print(f"\r{done} of {kills}", end="", file=sys.stderr, flush=True)


def _ends(record: Path, since_ms: int) -> dict[int, list[int]]:
    """Record times in ms of the rows since then, by end; empty before there is a record.

    Before and after a kill from the same time on: a window that moves along drops old rows.
    """
    if not record.exists():
        return {}
    found: dict[int, list[int]] = collections.defaultdict(list)
    with contextlib.closing(sqlite3.connect(record, timeout=10)) as database:
        with contextlib.suppress(sqlite3.OperationalError):  # the tables are being made
            for (key,) in database.execute(
                "SELECT id FROM reading WHERE id > ? ORDER BY id", (since_ms * 65536,)
            ):
                found[key & 65535].append(key >> 16)
    return found


def _look(record: Path, outcome: Outcome, since_ms: int) -> dict[int, list[int]]:
    """Check a copy as a power cut's heir would find it: the file with its log."""
    with tempfile.TemporaryDirectory(dir=record.parent) as place:
        copy = Path(place) / record.name
        for tail in ("", "-wal"):
            source = record.with_name(record.name + tail)
            if source.exists():
                shutil.copy(source, copy.with_name(copy.name + tail))
        if not copy.exists() or copy.stat().st_size + _size(copy, "-wal") == 0:
            return {}
        try:
            with contextlib.closing(sqlite3.connect(copy)) as database:
                database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
                if not database.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
                    return {}
            check_whole(copy)
        except (sqlite3.Error, StoreError) as error:
            print(f"unreadable: {error}", file=sys.stderr)
            outcome.unreadable += 1
            return {}
        return _ends(copy, since_ms)


def _size(path: Path, tail: str) -> int:
    beside = path.with_name(path.name + tail)
    return beside.stat().st_size if beside.exists() else 0


def _count_lost(kill: Kill, asked: list[float], outcome: Outcome) -> None:
    """By the wall's clock, from the daemon's first request on: a slow start loses nothing."""
    first = next((t for t in asked if kill.began_s <= t <= kill.killed_s), kill.killed_s)
    lost = _lost(kill.seen, kill.found, first + kill.wall_s, kill.killed_s + kill.wall_s)
    if lost:
        print(
            f"lost {lost}: killed {kill.killed_s - kill.began_s:.1f} s after its start, "
            f"{kill.killed_s - first:.1f} s after its first request",
            file=sys.stderr,
        )
    outcome.lost += lost


def _lost(
    seen: dict[int, list[int]], found: dict[int, list[int]], began_s: float, killed_s: float
) -> int:
    """Rows that were seen and are gone, and polls missing that are older than one batch."""
    gone = sum(len(set(times) - set(found.get(end, ()))) for end, times in seen.items())
    # The record's clock runs with the wall's here, so the newest row tells how far it got.
    for times in found.values():
        run = [t / 1000 for t in times if t / 1000 >= began_s]
        reached_s = run[-1] if run else began_s + START_S
        gone += max(0, int((killed_s - reached_s - BATCH_S - LATE_S) / POLL_S))
        gone += sum(b - a > 2 * POLL_S + LATE_S for a, b in itertools.pairwise(run))
    return gone


def _count_doubled(record: Path, outcome: Outcome) -> None:
    with contextlib.closing(sqlite3.connect(record)) as database:
        for table, columns in (
            ("event", "link_id, time_ms, kind, end, direction, text"),
            ("alert_transition", "alert, before, event, after, at_ms"),
            ("alert", "link, direction, end, kind, began_ms"),
        ):
            for *what, times in database.execute(
                f"SELECT {columns}, count(*) FROM {table} GROUP BY {columns} HAVING count(*) > 1"
            ):
                outcome.doubled.append(f"{table} {times} times: {what}")
        outcome.rows = database.execute("SELECT count(*) FROM reading").fetchone()[0]
        outcome.events = database.execute("SELECT count(*) FROM event").fetchone()[0]
        outcome.transitions = database.execute("SELECT count(*) FROM alert_transition").fetchone()[
            0
        ]


def _judge_anew(config: Path, record: Path, outcome: Outcome) -> None:
    settings = load(config)
    with contextlib.closing(open_reader(record)) as reader:
        for link in settings.links:
            facts = link_facts(link, settings)
            rows = list(reader.rows(link.name, 0, 1 << 46))
            _, evaluation = engine.advance(facts, engine.initial(facts), Block.from_rows(rows))
            wanted = {(e.kind.value, e.time_ms, e.end) for e in evaluation.events}
            kept = {
                (e.kind.value, e.time_ms, e.end) for e in reader.events(link.name, limit=1 << 40)
            }
            outcome.untrue += [f"{link.name}: not in the record: {e}" for e in wanted - kept]
            outcome.untrue += [f"{link.name}: not in the rows: {e}" for e in kept - wanted]


def main() -> int:
    """Print what was found; 1 if anything was."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--switches", type=int, default=6)
    parser.add_argument("--port", type=int, default=16610)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--parallel", type=int, default=1)
    parser.add_argument("--longest", type=float, default=LONGEST_S)
    given = parser.parse_args()
    outcome = in_parallel(
        given.kills,
        given.parallel,
        switches=given.switches,
        port=given.port,
        seed=given.seed,
        longest_s=given.longest,
    )
    print(
        f"{outcome.kills} kills, {outcome.lived} of them after the start; {outcome.rows} rows, "
        f"{outcome.events} events, {outcome.transitions} alert transitions"
    )
    print(
        f"unreadable {outcome.unreadable}, lost {outcome.lost}, doubled {len(outcome.doubled)}, "
        f"events against rows {len(outcome.untrue)}"
    )
    for line in (*outcome.doubled[:10], *outcome.untrue[:10]):
        print(f"  {line}")
    return 0 if outcome.good else 1


if __name__ == "__main__":
    sys.exit(main())
