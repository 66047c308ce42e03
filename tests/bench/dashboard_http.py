"""How long the pages take over HTTP, on a long record, while a real daemon polls and writes it.

    python -m tests.bench.dashboard_http [--days 365] [--links 10] [--rounds 60]

Wall time from the request to the last byte, one reader with a connection that stays open, all pages
in turn, so that every page meets the same disturbances. Targets: the first screen and the trend of
a year within 100 ms in 95 of a hundred; a page with all that it loads but the plot script within
300 kB as sent. Beside the times stands what the daemon took of a core meanwhile.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import sys
import time
from http.client import HTTPConnection

from tests.bench.dashboard_station import Station, add_arguments, station

MOST_MS, MOST_KB = 100.0, 300.0
ASSET = re.compile(r'(?:href|src)="(/assets/[^"]+)"')


def get(connection: HTTPConnection, path: str) -> tuple[float, bytes, int]:
    """Wall time in ms, the body as it is, the bytes as sent (with gzip if the server has it)."""
    begun = time.perf_counter()
    connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    body = answer.read()
    spent = (time.perf_counter() - begun) * 1000
    if answer.status != 200:
        raise SystemExit(f"{path} answered {answer.status}")
    return spent, body, len(body)


def pages(where: Station) -> dict[str, str]:
    """What is asked for, and whether the target is meant for it (a star)."""
    link = f"/links/{where.links[3 % len(where.links)]}"
    data = f"/api{link}/trend?range="
    return {
        "first screen *": "/",
        "trend page, 1 year *": f"{link}?range=1year",
        "its plot's data, 1 year *": f"{data}1year",
        "trend page, 1 day": f"{link}?range=1d",
        "trend page, all": f"{link}?range=all",
        "plot's data, 1 week": f"{data}1w",
        "findings": "/findings",
        "switches": "/switches",
        "about": "/about",
        "live": "/api/live",
    }


def weight_kb(where: Station, path: str) -> float:
    """All that a browser loads for the page but the plot script, as sent."""
    connection = where.connect()
    sent = get(connection, path)[2]
    if not path.startswith("/api/"):
        connection.request("GET", path)  # without compression, to find what it names
        named = set(ASSET.findall(connection.getresponse().read().decode()))
        more = [asset for asset in named if not asset.endswith("plotly.js")]
        if path.startswith("/links/"):
            more.append("/api" + path.replace("?", "/trend?"))
        sent += sum(get(connection, one)[2] for one in more)
    connection.close()
    return sent / 1000


def measure(where: Station, rounds: int) -> dict[str, list[float]]:
    """Wall times in ms of each page, asked for in turn."""
    connection = where.connect()
    asked = pages(where)
    spent: dict[str, list[float]] = {name: [] for name in asked}
    for path in asked.values():
        get(connection, path)  # templates compiled, pages of the file read once
    for _ in range(rounds):
        for name, path in asked.items():
            spent[name].append(get(connection, path)[0])
    connection.close()
    return spent


def main() -> int:
    """Build, run, measure; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description="How long the pages take while a daemon polls.")
    parser.add_argument("--rounds", type=int, default=60, help="how often each page is asked for")
    add_arguments(parser)
    given = parser.parse_args()
    with station(given) as found:
        return report(found, given.rounds)


def report(where: Station, rounds: int) -> int:
    """Measure and print; 1 if a target is missed."""
    load = os.getloadavg()[0]
    began, cpu_s = time.monotonic(), where.cpu_s()
    spent = measure(where, rounds)
    share = (where.cpu_s() - cpu_s) / (time.monotonic() - began)
    print(
        f"load {load:.1f} before; the daemon took {100 * share:.1f} % of a core; "
        f"{rounds} times each, one after the other"
    )
    print(f"{'page':<28}{'median ms':>11}{'95 % ms':>9}{'most ms':>9}{'kB sent':>9}")
    good = True
    for name, path in pages(where).items():
        times = spent[name]
        high = statistics.quantiles(times, n=20)[-1]
        kb = weight_kb(where, path)
        good &= kb <= MOST_KB and ("*" not in name or high <= MOST_MS)
        median, most = statistics.median(times), max(times)
        print(f"{name:<28}{median:11.1f}{high:9.1f}{most:9.1f}{kb:9.1f}")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
