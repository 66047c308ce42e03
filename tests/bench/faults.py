"""System calls of a running daemon fail, one kind after the other; what becomes of its work?

    python -m tests.bench.faults [--seconds 4] [--told]

strace lets the calls of the daemon's threads fail (its -e inject) while it polls simulated switches
whose links flap (tests/bench/crowd.py), every second, with a batch of a second. The calls of the
store are those that name the record's files, the calls of sockets those to the switches. For
each case: how many calls failed (none: the case shows nothing and is not good), the longest time
without a request of any switch while they did, whether the daemon said that it cannot write, and
the seconds from the last failing call to the next row in the record. In the end, over all cases: is
the record sound, is a poll's row missing, is an event or alert there twice or without the rows that
bear it out?

`--told` lets the disk stay full for 75 s and looks whether the owner is told meanwhile.
Needs strace and the right to trace (root).
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config
from tests.bench.kill_series import Outcome, _count_doubled, _judge_anew

from strandkeeper.errors import StoreError
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.store import open_reader
from strandkeeper.store.checking import check_whole

SWITCHES = 4
BATCH_S = 1.0
RECOVERED_S = 30.0  # a case has failed if no row has come so long after it
GAP_S = 3.5  # rows of one end further apart than this, while it was asked, are lost polls
FULL_ONCE = "pwrite64:error=ENOSPC:when=1"  # the reserve is given back, and soon taken again


@dataclass(frozen=True)
class Case:
    """`calls` fail with `error`; `when` as strace has it: `1+` always, `1+2` every second one.

    Some calls are made only after something else: `after` is what fails before them, as strace's
    inject has it, and with `entry` somebody writes an entry, upon which the store reads pages anew.
    """

    calls: str
    error: str
    when: str = "1+"
    where: str = "store"  # or "udp", or "" for the whole process
    trouble: bool = True  # whether the record cannot be written meanwhile
    after: str = ""
    entry: bool = False


CASES = (
    # the store is opened anew, at most every 30 s: therefore before the others
    Case("openat,open", "EMFILE", after="pwrite64:error=EIO"),
    Case("pwrite64", "ENOSPC"),
    Case("pwrite64", "EIO"),
    Case("pwrite64", "EINTR", "1+2", trouble=False),
    Case("pwrite64", "ENOSPC", "1+3", trouble=False),
    Case("fsync,fdatasync", "EIO"),
    Case("fsync,fdatasync", "EIO", "1+2", trouble=False),
    Case("fsync,fdatasync", "EINTR", "1+2", trouble=False),
    Case("pread64", "EIO", trouble=False, entry=True),
    Case("fcntl", "ENOLCK", trouble=False),  # the database tries again for 10 s before it says so
    Case("fcntl", "EINTR", "1+2", trouble=False),
    Case("%stat,fstat,newfstatat,statx", "EIO"),
    Case("%stat,fstat,newfstatat,statx", "EACCES"),
    Case("openat,open", "EMFILE", trouble=False, after=FULL_ONCE),  # the reserve is taken again
    Case("unlink", "EIO", after="pwrite64:error=ENOSPC"),  # the reserve is given back
    Case("fallocate", "EIO", trouble=False, after=FULL_ONCE),
    Case("sendto,sendmsg", "ECONNREFUSED", where="udp", trouble=False),
    Case("sendto,sendmsg", "ENETUNREACH", where="udp", trouble=False),
    Case("sendto,sendmsg", "ENOBUFS", "1+2", where="udp", trouble=False),
    Case("sendto,sendmsg", "EPERM", where="udp", trouble=False),
    Case("sendto,sendmsg", "EINTR", "1+2", where="udp", trouble=False),
    Case("recvfrom,recvmsg", "ECONNREFUSED", "1+2", where="udp", trouble=False),
    Case("recvfrom,recvmsg", "EIO", "1+2", where="udp", trouble=False),
    Case("recvfrom,recvmsg", "ENOMEM", where="udp", trouble=False),
    Case("recvfrom,recvmsg", "EINTR", "1+2", where="udp", trouble=False),
    Case("socket", "EMFILE", where="", trouble=False),
    Case("epoll_wait", "EINTR", "1+2", where="", trouble=False),
)


@dataclass
class Seen:
    """What one case showed."""

    case: Case
    failed: int
    begun_s: float
    ended_s: float
    said: bool
    recovered_s: float
    gap_s: float = 0.0

    @property
    def good(self) -> bool:
        """Whether calls failed, the daemon went on, and said what it had to say."""
        said = self.said or not self.case.trouble
        return self.failed > 0 and said and self.recovered_s < RECOVERED_S

    @property
    def word(self) -> str:
        """What is the matter, empty if nothing is."""
        return "" if self.good else "BAD" if self.failed else "NO CALL WAS MADE"


@dataclass
class Result:
    """All cases, and the record after them."""

    seen: list[Seen] = field(default_factory=list)
    lost: int = 0
    broken: str = ""
    told: bool | None = None
    record: Outcome = field(default_factory=Outcome)

    @property
    def good(self) -> bool:
        """Whether everything held."""
        return (
            all(one.good for one in self.seen)
            and not (self.lost or self.broken or self.told is False)
            and self.record.good
        )


def why_not() -> str:
    """Why this cannot be run here; empty if it can."""
    if shutil.which("strace") is None:
        return "NOT RUN: strace is missing (Debian package: strace)"
    probe = ["strace", "-qq", "-o", "/dev/null", "-e", "inject=pwrite64:error=EIO", "/bin/true"]
    done = subprocess.run(probe, check=False, capture_output=True, text=True)
    return f"NOT RUN: strace may not trace here: {done.stderr.strip()}" if done.returncode else ""


def measure(cases: Sequence[Case], seconds: float, port: int, *, told: bool = False) -> Result:
    """Let one daemon live through all the cases."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        config = _write(folder, port)
        crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(SWITCHES)]
        crowd += ["--port", str(port), "--flap-s", "10", "--log", str(folder / "asked")]
        crowd += ["--seconds", str(len(cases) * (seconds + RECOVERED_S) + 300)]
        with subprocess.Popen(crowd, stdout=subprocess.PIPE) as agents:
            assert agents.stdout is not None
            if agents.stdout.readline() != b"ready\n":
                raise RuntimeError(f"the switches cannot listen at port {port}: take another")
            try:
                result = _live_through(config, cases, seconds, told=told)
            finally:
                agents.terminate()
        _judge(config, result)
        return result


def _write(folder: Path, port: int) -> Path:
    ways = Ways(SWITCHES, flap_s=10)
    text = config_text(ways, port, status_s=1, optics_s=1, batch_s=BATCH_S)
    heard = f"cat >> {folder / 'heard'}"
    text += f'[[target]]\nname = "keeper"\ncommand = ["/bin/sh", "-c", "{heard}"]\nquiet = false\n'
    return write_config(folder, text)


def _live_through(config: Path, cases: Sequence[Case], seconds: float, *, told: bool) -> Result:
    record, result = config.with_name("record.db"), Result()
    said = config.with_name("said")
    command = [sys.executable, "-m", "strandkeeper", "run", str(config), "--no-dashboard"]
    # a service manager that is told every second: each time through a socket of its own
    manager = config.with_name("manager")
    told_s = {"NOTIFY_SOCKET": str(manager), "WATCHDOG_USEC": "2000000"}
    with (
        socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening,
        said.open("wb") as out,
        subprocess.Popen(command, stderr=out, env=os.environ | told_s) as daemon,
    ):
        listening.bind(str(manager))
        try:
            _next_row(record, daemon, 60.0)
            for case in cases:
                result.seen.append(_one(case, seconds, daemon, record, said))
            if told:
                result.told = _tells(daemon, record, config.with_name("heard"))
        finally:
            daemon.terminate()
            daemon.wait(60)
    if daemon.returncode:
        result.broken = f"the daemon ended with {daemon.returncode}: {said.read_text()[-2000:]}"
    return result


def _one(
    case: Case, seconds: float, daemon: subprocess.Popen[bytes], record: Path, said: Path
) -> Seen:
    talk = said.stat().st_size
    begun_s = time.monotonic()
    with _failing(case, daemon.pid, record) as log:
        if case.entry:
            _enter(record)
        time.sleep(seconds)
    ended_s = time.monotonic()
    recovered_s = _next_row(record, daemon, RECOVERED_S)
    words = said.read_bytes()[talk:]
    return Seen(
        case=case,
        failed=_failed(case, log),
        begun_s=begun_s,
        ended_s=ended_s,
        said=b"not written" in words,
        recovered_s=recovered_s,
    )


@contextlib.contextmanager
def _failing(case: Case, pid: int, record: Path) -> Iterator[Path]:
    """Trace the daemon; the calls fail until the end of the block."""
    log = record.with_name("traced")
    command = ["strace", "-f", "-qq", "-p", str(pid), "-o", str(log)]
    before = case.after.partition(":")[0]
    calls = ",".join(filter(None, (case.calls, before)))
    command += ["-e", f"trace={calls}", "-e", "signal=none"]
    command += ["-e", f"inject={case.calls}:error={case.error}:when={case.when}"]
    if case.after:
        command += ["-e", f"inject={case.after}"]
    if case.where:
        for path in _paths(case, pid, record):
            command += ["-P", path]
    with subprocess.Popen(command, stderr=subprocess.DEVNULL) as tracer:
        try:
            yield log
        finally:
            tracer.send_signal(signal.SIGINT)
            tracer.wait(30)


def _enter(record: Path) -> None:
    """Write an entry as somebody's command would: the daemon's pages are then no longer true."""
    time.sleep(1)  # until the daemon is traced
    with contextlib.closing(open_reader(record)) as reader:
        reader.append_entry(Entry(kind=EntryKind.NOTE, who="bench", payload={"text": "x"}))


def _failed(case: Case, log: Path) -> int:
    """How many calls of the case failed, without those that were to fail before them."""
    lines = log.read_text(errors="replace").splitlines()
    failed = [line for line in lines if line.endswith("(INJECTED)")]
    before = case.after.partition(":")[0]
    return len([line for line in failed if not before or f" {before}(" not in line])


def _paths(case: Case, pid: int, record: Path) -> list[str]:
    """What a call must name to fail: the record's files, or the sockets that speak to switches."""
    if case.where == "store":
        return [f"{record}{tail}" for tail in ("", "-wal", "-shm", ".reserve")]
    table = Path("/proc/net/udp").read_text().splitlines()[1:]
    inodes = {line.split()[9] for line in table}
    links = [handle.readlink() for handle in Path(f"/proc/{pid}/fd").iterdir()]
    names = [str(link) for link in links if str(link).startswith("socket:[")]
    return [name for name in names if name[8:-1] in inodes]


def _newest_ms(record: Path) -> int:
    with contextlib.suppress(sqlite3.OperationalError):
        with contextlib.closing(sqlite3.connect(f"file:{record}?mode=ro", uri=True)) as database:
            newest = database.execute("SELECT max(id) >> 16 FROM reading").fetchone()[0]
            return 0 if newest is None else int(newest)
    return 0


def _next_row(record: Path, daemon: subprocess.Popen[bytes], patience_s: float) -> float:
    """Seconds until a row comes that is younger than this call."""
    begin, wall_ms = time.monotonic(), time.time_ns() // 1_000_000
    while time.monotonic() - begin < patience_s and daemon.poll() is None:
        if _newest_ms(record) > wall_ms:
            return time.monotonic() - begin
        time.sleep(0.2)
    return patience_s


def _tells(daemon: subprocess.Popen[bytes], record: Path, heard: Path) -> bool:
    """Whether the owner is told of a full disk while it is full."""
    with _failing(Case("pwrite64", "ENOSPC"), daemon.pid, record):
        for _ in range(100):
            time.sleep(1)
            if heard.exists() and "record-trouble" in heard.read_text():
                return True
    return False


def _judge(config: Path, result: Result) -> None:
    record = config.with_name("record.db")
    try:
        check_whole(record)
        _count_doubled(record, result.record)
        _judge_anew(config, record, result.record)
    except (sqlite3.Error, StoreError) as error:
        result.broken = result.broken or str(error)
        return
    asked = read_log(config.with_name("asked"))
    every = sorted(t for times in asked.values() for t in times)
    for one in result.seen:
        inside = [t for t in every if one.begun_s <= t <= one.ended_s]
        edges = [one.begun_s, *inside, one.ended_s]
        one.gap_s = max(b - a for a, b in itertools.pairwise(edges))
    result.lost = sum(_lost(record, one, asked) for one in result.seen if one.case.where == "store")


def _lost(record: Path, one: Seen, asked: dict[int, list[float]]) -> int:
    """Holes in the rows of an end while its switch was asked and the calls failed, and after."""
    wall_s = time.time() - time.monotonic()
    begin_ms = round((one.begun_s + wall_s - 2) * 1000)
    end_ms = round((one.ended_s + one.recovered_s + wall_s) * 1000)
    lost = 0
    with contextlib.closing(sqlite3.connect(record)) as database:
        links = dict(database.execute("SELECT id, name FROM link").fetchall())
        rows: dict[int, list[float]] = {}
        for (key,) in database.execute(
            "SELECT id FROM reading WHERE id BETWEEN ? AND ? ORDER BY id",
            (begin_ms * 65536, end_ms * 65536),
        ):
            rows.setdefault(key & 65535, []).append((key >> 16) / 1000 - wall_s)
    for end, times in rows.items():
        first = int(links[end // 2].split("-")[0][1:])  # link l4-1 joins switches 4 and 5
        asks = asked.get(first + end % 2, [])
        for a, b in itertools.pairwise(times):
            lost += b - a > GAP_S and sum(a + 1 < t < b - 1 for t in asks) >= 3
    return lost


def main() -> int:
    """Print a line a case; 1 if anything did not hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=4.0)
    parser.add_argument("--port", type=int, default=16840)
    parser.add_argument("--told", action="store_true")
    given = parser.parse_args()
    missing = why_not()
    if missing:
        print(missing)
        return 1
    result = measure(CASES, given.seconds, given.port, told=given.told)
    head = f"{'calls':<32} {'error':<13} {'which':<6} {'failed':>6} {'gap s':>6}"
    print(f"{head} {'said':>5} {'back s':>7}")
    for one in result.seen:
        case = one.case
        print(
            f"{case.calls:<32} {case.error:<13} {case.when:<6} {one.failed:6} {one.gap_s:6.1f} "
            f"{'yes' if one.said else 'no':>5} {one.recovered_s:7.1f} {one.word}"
        )
    kept = result.record
    print(
        f"{kept.rows} rows, {kept.events} events, {kept.transitions} alert transitions; "
        f"lost {result.lost}, doubled {len(kept.doubled)}, events against rows {len(kept.untrue)}"
    )
    if result.told is not None:
        print(f"the owner was told of a full disk while it was full: {result.told}")
    print(result.broken, end="\n" if result.broken else "")
    for line in (*kept.doubled[:10], *kept.untrue[:10]):
        print(f"  {line}")
    return 0 if result.good else 1


if __name__ == "__main__":
    sys.exit(main())
