"""A chart's data beside a figure object of it, pages at a year of data, and polls under a storm.

    python -m tests.bench.page_targets [--days 365] [--switches 100] [--seconds 30]

1. The chart of a month as the pages send it, and the same lines as a figure of the plot library
   built and written as text, the compressed bytes of both.
2. Every page on a record of --days days (tests/bench/dashboard_pages.py), CPU time.
3. A daemon with its pages over --switches switches: how late polls come in quiet, and while six
   readers ask pages and /metrics as fast as they are answered, both, and each alone; quiet is the
   better of a span before and one after. The daemon has one core; its pages, the switches and the
   readers share the other. The readers give way to both: real ones have computers of their own,
   and it is the switches that tell when they were asked.
"""

from __future__ import annotations

import argparse
import contextlib
import gzip
import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import plotly.graph_objects as go
from tests.bench import dashboard_pages as pages
from tests.bench.crowd import Ways, config_text, read_log, write_config
from tests.bench.crowd_run import at, poll_starts, running
from tests.bench.target import Target, report_all

from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.store import open_reader, open_writer
from strandkeeper_dashboard import create_app, plot, trends
from strandkeeper_dashboard.chart import Chart
from strandkeeper_dashboard.record import Door
from strandkeeper_dashboard.window import Window

PORT, STATUS_S, WARM_S = 16660, 5, 25.0
LEVEL = 6  # of the compression, for both
READERS, READERS_NICER = 6, 5
PAGES, METRICS = ["/", "/links/l0-1", "/api/links/l0-1/trend", "/about"], ["/metrics"]


def cpu_ms(work: Callable[[], object], rounds: int = 30) -> float:
    """Median CPU time of a piece of work."""
    spent = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        spent.append((time.process_time() - begun) * 1e3)
    return statistics.median(spent)


def as_figure(chart: Chart) -> str:
    """The lines of a chart as a figure object, with times as text, as one plots first."""
    times = [
        datetime.fromtimestamp(chart.t0_ms / 1e3 + second, UTC).isoformat() for second in chart.t_s
    ]
    per = {panel.id: panel.per_unit for panel in chart.panels}
    figure = go.Figure()
    for line in chart.lines:
        for values in (line.values, line.low, line.high):
            if values:
                scaled = [None if v is None else v / per[line.panel] for v in values]
                figure.add_trace(go.Scatter(x=times, y=scaled, name=line.label))
    return str(figure.to_json())


def as_arrays(chart: Chart) -> str:
    """The same as the pages send it."""
    return json.dumps(plot.to_json(chart, utc_offset_s=0), separators=(",", ":"))


def record_of(folder: Path, days: int, links: int) -> tuple[Settings, Path]:
    """A record of `days` days, and its station."""
    path = folder / "record.db"
    known = [
        Link(name=LinkName(f"Link {n}"), a=PortEnd(name="Lab"), b=PortEnd(name=f"Hut {n}"))
        for n in range(links)
    ]
    writer = open_writer(path, reserve=False)
    pages._write(writer, known, days)
    writer.close()
    store = StoreSettings(path=str(path))
    return Settings(station="bench", switches=(), links=tuple(known), store=store), path


def charts(settings: Settings, path: Path) -> list[Target]:
    """CPU and compressed bytes of a month's chart."""
    reader = open_reader(path)
    begin_ms = pages.NOW_MS - 30 * pages.DAY_MS
    window = Window(from_ms=begin_ms, to_ms=pages.NOW_MS, range_id="1month")
    chart = trends.trend(settings, settings.links[0], reader, window)
    reader.close()
    as_figure(chart)  # what is imported and made once is no part of a chart
    weights = [len(gzip.compress(way(chart).encode(), LEVEL)) for way in (as_arrays, as_figure)]
    beside = f"figure object, {len(chart.lines)} lines of {len(chart.t_s)} points"
    return [
        Target(subject="pages", name="a chart's data, from its arrays to text", unit="ms CPU",
               ours=cpu_ms(lambda: as_arrays(chart)), baseline=cpu_ms(lambda: as_figure(chart), 9),
               limit=1 / 30, of="ratio", beside=beside),
        Target(subject="pages", name="its compressed bytes", unit="kB", ours=weights[0] / 1e3,
               baseline=weights[1] / 1e3, limit=0.4, of="ratio", beside=beside),
    ]  # fmt: skip


def slowest_page(settings: Settings, path: Path, days: int) -> Target:
    """The page that costs most at the 95th of a hundred."""
    client = create_app(settings, Door(path), clock=lambda: pages.NOW_MS).test_client()
    asked = ["/", "/about", "/api/live"]
    asked += [f"/links/link-1?range={name}" for name in pages.RANGES]
    asked += [f"/api/links/link-1/trend?range={name}" for name in pages.RANGES]
    client.get("/links/link-1")
    cost = {page: pages._cpu_ms(client, page, 20)[1] for page in asked}
    worst = max(cost, key=cost.__getitem__)
    return Target(subject="pages", name=f"slowest of {len(asked)} pages, {days} days: {worst}"[:60],
                  unit="ms CPU", ours=cost[worst], baseline=cost["/about"], limit=100.0, of="ours",
                  beside="/about, 95 % of both")  # fmt: skip


def storm(given: argparse.Namespace) -> list[tuple[str, float, int]]:
    """What is asked, the 99th of a hundred of the polls' lateness meanwhile [ms], how much."""
    with tempfile.TemporaryDirectory() as place, contextlib.ExitStack() as ends:
        folder = Path(place)
        crowd = [sys.executable, "-m", "tests.bench.crowd", "--switches", str(given.switches)]
        crowd += ["--port", str(PORT), "--seconds", "900", "--log", str(folder / "log")]
        agents = ends.enter_context(running(crowd, 1, stdout=subprocess.PIPE))
        assert agents.stdout is not None
        agents.stdout.readline()
        text = config_text(Ways(given.switches), PORT, status_s=STATUS_S, optics_s=15, batch_s=20)
        text = text.replace("[metrics]\nport = 0", f"[metrics]\nport = {PORT + 1}")
        config = write_config(folder, text)
        said = folder / "said"
        daemon = [sys.executable, "-m", "strandkeeper", "run", str(config)]
        asker = ends.enter_context(running(daemon, 0, stderr=ends.enter_context(said.open("w"))))
        pages_there, metrics_there = _dashboard(said), ("127.0.0.1", PORT + 1)
        _to_the_other_core(asker.pid)
        time.sleep(WARM_S)
        found = []
        for name, where in (
            ("nothing", []),
            ("pages and metrics", [(pages_there, PAGES), (metrics_there, METRICS)]),
            ("pages", [(pages_there, PAGES)]),
            ("metrics", [(metrics_there, METRICS)]),
            ("nothing", []),
        ):
            begin = time.monotonic()
            count = _hammer(where, begin + given.seconds)
            time.sleep(max(0.0, begin + given.seconds - time.monotonic()))
            found.append((name, (begin, time.monotonic()), count))
            time.sleep(STATUS_S)
        ends.close()
        return [(name, _p99_ms(folder / "log", span), count) for name, span, count in found]


def _dashboard(said: Path) -> tuple[str, int]:
    for _ in range(600):
        found = re.search(r"dashboard: http://([\d.]+):(\d+)/", said.read_text())
        if found:
            return found[1], int(found[2])
        time.sleep(0.1)
    raise SystemExit(f"no pages after a minute: {said.read_text()}")


def _to_the_other_core(daemon: int) -> None:
    children = Path(f"/proc/{daemon}/task/{daemon}/children").read_text().split()
    for child in children if (os.cpu_count() or 1) > 1 else []:
        os.sched_setaffinity(int(child), {1})


def _hammer(where: list[tuple[tuple[str, int], list[str]]], until_s: float) -> int:
    counts = [0] * READERS if where else []
    lower = min(19, os.getpriority(os.PRIO_PROCESS, 0) + READERS_NICER)

    def read(number: int) -> None:
        if (os.cpu_count() or 1) > 1:
            os.sched_setaffinity(threading.get_native_id(), {1})
        os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), lower)
        (host, port), paths = where[number % len(where)]
        while time.monotonic() < until_s:
            connection = http.client.HTTPConnection(host, port, timeout=30)
            with contextlib.closing(connection):
                connection.request("GET", paths[counts[number] % len(paths)])
                answer = connection.getresponse()
                answer.read()
                if answer.status != 200:
                    raise RuntimeError(f"answered {answer.status}")
            counts[number] += 1

    readers = [threading.Thread(target=read, args=(number,)) for number in range(len(counts))]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    if not all(counts):
        raise RuntimeError(f"a reader got nothing: {counts}")
    return sum(counts)


def _p99_ms(log: Path, span: tuple[float, float]) -> float:
    late: list[float] = []
    for times in read_log(log).values():
        starts = [t for t in poll_starts(times, STATUS_S / 2) if span[0] <= t < span[1]]
        if not starts:
            raise RuntimeError("a switch was not asked at all")
        half = STATUS_S / 2
        residues = [(t - starts[0] + half) % STATUS_S - half for t in starts]
        late += [r - min(residues) for r in residues]
    return at(late, 0.99) * 1e3


def main() -> int:
    """Print and report; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--links", type=int, default=3)
    parser.add_argument("--switches", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=30.0)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        settings, path = record_of(Path(place), given.days, given.links)
        found: list[Any] = [*charts(settings, path), slowest_page(settings, path, given.days)]
    (_, before, _), (_, stormy, _), *_, (_, after, _) = told = storm(given)
    quiet = min(before, after)
    for name, late, count in told:
        print(f"  polls late by p99 {late:.1f} ms while {name} was asked {count} times")
    found.append(
        Target(subject="pages", name=f"polls' p99 more under {READERS} readers, "
               f"{given.switches} switches", unit="ms", ours=stormy - quiet, baseline=quiet,
               limit=15.0, of="ours", beside="p99 in quiet")
    )  # fmt: skip
    return int(not report_all(found))


if __name__ == "__main__":
    sys.exit(main())
