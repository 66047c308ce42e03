"""One run of a real daemon over a crowd of switches, told by the switches (tests/bench/crowd.py).

The poll of a switch should come every status interval; how much later than the switch's own best
rhythm it came is its lateness. An interval in which none came is a lost poll. Only switches that
are healthy are counted, each from the end of its first walk. Daemon and switches are put on
different cores.

With --hours-before the record begins with so many hours of the same readings, judged: the judgement
keeps the last hours in memory, so a daemon grows for six hours and is level only from there.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import math
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.crowd import Ways, config_text, read_log, write_config

from strandkeeper.analysis import engine
from strandkeeper.config.load import load
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.block import Block
from strandkeeper.model.names import End
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Milliwatt
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.keys import END_SLOTS

TICKS = os.sysconf("SC_CLK_TCK")
SETTLE_S = 15.0
AFTER_WALK_S = 5.0  # the questions that end a walk are no poll of the rhythm
LONGEST_START_S = 600.0
HEAD = (
    f"{'':30} {'polls':>8} {'p50 ms':>8} {'p99 ms':>8} {'max ms':>8} {'lost':>6} {'CPU %':>7}"
    f" {'ms/poll':>8} {'MB first':>8} {'MB last':>8}"
)


@dataclass
class Phase:
    """What a span of a run showed. `lateness` in s, of healthy switches; `cpu` a share of a core.

    `polls` are all that were made in it; `lost` the intervals of healthy switches without one.
    """

    name: str
    lateness: list[float]
    lost: int
    polls: int = 0
    cpu: float = 0.0
    cpu_ms_a_poll: float = 0.0
    rss_mb: list[float] = field(default_factory=lambda: [0.0])

    @property
    def p99(self) -> float:
        """In s."""
        return at(self.lateness, 0.99)

    @property
    def longest(self) -> float:
        """In s."""
        return max(self.lateness, default=0.0)

    def row(self) -> str:
        """One line of the table."""
        return (
            f"{self.name:30} {self.polls:8} {at(self.lateness, 0.5) * 1e3:8.0f}"
            f" {self.p99 * 1e3:8.0f} {self.longest * 1e3:8.0f} {self.lost:6} {100 * self.cpu:7.1f}"
            f" {self.cpu_ms_a_poll:8.2f} {self.rss_mb[0]:8.1f} {self.rss_mb[-1]:8.1f}"
        )


@dataclass
class Run:
    """`read_s`: from the start until every healthy end had light in the record."""

    start: Phase
    steady: Phase
    read_s: float
    cut: Phase | None = None  # the others while half of them come back at once
    back_s: float = 0.0  # from the return of the power until the last of that half was walked


def at(values: list[float], share: float) -> float:
    """The value that this share of them does not pass."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else 0.0


def cpu_s(pid: int) -> float:
    """Processor time of a process so far."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def rss_mb(pid: int) -> float:
    """Memory of a process that is in use now."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGESIZE") / 2**20


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


def arguments(description: str, *, switches: int, minutes: float) -> argparse.ArgumentParser:
    """What all the benchmarks of a crowd may be told."""
    parser = argparse.ArgumentParser(
        description=description, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--switches", type=int, default=switches)
    parser.add_argument("--minutes", type=float, default=minutes)
    parser.add_argument("--slow-s", type=float, default=1.0)
    parser.add_argument("--status", type=int, default=10)
    parser.add_argument("--optics", type=int, default=30)
    parser.add_argument("--port", type=int, default=16500)
    parser.add_argument("--hours-before", type=float, default=0.0)
    parser.add_argument("--keep", help="keep the switches' log of the last run here")
    parser.add_argument("--profile", help="write a profile of the daemon here (costs speed)")
    parser.add_argument("--verbose", action="store_true", help="show what the daemon said")
    return parser


@dataclass
class _Times:
    """Monotonic s of a run's turning points."""

    started: float
    read: float
    began: float = 0.0
    ended: float = 0.0
    cut: float = 0.0
    over: float = 0.0


def one_run(
    given: argparse.Namespace, *, dead: float = 0.0, slow: float = 0.0, cut_s: float = 0.0
) -> Run:
    """Start both, let them settle, measure; with `cut_s` cut the power of half of them so long."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        ways = Ways(given.switches, dead, slow, given.slow_s, cut_s=cut_s)
        text = config_text(
            ways, given.port, status_s=given.status, optics_s=given.optics, batch_s=20
        )
        config = write_config(folder, text)
        if given.hours_before:
            _fill(config, given.hours_before, given.optics)
        crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(given.switches)]
        crowd += ["--port", str(given.port), "--seconds", str(given.minutes * 60 + 900)]
        crowd += ["--dead", str(dead), "--slow", str(slow), "--slow-s", str(given.slow_s)]
        crowd += ["--cut-s", str(cut_s), "--log", str(folder / "log")]
        profile = ["-m", "cProfile", "-o", given.profile] if given.profile else []
        daemon = [sys.executable, *profile, "-m", "strandkeeper", "run", str(config)]
        said = (folder / "said").open("w")
        with said, running(crowd, 1, stdout=subprocess.PIPE) as agents:
            assert agents.stdout is not None
            agents.stdout.readline()
            with running([*daemon, "--no-dashboard"], 0, stderr=said) as asker:
                times = _Times(time.monotonic(), 0.0)
                _until_all_are_read(folder / "record.db", ways, int(time.time() * 1000))
                times.read = time.monotonic()
                time.sleep(SETTLE_S)
                times.began, spent, rss = time.monotonic(), cpu_s(asker.pid), []
                while time.monotonic() - times.began < given.minutes * 60:
                    rss.append(rss_mb(asker.pid))
                    time.sleep(min(5.0, given.minutes * 60))
                times.ended, spent = time.monotonic(), cpu_s(asker.pid) - spent
                if cut_s:
                    agents.send_signal(signal.SIGUSR1)
                    times.cut = time.monotonic()
                    time.sleep(cut_s + 75)
                times.over = time.monotonic()
                time.sleep(given.status + 1)  # the polls that follow close the last gaps
        text = (folder / "said").read_text()
        if given.verbose:
            print("".join(text.splitlines(keepends=True)[:12]), file=sys.stderr)
        if given.keep:
            shutil.copy(folder / "log", given.keep)
        run = _judge(folder / "log", ways, times, given.status)
        steady, span = run.steady, times.ended - times.began
        steady.cpu, steady.rss_mb = spent / span, rss
        steady.cpu_ms_a_poll = 1e3 * spent / max(1, steady.polls)
        return run


def _fill(config: Path, hours: float, optics_s: int) -> None:
    """Rows as the crowd would have made them, up to now, and what was judged of them.

    Every link has the same readings, so one judgement serves for all.
    """
    now_ms, settings = int(time.time() * 1000), load(config)
    links = [link.name for link in settings.links]
    times = range(now_ms - int(hours * 3_600_000), now_ms, optics_s * 1000)
    facts = link_facts(settings.links[0], settings)
    judged = Block.from_rows([_row(at, end) for at in times for end in End])
    memory = engine.encode(engine.advance(facts, engine.initial(facts), judged)[0])
    with contextlib.closing(open_writer(settings.store.path, reserve=False)) as writer:
        for at in times:
            rows = [(link, _row(at, end)) for link in links for end in End]
            states = dict.fromkeys(links, memory) if at == times[-1] else {}
            writer.append(Batch(rows=rows, states=states))


def _row(at_ms: int, end: End) -> EndRow:
    """A reading of a small switch (SmallSwitch.insert), wavering as Tables._value lets it."""
    waver = math.sin(at_ms / 7000) + math.sin(at_ms / 610)
    optics = OpticalReading(
        rx=Measured(Milliwatt(0.1 + 0.001 * waver).to_dbm()),
        tx=Measured(Milliwatt(0.2999).to_dbm()),
        bias_ma=36.1, temp_c=35.2, vcc_v=3.31,
    )  # fmt: skip
    deltas = Deltas(in_octets=10**7, out_octets=10**7, in_frames=10**4, fcs_errors=0)
    return EndRow(time_ms=at_ms, end=end, optics=optics, oper=OperStatus.UP, deltas=deltas)


def _until_all_are_read(record: Path, ways: Ways, since_ms: int) -> None:
    wanted = 2 * (ways.switches - len(ways.dead_ones))
    end = time.monotonic() + LONGEST_START_S
    while time.monotonic() < end:
        with contextlib.suppress(sqlite3.Error), contextlib.closing(_reading(record)) as database:
            question = "SELECT count(DISTINCT id & 65535) FROM reading WHERE rx_kind IS NOT NULL"
            question += f" AND id >= {since_ms * END_SLOTS}"
            if database.execute(question).fetchone()[0] >= wanted:
                return
        time.sleep(2)
    print(f"not every end was read within {LONGEST_START_S:.0f} s", file=sys.stderr)


def _reading(record: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{record}?mode=rw", uri=True, timeout=5)


def _judge(log: Path, ways: Ways, times: _Times, status_s: float) -> Run:
    asked, walks = read_log(log), read_log(log, walks=True)
    half = ways.switches // 2 if times.cut else 0
    spans = {
        "start": (times.started, times.read),
        "steady": (times.began, times.ended),
        "cut": (times.cut, times.over),
    }
    found = {name: Phase(name, [], 0) for name in spans}
    for number in range(ways.switches):
        starts = poll_starts(asked.get(number, []))
        for name, (begin, end) in spans.items():
            found[name].polls += sum(begin <= t < end for t in starts)
        if number in ways.dead_ones or number in ways.slow_ones:
            continue
        ready_s = _end_of_walk(walks.get(number, [])) + AFTER_WALK_S
        late = _against_rhythm([t for t in starts if t > ready_s], spans["steady"], status_s)
        for name, (begin, end) in spans.items():
            if name == "cut" and number < half:
                continue
            inside = [(t, s) for t, s in late if max(begin, ready_s) <= t < end]
            found[name].lateness += [s for _, s in inside]
            found[name].lost += _missing([t for t, _ in late], max(begin, ready_s), end, status_s)
    run = Run(found["start"], found["steady"], times.read - times.started)
    if times.cut:
        again = [t for n in range(half) for t in walks.get(n, []) if t > times.cut]
        run.cut, run.back_s = found["cut"], max(again, default=0.0) - times.cut - ways.cut_s
    return run


def poll_starts(times: list[float], apart_s: float = 3.0) -> list[float]:
    """The first request of each poll: what follows within `apart_s` belongs to it."""
    starts: list[float] = []
    last = -1e9
    for when in times:
        if when - last > apart_s:
            starts.append(when)
        last = when
    return starts


def _end_of_walk(walks: list[float]) -> float:
    """When the first walk was over: its requests follow one another."""
    last = walks[0] if walks else 0.0
    for when in walks:
        if when - last > 30.0:
            break
        last = when
    return last


def _against_rhythm(
    starts: list[float], steady: tuple[float, float], status_s: float
) -> list[tuple[float, float]]:
    """When each poll came, and how late against the earliest of the rhythm in the steady span."""
    measured = [t for t in starts if steady[0] <= t < steady[1]]
    if not measured:
        return [(t, status_s) for t in starts]
    half = status_s / 2
    residues = [(t - measured[0] + half) % status_s - half for t in measured]
    earliest = measured[0] + min(residues)
    early = status_s / 5  # on a busy computer even the earliest of the steady span may be late
    return [(t, max(0.0, (t - earliest + early) % status_s - early)) for t in starts]


def _missing(starts: list[float], begin: float, end: float, status_s: float) -> int:
    """Whole intervals in which no poll began.

    Counted from the last poll before the span to the first one after it: an edge of the span stands
    between two polls of a rhythm, and which of both is a little late is not for the edge to say.
    """
    before = [t for t in starts if t < begin][-1:]
    inside = [t for t in starts if begin <= t < end]
    after = [t for t in starts if t >= end][:1]
    polls = [*before, *inside, *after]
    lost = sum(max(0, int((b - a) / status_s + 0.5) - 1) for a, b in itertools.pairwise(polls))
    if not before:
        lost += max(0, int(((inside or [end])[0] - begin) / status_s))
    if not after and polls:
        lost += max(0, int((end - polls[-1]) / status_s))
    return lost
