"""How well identification tells columns apart: precision and recall on invented switches.

    .venv/bin/python -m tests.bench.identify_score [--learn MODULE:FUNCTION] [--seeds 3]
        [--only tuning|seen|seen-2|held-out-3|wild]

Every switch is asked over UDP on loopback, joined to a partner whose light it receives; a switch
counts once for each seed, that is for each set of modules. `--learn` names a coroutine as in
identify_course.Learn; the stand-in, which takes the first column within a usual range, is always
measured beside it. `seen` and `seen-2` were held out until the method was judged by them and
mended: no figure of theirs says how it does on a switch that it has not met. Their names are
printed with --names only. `held-out-3` nobody who works on the method has looked at: it is scored
once, when it is asked for by name.

`wild` are layouts drawn by lot, some of which nobody could tell: one row, a cache of minutes.

Targets: receive power first-ranked with the right column and unit on all tuning switches and on at
least 95 % of the others that publish it; no wrong answer offered without an alternative.
The exit code is 1 when a target is missed by the function named with --learn.
"""

from __future__ import annotations

import argparse
import asyncio
import importlib
import sys
from collections.abc import Sequence
from typing import cast

from tests.bench import identify_stand_in
from tests.bench.held_out_agents import HELD_OUT
from tests.bench.held_out_agents_2 import HELD_OUT_2
from tests.bench.held_out_agents_3 import HELD_OUT_3
from tests.bench.identify_course import Learn, cases
from tests.bench.identify_marks import Marks
from tests.bench.identify_wild import wild

from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.tuning import TUNING

# By name: the switches, and the share of them that receive power is to be right on.
SETS = {
    "tuning": (TUNING, 1.0),
    "seen": (HELD_OUT, 0.95),
    "seen-2": (HELD_OUT_2, 0.95),
    "held-out-3": (HELD_OUT_3, 0.95),
    "wild": (wild(1, 30), 0.8),
}
SEALED = frozenset({"held-out-3", "wild"})


async def score(learn: Learn, switches: Sequence[Personality], seeds: int) -> Marks:
    """Mark one way of learning on a set of switches."""
    marks = Marks()
    for seed in range(seeds):
        async for case in cases(switches, seed=1000 * (seed + 1)):
            offers = await learn(case.meeting)
            marks.add(case.switch.name, case.switch.truth(), offers)
    return marks


def _percent(share: float | None) -> str:
    return "    -" if share is None else f"{100 * share:4.0f}%"


def report(title: str, marks: Marks, *, names: bool) -> None:
    """Print one table."""
    print(f"\n{title}")
    print(f"  {'quantity':16} {'precision':>9} {'recall':>7}  missed  invented")
    for quantity in Quantity:
        missed, invented = marks.missed(quantity), marks.invented(quantity)
        print(
            f"  {quantity.value:16} {_percent(marks.precision(quantity)):>9} "
            f"{_percent(marks.recall(quantity)):>7}  {len(missed):6}  {len(invented):8}"
        )
        if names and (missed or invented):
            print(f"    missed: {', '.join(missed) or '-'}; invented: {', '.join(invented) or '-'}")
    wrong = marks.confident_wrong()
    print(f"  wrong answers offered without an alternative: {len(wrong)}")
    if names and wrong:
        print("    " + ", ".join(f"{name} {quantity.value}" for name, quantity in wrong))


def _named(text: str) -> Learn:
    module, _, function = text.partition(":")
    return cast(Learn, getattr(importlib.import_module(module), function))


def _asked_for(name: str, only: str | None) -> bool:
    """Whether a set is scored in this run."""
    return name == only if only else name not in SEALED


def met(marks: Marks, wanted: float) -> bool:
    """Whether the targets are met."""
    recall = marks.recall(Quantity.RX)
    return recall is not None and recall >= wanted and not marks.confident_wrong()


async def main(arguments: Sequence[str]) -> int:
    """Measure, print, and say whether the targets are met."""
    parser = argparse.ArgumentParser(description="score identification on invented switches")
    parser.add_argument("--learn", default=None, metavar="MODULE:FUNCTION")
    parser.add_argument("--seeds", type=int, default=1, help="sets of modules (default 1)")
    parser.add_argument("--only", choices=sorted(SETS), default=None)
    parser.add_argument("--names", action="store_true", help="name the held-out switches too")
    options = parser.parse_args(arguments)
    good = True
    for name, (switches, wanted) in SETS.items():
        if not _asked_for(name, options.only):
            continue
        names = options.names or name == "tuning"
        plain = await score(identify_stand_in.learn, switches, options.seeds)
        report(f"{name}, {len(switches)} switches: the stand-in", plain, names=False)
        if options.learn:
            marks = await score(_named(options.learn), switches, options.seeds)
            report(f"{name}: {options.learn}", marks, names=names)
            good = good and met(marks, wanted)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(asyncio.run(main(sys.argv[1:])))
