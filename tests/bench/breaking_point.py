"""Ever more switches, until polls are lost: how many a daemon on one core can ask, and what breaks.

    python -m tests.bench.breaking_point [--from 1000] [--to 8000] [--minutes 0.7]

All healthy, status every 10 s, optics every 30 s; each step half as many again. The daemon has one
core, the switches the other. It stops at the first step that loses a poll or has a p99 above 1 s.
"""

from __future__ import annotations

import sys

from tests.bench.crowd_run import HEAD, Run, arguments, one_run
from tests.bench.thousand import show


def what_broke(run: Run, status_s: float) -> str:
    """In words, empty if nothing did."""
    steady = run.steady
    if not steady.lost and steady.p99 <= 1.0:
        return ""
    cause = (
        "the daemon's core is used up: the processor breaks first"
        if steady.cpu > 0.9
        else f"with {100 * steady.cpu:.0f} % of its core: not the processor, look at the other core"
    )
    return f"{steady.lost} polls lost, p99 {steady.p99:.1f} s of {status_s} s; {cause}"


def main() -> int:
    """Print a pair of lines a step, and what broke."""
    parser = arguments(__doc__.splitlines()[0], switches=0, minutes=0.7)
    parser.add_argument("--from", dest="first", type=int, default=1000)
    parser.add_argument("--to", dest="most", type=int, default=8000)
    given = parser.parse_args()
    print(HEAD, flush=True)
    switches = given.first
    while switches <= given.most:
        given.switches = switches
        run = one_run(given)
        show(f"{switches} switches", run)
        broken = what_broke(run, given.status)
        if broken:
            print(f"breaks at {switches} switches: {broken}")
            return 0
        switches = switches * 3 // 4 * 2  # even: they are linked in pairs
    print(f"nothing broke up to {given.most} switches")
    return 0


if __name__ == "__main__":
    sys.exit(main())
