"""The targets of tests/bench/clock_steps.py, handed to the table of all targets.

python -m tests.bench.clock_target [--steps 4]
"""

from __future__ import annotations

import argparse
import sys

from tests.bench.clock_steps import faketime, measure
from tests.bench.target import Target, report_all


def main() -> int:
    """Print and report; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--steps", type=int, default=4)
    parser.add_argument("--pause", type=float, default=12.0)
    parser.add_argument("--port", type=int, default=16620)
    given = parser.parse_args()
    library = faketime()
    if library is None:
        print("NOT RUN: libfaketime is missing (Debian package: libfaketime)")
        return 1
    out = measure(library, given.steps, given.pause, given.port)
    found = [
        Target(subject="clock", name="longest without polls, an hour either way", unit="s",
               ours=max(out.gaps_s), baseline=out.usual_gap_s, limit=2.0, of="ours",
               beside="without a step"),
        Target(subject="clock", name="most requests in a second", unit="", ours=max(out.bursts),
               baseline=out.usual_burst, limit=2.0, of="ratio", beside="without a step"),
        Target(subject="clock", name=f"polls written twice, of {out.rows} rows", unit="",
               ours=out.doubled, limit=0, of="ours"),
    ]  # fmt: skip
    return int(not report_all(found))


if __name__ == "__main__":
    sys.exit(main())
