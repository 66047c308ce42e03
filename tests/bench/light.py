"""What two switches cost the computer: memory, processor, syncs, the start, and each import.

    python -m tests.bench.light [--seconds 120]

Daemon and dashboard as `strandkeeper run` starts them, over two simulated switches (four links'
ends), with the default intervals. Beside them stands tests/bench/naive_station.py over two switches
of its own. Syncs are counted by strace (Debian package of that name), in a run of their own, so
that it does not slow the others. The imports are each measured alone in a fresh interpreter, and
looked for in a daemon's.
"""

from __future__ import annotations

import argparse
import contextlib
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config
from tests.bench.crowd_run import cpu_s, rss_mb, running
from tests.bench.target import Target, report_all

PORT, SWITCHES = 16680, 2
SETTLE_S = 20.0
STATUS_S, OPTICS_S, BATCH_S = 10, 30, 20.0
IMPORTS = (
    "asyncio", "sqlite3", "numpy", "ssl", "cryptography.hazmat.primitives.ciphers",
    "pysnmp.entity.engine", "apscheduler.schedulers.asyncio", "flask", "waitress",
    "plotly.graph_objects", "scipy.stats", "apprise",
)  # fmt: skip


def crowd_of(folder: Path, port: int, seconds: float) -> list[str]:
    """The command of two switches."""
    return [
        sys.executable, "-m", "tests.bench.crowd", "--switches", str(SWITCHES), "--port", str(port),
        "--seconds", str(seconds), "--log", str(folder / f"log{port}"),
    ]  # fmt: skip


def station(folder: Path, port: int) -> list[str]:
    """The command of the product over two switches."""
    text = config_text(Ways(SWITCHES), port, status_s=STATUS_S, optics_s=OPTICS_S, batch_s=BATCH_S)
    return [sys.executable, "-m", "strandkeeper", "run", str(write_config(folder, text))]


def children(pid: int) -> list[int]:
    """The processes that a process has started."""
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return [int(child) for child in text.split()]


def standing(seconds: float) -> list[Target]:
    """Memory, processor and the time to the first request."""
    with tempfile.TemporaryDirectory() as place, contextlib.ExitStack() as ends:
        folder = Path(place)
        for port in (PORT, PORT + 1):
            agents = ends.enter_context(
                running(crowd_of(folder, port, seconds + 120), None, stdout=subprocess.PIPE)
            )
            assert agents.stdout is not None
            agents.stdout.readline()
        said = ends.enter_context((folder / "said").open("w"))
        started = time.monotonic()
        daemon = ends.enter_context(running(station(folder, PORT), None, stderr=said))
        plain = [sys.executable, "-m", "tests.bench.naive_station", "--switches", str(SWITCHES)]
        plain += ["--port", str(PORT + 1), "--record", str(folder / "naive.db")]
        naive = ends.enter_context(running(plain, None))
        time.sleep(SETTLE_S)
        every = {"daemon": [daemon.pid], "pages": children(daemon.pid), "plain": [naive.pid]}
        before = {name: sum(map(cpu_s, pids)) for name, pids in every.items()}
        time.sleep(seconds)
        share = {n: (sum(map(cpu_s, p)) - before[n]) / seconds * 100 for n, p in every.items()}
        memory = {n: sum(map(rss_mb, pids)) for n, pids in every.items()}
        ends.close()
        first_s = min(t for times in read_log(folder / f"log{PORT}").values() for t in times)
    beside = "plain station, no pages"
    return [
        Target(subject="light", name="memory of the daemon", unit="MB", ours=memory["daemon"],
               baseline=memory["plain"], limit=80.0, of="ours", beside=beside),
        Target(subject="light", name="memory of daemon and pages", unit="MB",
               ours=memory["daemon"] + memory["pages"], baseline=memory["plain"], limit=150.0,
               of="ours", beside=beside),
        Target(subject="light", name="processor of both", unit="% of one",
               ours=share["daemon"] + share["pages"], baseline=share["plain"], limit=1.0, of="ours",
               beside=beside),
        Target(subject="light", name="start to the first request", unit="s",
               ours=first_s - started, limit=2.0, of="ours"),
    ]  # fmt: skip


def syncs(seconds: float) -> list[Target]:
    """fsync and fdatasync a minute of daemon and pages, once they stand."""
    strace = shutil.which("strace")
    if strace is None:
        print("  syncs NOT COUNTED: strace is missing (Debian package: strace)")
        return []
    with tempfile.TemporaryDirectory() as place, contextlib.ExitStack() as ends:
        folder = Path(place)
        agents = ends.enter_context(
            running(crowd_of(folder, PORT, seconds + 120), None, stdout=subprocess.PIPE)
        )
        assert agents.stdout is not None
        agents.stdout.readline()
        said = ends.enter_context((folder / "said").open("w"))
        traced = [strace, "-f", "-qq", "--seccomp-bpf", "-ttt", "-e", "trace=fsync,fdatasync"]
        traced += ["-o", str(folder / "syncs"), "--"]
        child = subprocess.Popen([*traced, *station(folder, PORT)], stderr=said)
        time.sleep(SETTLE_S)
        begin = time.time()
        time.sleep(seconds)
        end = time.time()
        for daemon in children(child.pid):
            with contextlib.suppress(ProcessLookupError):
                subprocess.run(["kill", f"-{signal.SIGTERM.value}", str(daemon)], check=False)
        child.wait(60)
        lines = [line.split() for line in (folder / "syncs").read_text().splitlines()]
    calls = [
        line for line in lines if len(line) > 2 and line[2].startswith(("fsync(", "fdatasync("))
    ]
    found = sum(begin <= float(line[1]) < end for line in calls)
    if not calls:
        raise RuntimeError("not one sync was seen from the start on: the count would be worthless")
    batches = 60 / BATCH_S
    return [
        Target(subject="light", name="syncs of both", unit="a minute", ours=found / seconds * 60,
               baseline=60 / STATUS_S * SWITCHES, limit=5.0, of="ours",
               beside=f"a commit a switch; {batches:g} batches a minute")
    ]  # fmt: skip


def imports() -> None:
    """MB and ms of each import alone, and whether a daemon has it."""
    have = "import sys, strandkeeper.app.daemon; print(' '.join(sys.modules))"
    loaded = set(
        subprocess.run([sys.executable, "-c", have], capture_output=True, text=True, check=True)
        .stdout.split()
    )  # fmt: skip
    cost = (
        "import time\n"
        "def mb(): return int(open('/proc/self/statm').read().split()[1]) / 256\n"
        "before, begun = mb(), time.process_time()\n"
        "import {}\n"
        "print(mb() - before, (time.process_time() - begun) * 1e3)"
    )
    print(f"  {'import alone':42} {'MB':>6} {'ms CPU':>6}  in the daemon")
    for name in IMPORTS:
        command = [sys.executable, "-c", cost.format(name)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            print(f"  {name:42} not installed")
            continue
        memory, spent = map(float, done.stdout.split())
        print(f"  {name:42} {memory:6.1f} {spent:6.0f}  {'yes' if name in loaded else 'no'}")


def main() -> int:
    """Print and report; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=120.0)
    given = parser.parse_args()
    imports()
    found = [*standing(given.seconds), *syncs(given.seconds)]
    return int(not report_all(found))


if __name__ == "__main__":
    sys.exit(main())
