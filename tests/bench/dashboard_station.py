"""A long record with a daemon that goes on writing it and the pages that show it: real processes.

`built` makes the record through the import and its judgement: both ends of each link every 30 s for
as long as raw readings are kept (30 days), every five minutes before that, so that there are as
many summaries as with a reading every 30 s all along (beyond two hours only these are read).
`running` starts the simulated switches of tests/bench/crowd.py and `strandkeeper run`.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import http.client
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.bench import crowd_run
from tests.bench.crowd import Ways, config_text, write_config

from strandkeeper.config.load import load
from strandkeeper.jobs.history import import_rows
from strandkeeper.model.names import End
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.store import open_reader, open_writer

DAY_MS = 86_400_000
RAW_MS = 30 * DAY_MS
LONGEST_START_S = 900.0
_TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Station:
    """What runs: where the pages are, and the daemon's process."""

    host: str
    port: int
    daemon: int
    links: tuple[str, ...]

    @property
    def address(self) -> str:
        """Of the first screen."""
        return f"http://{self.host}:{self.port}"

    def cpu_s(self) -> float:
        """Processor time that the daemon has taken."""
        fields = Path(f"/proc/{self.daemon}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / _TICKS

    def connect(self) -> http.client.HTTPConnection:
        """A connection of one reader."""
        return http.client.HTTPConnection(self.host, self.port, timeout=30)


def _row(time_ms: int, end: End, number: int) -> EndRow:
    """Quiet light as the simulated switches send it, some noise, a season, a damaged frame now."""
    noise = (number * 7919 + int(end) * 31) % 101 / 1000
    season = 0.2 * math.sin(time_ms / (365 * DAY_MS) * 2 * math.pi)
    return EndRow(
        time_ms=time_ms,
        end=end,
        optics=OpticalReading(
            rx=Measured(Dbm(-10 - noise + season)),
            tx=Measured(Dbm(-5.23)),
            bias_ma=7.22 + noise,
            temp_c=35.2 + 20 * season + noise,
            vcc_v=3.31,
        ),
        oper=OperStatus.UP,
        uptime_cs=time_ms // 10 % (1 << 32),
        deltas=Deltas(
            in_octets=1_250_000, out_octets=980_000, in_frames=2_100, fcs_errors=number % 9973 == 0
        ),
    )


def _rows(begin_ms: int, end_ms: int) -> Iterator[EndRow]:
    fine_ms = max(begin_ms, end_ms - RAW_MS)
    times = [*range(begin_ms, fine_ms, 300_000), *range(fine_ms, end_ms, 30_000)]
    for number, time_ms in enumerate(times):
        for end in End:
            yield _row(time_ms, end, number)


def built(folder: Path, *, links: int, days: int, port: int) -> Path:
    """The configuration of a station whose record ends now, or the one that is there already."""
    if (folder / "record.db").exists():
        return folder / "station.toml"
    text = config_text(Ways(links), port, status_s=10, optics_s=30, batch_s=20)
    config = write_config(folder, text)
    settings = load(config)
    now_ms = time.time_ns() // 1_000_000 // 30_000 * 30_000
    gc.disable()
    for done, link in enumerate(settings.links, start=1):
        path = Path(settings.store.path)
        with (
            contextlib.closing(open_writer(path, reserve=False)) as writer,
            contextlib.closing(open_reader(path)) as reader,
        ):
            rows = _rows(now_ms - days * DAY_MS, now_ms)
            import_rows(settings, link, rows, (writer, reader))
        print(f"\rrecord: {done} of {links} links", end="", file=sys.stderr, flush=True)
    gc.enable()
    print(file=sys.stderr)
    return config


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """How large the station is, and whether its record is kept for the next run."""
    parser.add_argument("--days", type=int, default=365, help="length of the record [days]")
    parser.add_argument("--links", type=int, default=10, help="links in the record")
    parser.add_argument("--port", type=int, default=16700, help="UDP port of the switches")
    parser.add_argument("--keep", type=Path, help="directory for the record, used again if there")


@contextlib.contextmanager
def station(given: argparse.Namespace) -> Iterator[Station]:
    """The station that the arguments describe, as it runs."""
    with tempfile.TemporaryDirectory() as passing:
        folder = given.keep or Path(passing)
        folder.mkdir(parents=True, exist_ok=True)
        config = built(folder, links=given.links, days=given.days, port=given.port)
        size = config.with_name("record.db").stat().st_size / 1e6
        print(f"{given.links} links, {given.days} days, {size:.0f} MB")
        with running(config, links=given.links, port=given.port) as found:
            yield found


@contextlib.contextmanager
def running(config: Path, *, links: int, port: int) -> Iterator[Station]:
    """The switches, the daemon and the pages; ended by SIGTERM."""
    crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(links)]
    crowd += ["--port", str(port), "--seconds", "7200"]
    with contextlib.ExitStack() as all_of_them:
        agents = all_of_them.enter_context(crowd_run.running(crowd, None, stdout=subprocess.PIPE))
        assert agents.stdout is not None
        agents.stdout.readline()
        said = config.with_name("said")
        daemon = all_of_them.enter_context(
            crowd_run.running(
                [sys.executable, "-m", "strandkeeper", "run", str(config)],
                None,
                stderr=said.open("w"),
            )
        )
        yield _ready(said, daemon.pid)


def _ready(said: Path, daemon: int) -> Station:
    """As soon as every link is judged on what was polled now."""
    ends = time.monotonic() + LONGEST_START_S
    while time.monotonic() < ends:
        found = re.search(r"dashboard: http://([\d.]+):(\d+)/", said.read_text())
        if found:
            host, port = found[1], int(found[2])
            with contextlib.suppress(OSError, ValueError, KeyError):
                live, told = (_ask(host, port, name) for name in ("live", "links"))
                if not live["stale"] and all(link["verdict"]["up"] for link in told["links"]):
                    ids = tuple(link["id"] for link in told["links"])
                    return Station(host, port, daemon, ids)
        time.sleep(1)
    raise SystemExit(f"the station was not ready in {LONGEST_START_S:.0f} s: {said.read_text()}")


def _ask(host: str, port: int, name: str) -> dict:  # type: ignore[type-arg]
    connection = http.client.HTTPConnection(host, port, timeout=10)
    try:
        connection.request("GET", f"/api/{name}")
        return dict(json.load(connection.getresponse()))
    finally:
        connection.close()
