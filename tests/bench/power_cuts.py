"""The power is cut under a whole running daemon, at many places; what is missing afterwards?

    python -m tests.bench.power_cuts [--seconds 60] [--cuts 300]

The daemon polls simulated switches whose links flap (tests/bench/crowd.py), every second, with a
batch of two seconds, under the write log of store_proof.py: every write, truncation and sync of its
record in order. Meanwhile an observer reads the record as any reader does, and notes in the same
log what it has seen; what somebody saw must not go. At any place in that log the files are rebuilt
as a power cut there could have left them. Counted over all cuts:

unreadable   the record cannot be opened as the daemon opens it, or its check finds something
gone         rows, events or steps of alerts that the observer had seen before the cut
behind       cuts with rows missing that are older than two batches
untrue       events that the rows do not bear out, or the other way round (kill_series.py)

What this cannot show: a disk that says it has synced and has not (see store_proof.py).
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench import store_proof
from tests.bench.crowd import Ways, config_text, write_config
from tests.bench.kill_series import Outcome, _judge_anew

from strandkeeper.store import open_writer
from strandkeeper.store.checking import check_whole

BATCH_S = 2.0
LOOK_EVERY_S = 0.1
BEHIND_MS = 2 * BATCH_S * 1000 + 2000


@dataclass
class Cuts:
    """What all cuts came to."""

    cuts: int = 0
    rows: int = 0
    events: int = 0
    steps: int = 0
    unreadable: int = 0
    gone: int = 0
    behind: int = 0
    untrue: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Whether nothing at all was found."""
        return not (self.unreadable or self.gone or self.behind or self.untrue)


def measure(seconds: float, cuts: int, port: int, folder: Path, seed: int = 1) -> Cuts | None:
    """Run, then cut; None without a C compiler."""
    library = store_proof.build_shim(folder)
    if library is None:
        return None
    text = config_text(Ways(2, flap_s=8), port, status_s=1, optics_s=1, batch_s=BATCH_S)
    config = write_config(folder, text.replace('"record.db"', '"data/record.db"'))
    (folder / "data").mkdir()
    log = folder / "write.log"
    crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", "2", "--flap-s", "8"]
    crowd += ["--port", str(port), "--seconds", str(seconds + 300)]
    with subprocess.Popen(crowd, stdout=subprocess.PIPE) as agents:
        assert agents.stdout is not None
        if agents.stdout.readline() != b"ready\n":
            raise RuntimeError(f"the switches cannot listen at port {port}: take another")
        try:
            _run(config, library, log, seconds)
        finally:
            agents.terminate()
    return cut(config, list(store_proof.read_log(log.read_bytes())), cuts, random.Random(seed))


def _run(config: Path, library: Path, log: Path, seconds: float) -> None:
    environment = {
        **os.environ,
        "LD_PRELOAD": str(library),
        "WRITE_LOG_DIR": str(config.parent / "data"),
        "WRITE_LOG_FILE": str(log),
    }
    command = [sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
    said = config.with_name("said").open("wb")
    with said, subprocess.Popen(command, env=environment, stderr=said) as daemon:
        try:
            _observe(config.parent / "data" / "record.db", log, daemon, seconds)
        finally:
            daemon.kill()
            daemon.wait()


def _observe(record: Path, log: Path, daemon: subprocess.Popen[bytes], seconds: float) -> None:
    """Look, and write into the log what was seen: all of it is synced, or should be."""
    end_s, begun = time.monotonic() + 60, False
    while time.monotonic() < end_s:
        if daemon.poll() is not None:
            raise RuntimeError(f"the daemon ended by itself with {daemon.returncode}")
        time.sleep(LOOK_EVERY_S)
        with contextlib.suppress(sqlite3.OperationalError):  # no record or no tables yet
            newest = _newest(record)
            if newest[0] and not begun:
                begun, end_s = True, time.monotonic() + seconds
            data = " ".join(map(str, newest)).encode()
            with log.open("ab", buffering=0) as out:
                out.write(struct.pack("<cBqq", b"W", 4, 0, len(data)) + b"acks" + data)
    if not begun:
        raise RuntimeError("the daemon wrote no row within a minute")


def _newest(record: Path) -> tuple[int, int, int]:
    """The newest row, event and step of an alert."""
    with contextlib.closing(sqlite3.connect(f"file:{record}?mode=ro", uri=True)) as database:
        rows, events, steps = database.execute(
            "SELECT (SELECT ifnull(max(id), 0) FROM reading), "
            "(SELECT count(*) FROM event), (SELECT count(*) FROM alert_transition)"
        ).fetchone()
        return rows, events, steps


def cut(config: Path, ops: list[store_proof.Op], cuts: int, chance: random.Random) -> Cuts:
    """Rebuild the record after a power cut at so many places of the log, and take stock of each."""
    first = next(place for place, op in enumerate(ops) if op.name == "acks")
    places = sorted(chance.randrange(first, len(ops) + 1) for _ in range(cuts))
    every = _rows(config.parent / "data" / "record.db")
    disk, seen, outcome = store_proof.Disk(), (0, 0, 0), Cuts()
    done = 0
    for place in places:
        for op in ops[done:place]:
            if op.name == "acks":
                seen = tuple(int(word) for word in op.data.split())  # type: ignore[assignment]
            else:
                disk.do(op)
        done = place
        with tempfile.TemporaryDirectory(dir=config.parent) as image:
            disk.after_a_cut(chance, Path(image))
            _take_stock(config, Path(image) / "record.db", every, seen, outcome)
    return outcome


def _rows(record: Path) -> list[int]:
    with contextlib.closing(sqlite3.connect(record)) as database:
        return [key for (key,) in database.execute("SELECT id FROM reading ORDER BY id")]


def _take_stock(
    config: Path, record: Path, every: list[int], seen: tuple[int, int, int], outcome: Cuts
) -> None:
    outcome.cuts += 1
    try:
        open_writer(record, reserve=False).close()
        check_whole(record)
        rows, now = _rows(record), _newest(record)
        judged = Outcome()
        _judge_anew(config, record, judged)
    except Exception as error:  # noqa: BLE001 whatever it is, the record did not come back
        print(f"unreadable: {error}", file=sys.stderr)
        outcome.unreadable += 1
        return
    wanted = {key for key in every if key <= seen[0]}
    outcome.gone += len(wanted - set(rows)) + max(0, seen[1] - now[1]) + max(0, seen[2] - now[2])
    outcome.behind += bool(seen[0] and (seen[0] >> 16) - (now[0] >> 16) > BEHIND_MS)
    outcome.untrue += judged.untrue
    outcome.rows, outcome.events, outcome.steps = len(rows), now[1], now[2]


def main() -> int:
    """Print what was found; 1 if anything was."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--cuts", type=int, default=300)
    parser.add_argument("--port", type=int, default=16850)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        outcome = measure(given.seconds, given.cuts, given.port, Path(place))
    if outcome is None:
        print("NOT RUN: the write log needs a C compiler")
        return 1
    print(
        f"{outcome.cuts} cuts in a run of {outcome.rows} rows, {outcome.events} events and "
        f"{outcome.steps} steps of alerts"
    )
    print(
        f"unreadable {outcome.unreadable}, gone {outcome.gone}, behind {outcome.behind}, "
        f"events against rows {len(outcome.untrue)}"
    )
    for line in outcome.untrue[:10]:
        print(f"  {line}")
    return 0 if outcome.good else 1


if __name__ == "__main__":
    sys.exit(main())
