"""What judging costs, and how good the slope of thirty days is, beside scipy's.

    python -m tests.bench.judge_targets [--seeds 300]

The cost is that of a link watched for 60 days: a row at a time as the daemon judges, and blocks as
`assess` does. The slope: 720 medians of an hour with normal noise on a known slope. Ours goes as
the product does, by the medians of the days and then through all pairs of them; scipy's
theilslopes goes through all pairs of hours. Errors are root mean squares against the known slope.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time

import numpy as np
from numpy.typing import NDArray
from scipy.stats import theilslopes  # type: ignore[import-untyped]
from tests.bench.proving_feed import blocks, facts_for
from tests.bench.proving_plant import CLASSES, make
from tests.bench.target import Target, report_all

from strandkeeper.analysis import engine
from strandkeeper.analysis.drift import MONTH_DAYS, pair_slopes
from strandkeeper.model.block import Col

HOURS, DAY_H = 720, 24
Floats = NDArray[np.float64]


def costs() -> list[Target]:
    """Per row one by one, and per million rows in blocks."""
    history = make(7, CLASSES["ordinary"], days=60.1, troubles=False)
    pieces = list(blocks(history, rows=172_800))
    facts = facts_for()
    state = engine.initial(facts)
    rows = sum(len(piece) for piece in pieces[:2])
    begun = time.process_time()
    for piece in pieces[:2]:
        state, _ = engine.advance(facts, state, piece)
    a_million = (time.process_time() - begun) / rows * 1e6
    plain: list[float] = []
    closing: list[float] = []
    window = -1
    for number in range(480):
        row = pieces[2].part(number, number + 1)
        opened = int(row.data[Col.TIME, 0]) // 300_000
        begun = time.process_time()
        state, _ = engine.advance(facts, state, row)
        taken = (time.process_time() - begun) * 1e3
        (closing if opened != window else plain).append(taken)
        window = opened
    return [
        Target(subject="judge", name="a poll of a link, no window closed (median)", unit="ms CPU",
               ours=statistics.median(plain), limit=0.1, of="ours"),
        Target(subject="judge", name="a poll of a link, a window closed (median)", unit="ms CPU",
               ours=statistics.median(closing), limit=1.0, of="ours"),
        Target(subject="judge", name="a million readings in blocks", unit="s CPU",
               ours=a_million, baseline=statistics.mean(plain) * 1e3, limit=1.0, of="ratio",
               beside="the same one by one"),
    ]  # fmt: skip


def ours(hours: Floats, values: Floats) -> float:
    """The slope per hour by the medians of the days."""
    days = np.median(values.reshape(-1, DAY_H), axis=1)
    return float(np.median(pair_slopes(hours.reshape(-1, DAY_H).mean(axis=1), days)))


def slopes(seeds: int) -> list[Target]:
    """Time and error beside theilslopes."""
    hours = np.arange(HOURS, dtype=np.float64)
    true = 100.0 / (MONTH_DAYS * DAY_H)  # 0.1 dB a month in 0.001 dB an hour
    ours(hours, hours), theilslopes(hours, hours)  # what is made once is no part of a slope
    errors: dict[str, list[float]] = {"ours": [], "scipy": []}
    spent: dict[str, list[float]] = {"ours": [], "scipy": []}
    for seed in range(seeds):
        values = true * hours + np.random.default_rng(seed).normal(0, 50, HOURS)
        for name, way in (("ours", ours), ("scipy", lambda x, y: float(theilslopes(y, x)[0]))):
            begun = time.process_time()
            found = way(hours, values)
            spent[name].append((time.process_time() - begun) * 1e3)
            errors[name].append(found - true)
    again = [ours(hours, true * hours + np.sin(hours)) for _ in range(2)]
    if again[0] != again[1]:
        raise RuntimeError("the same readings gave two slopes")
    rms = {name: float(np.sqrt(np.mean(np.square(e)))) for name, e in errors.items()}
    return [
        Target(subject="judge", name="slope of 30 days of hour medians, n = 720", unit="ms CPU",
               ours=statistics.fmean(spent["ours"]), baseline=statistics.fmean(spent["scipy"]),
               limit=0.2, of="ratio", beside="scipy.stats.theilslopes"),
        Target(subject="judge", name=f"its error, {seeds} seeds, normal noise", unit="rel.",
               ours=rms["ours"], baseline=rms["scipy"], limit=1.25, of="ratio",
               beside="scipy.stats.theilslopes"),
    ]  # fmt: skip


def main() -> int:
    """Print and report; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seeds", type=int, default=300)
    given = parser.parse_args()
    found = [*costs(), *slopes(given.seeds)]
    return int(not report_all(found))


if __name__ == "__main__":
    sys.exit(main())
