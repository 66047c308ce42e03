"""The power of half of a thousand switches is cut: they come back all at once and are walked again.

    python -m tests.bench.power_cut [--switches 1000] [--minutes 0.5] [--cut-s 15]

Told by the switches (tests/bench/crowd_run.py): how late the polls of the other half come
meanwhile, and how long it takes until the last of those that came back has been walked again.
"""

from __future__ import annotations

import sys

from tests.bench.crowd_run import HEAD, arguments, one_run
from tests.bench.target import Target, report_all
from tests.bench.thousand import show


def main() -> int:
    """Print the table; 1 if a poll of the others was lost or more than an interval late."""
    parser = arguments(__doc__.splitlines()[0], switches=1000, minutes=0.5)
    parser.add_argument("--cut-s", type=float, default=15.0)
    given = parser.parse_args()
    print(HEAD, flush=True)
    run = one_run(given, cut_s=given.cut_s)
    show("healthy", run)
    assert run.cut is not None
    run.cut.name = "the others after the cut"
    print(run.cut.row())
    print(f"walked again {run.back_s:.1f} s after the power came back")
    targets = [
        Target(subject="scale", name=f"{given.switches} switches, half restart: lost of the others",
               unit="", ours=run.cut.lost, limit=0, of="ours"),
        Target(subject="scale", name=f"{given.switches} switches, half restart: p99 of the others",
               unit="s", ours=run.cut.p99, limit=1.0, of="ours"),
    ]  # fmt: skip
    return int(not report_all(targets, aloud=False))


if __name__ == "__main__":
    sys.exit(main())
