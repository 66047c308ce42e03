"""From a cut fibre to the alert in the owner's hands: by trap, and by polls alone.

    python -m tests.bench.told_latency [--cuts 20] [--status 2]

Two snmpd in network namespaces, the cable between their ports, the real daemon, and a command as
the target, which notes when it was started (tests/end_to_end/real_agents). Timed is from just
before the cable is cut to the command's own note. By trap the switch says at the kernel's event
that its port went down; by polls the agent's cache counts, which for snmpd is 3 s. Needs root,
iproute2, snmpd and snmp.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.bench.target import Target, report

sys.path.insert(0, str(Path(__file__).parents[1] / "end_to_end"))
from real_agents.post import TRAPS, Herald, Post, post

CACHE_S = 3.0
CLEAR = ("cleared", "link-down")
NO_DAMPING = "flap_hold_back = 1000\nflaps_day = 100000\nflaps_days_of_14 = 14\n"


@contextmanager
def watched(directory: Path, *, traps: bool, status_s: int) -> Iterator[Post]:
    """The station; with traps its far switch says what happens."""
    more = TRAPS if traps else ""
    with ExitStack() as ends:
        built = ends.enter_context(
            post(directory, more=more, thresholds=NO_DAMPING, tell_s=0, status_s=status_s)
        )
        if traps:
            ends.enter_context(Herald(built.station.far, "10.77.3.1:10162"))
        yield built


def latencies(built: Post, cuts: int, status_s: int) -> list[float]:
    """Seconds from each cut to the alert."""
    chance, found = random.Random(1), []
    for _ in range(cuts):
        time.sleep(chance.uniform(0, status_s))
        before, cut = len(built.heard()), time.time()
        built.station.cut_fibre()
        message = built.until_heard("raised", "link-down", after=before, timeout_s=60)
        found.append(message["came"] - cut)
        time.sleep(CACHE_S + status_s)
        built.station.mend_fibre()
        built.until_heard(*CLEAR, after=before, timeout_s=60)
        time.sleep(CACHE_S + status_s)
    return found


def show(name: str, found: list[float], limit_s: float) -> bool:
    ordered = sorted(found)
    p95 = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    print(
        f"{name:24} n={len(found):3}  median {statistics.median(found):.2f} s  "
        f"95th {p95:.2f} s  longest {ordered[-1]:.2f} s  target {limit_s:g} s"
    )
    target = Target(
        subject="tell",
        name=f"from a cut fibre to the alert, {name}",
        unit="s",
        ours=ordered[-1],
        limit=limit_s,
        of="ours",
    )
    report(target)
    return target.met


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cuts", type=int, default=20)
    parser.add_argument("--status", type=int, default=2, help="status interval [s]")
    arguments = parser.parse_args()
    status_s, met = arguments.status, []
    ways = (
        ("by trap", True, 1.0),
        ("by polls alone", False, status_s + 1.0 + CACHE_S),
    )
    for name, traps, limit_s in ways:
        with (
            tempfile.TemporaryDirectory(prefix="told-") as place,
            watched(Path(place), traps=traps, status_s=status_s) as built,
        ):
            met.append(show(name, latencies(built, arguments.cuts, status_s), limit_s))
    return int(not all(met))


if __name__ == "__main__":
    sys.exit(main())
