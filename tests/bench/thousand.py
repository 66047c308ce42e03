"""A thousand switches of two fibre ports each, asked by a real daemon; some dead, some slow.

    python -m tests.bench.thousand [--switches 1000] [--minutes 15] [--dead 0.05] [--slow 0.05]

When each switch was asked is told by the switches (tests/bench/crowd_run.py). First the mixed
run, then one with all healthy, for comparison. Targets: none later than one interval, p99 under
1 s, none lost, memory flat, and the healthy ones' p99 at most twice that of the all-healthy run.
The line "start" is of those that are ready while the others are still walked.
"""

from __future__ import annotations

import sys

from tests.bench.crowd_run import HEAD, Phase, Run, arguments, one_run
from tests.bench.target import Target, report_all

DESCRIPTION = __doc__.splitlines()[0]
FLAT_MB = 5.0


def growth_mb(phase: Phase) -> float:
    """How much more memory the last third of a run took at most than the first third.

    At most, for it rises and falls with the five-minute windows, which close for all together.
    """
    third = -(-len(phase.rss_mb) // 3)
    return max(phase.rss_mb[-third:]) - max(phase.rss_mb[:third])


def show(name: str, run: Run) -> None:
    """Two lines of the table."""
    run.start.name, run.steady.name = f"{name}, start ({run.read_s:.0f} s)", f"{name}, steady"
    print(run.start.row())
    print(run.steady.row(), flush=True)


def tell(runs: dict[str, Run], status_s: float, what: str) -> bool:
    """Report the targets; whether all are met."""
    targets = []
    for name, run in runs.items():
        late = {
            "lost polls": (run.steady.lost, 0.0, ""),
            "latest poll": (run.steady.longest, status_s, "s"),
            "p99 of the lateness": (run.steady.p99, 1.0, "s"),
            "more memory at the end": (growth_mb(run.steady), FLAT_MB, "MB"),
        }
        targets += [
            Target(subject="scale", name=f"{what}, {name}: {line}", unit=unit, ours=ours,
                   limit=limit, of="ours")
            for line, (ours, limit, unit) in late.items()
        ]  # fmt: skip
    if len(runs) == 2:
        mixed, healthy = runs["mixed"].steady, runs["healthy"].steady
        targets.append(
            Target(subject="scale", name=f"{what}: p99 of the healthy among dead and slow",
                   unit="ms", ours=mixed.p99 * 1e3, baseline=healthy.p99 * 1e3, limit=2.0,
                   of="ratio", beside="all healthy")
        )  # fmt: skip
    return report_all(targets, aloud=False)


def main() -> int:
    """Print the table; 1 if a target is missed."""
    parser = arguments(DESCRIPTION, switches=1000, minutes=15.0)
    parser.add_argument("--dead", type=float, default=0.05)
    parser.add_argument("--slow", type=float, default=0.05)
    parser.add_argument("--only", choices=("healthy", "mixed"))
    given = parser.parse_args()
    print(f"{given.switches} switches, status {given.status} s, optics {given.optics} s")
    print(HEAD, flush=True)
    runs: dict[str, Run] = {}
    for name, dead, slow in (("mixed", given.dead, given.slow), ("healthy", 0.0, 0.0)):
        if given.only in (None, name):
            runs[name] = one_run(given, dead=dead, slow=slow)
            show(name, runs[name])
    what = f"{given.switches} switches, {given.minutes:g} min"
    return int(not tell(runs, given.status, what))


if __name__ == "__main__":
    sys.exit(main())
