"""One target of the project: what was aimed at, ours, the baseline of the same run.

A benchmark calls `report` for each figure that has a target; `tests/bench/run` gathers them in the
file that STRANDKEEPER_TARGETS names and `python -m tests.bench.target FILE` prints the table.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

FILE = "STRANDKEEPER_TARGETS"


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """`limit` holds for ours / baseline where `of` is "ratio", for ours itself where it is "ours".

    `subject` is the group in the table, `baseline` None where the target is a figure by itself.
    """

    subject: str
    name: str
    unit: str
    ours: float
    limit: float
    of: Literal["ratio", "ours"]
    baseline: float | None = None
    beside: str = ""  # what the baseline is

    @property
    def ratio(self) -> float | None:
        """Ours over the baseline."""
        return None if not self.baseline else self.ours / self.baseline

    @property
    def met(self) -> bool:
        """Whether it is at most what was aimed at."""
        value = self.ratio if self.of == "ratio" else self.ours
        return value is not None and value <= self.limit


def report(target: Target) -> None:
    """Hand a target to the table of the run, if there is one."""
    if FILE in os.environ:
        with Path(os.environ[FILE]).open("a") as out:
            out.write(json.dumps(asdict(target)) + "\n")


def report_all(targets: Sequence[Target], *, aloud: bool = True) -> bool:
    """Report each, `aloud` with a line on stdout; whether all are met."""
    for target in targets:
        if aloud:
            print(f"  {target.name}: {target.ours:.4g} {target.unit}, beside {target.baseline}")
        report(target)
    return all(target.met for target in targets)


def _number(value: float | None) -> str:
    if value is None:
        return "-"
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"


def _line(target: Target) -> str:
    limit = f"<= {target.limit:g}" + (" x" if target.of == "ratio" else "")
    return (
        f"{target.subject:7} {target.name[:52]:52} {limit:>10} {_number(target.ours):>8}"
        f" {_number(target.baseline):>8} {target.unit[:9]:9} {_number(target.ratio):>7}"
        f" {'met' if target.met else 'NOT MET':7} {target.beside}"
    )


def main() -> int:
    """Print the table; 1 if a target is not met, 2 if there is none."""
    path = Path(sys.argv[1])
    lines = path.read_text().splitlines() if path.exists() else []
    targets = [Target(**json.loads(line)) for line in lines]
    if not targets:
        return 2
    print(
        f"\n{'':7} {'':52} {'target':>10} {'ours':>8} {'baseline':>8} {'':9} {'ratio':>7}"
        f" {'':7} baseline is"
    )
    for target in targets:
        print(_line(target))
    return int(not all(target.met for target in targets))


if __name__ == "__main__":
    sys.exit(main())
