"""Tell the scores of the proving ground as tables, with exact 95 % intervals.

Rates by the exact Poisson limits, shares by Clopper and Pearson.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from scipy import stats
from tests.bench.proving_plant import CLASSES

Rows = list[dict[str, float]]
IDEAL = {"noisy": 0.08}  # dB/month that an ideal matched filter needs by day 45
IDEAL_ELSEWHERE = 0.035


def poisson_limits(count: int) -> tuple[float, float]:
    """Exact 95 % limits of a Poisson mean (chi-squared form)."""
    low = stats.chi2.ppf(0.025, 2 * count) / 2 if count else 0.0
    return float(low), float(stats.chi2.ppf(0.975, 2 * count + 2) / 2)


def share_limits(hits: int, of: int) -> tuple[float, float]:
    """Clopper-Pearson 95 % limits of a share."""
    low = stats.beta.ppf(0.025, hits, of - hits + 1) if hits else 0.0
    high = stats.beta.ppf(0.975, hits + 1, of - hits) if hits < of else 1.0
    return float(low), float(high)


def _share(hits: int, of: int) -> str:
    low, high = share_limits(hits, of)
    return f"{100 * hits / of:5.1f} % [{100 * low:.1f}, {100 * high:.1f}]" if of else "-"


def _quantile(values: list[float], q: float) -> float:
    """Quantile where a miss (infinity) is a value like any other."""
    return sorted(values)[min(len(values) - 1, int(np.ceil(q * len(values))) - 1)]


def tell_quiet(name: str, rows: Rows) -> None:
    """Rates per link-year with Poisson limits."""
    years = sum(row["years"] for row in rows)
    print(f"  {name:<9} {years:6.1f} link-years", end="")
    for kind in ("step", "settled", "drift", "flicker", "daily-swing", "freezing", "sure"):
        count = int(sum(row.get(kind, 0) for row in rows))
        print(f"  {kind} {count} (<{poisson_limits(count)[1] / years:.3f}/y)", end="")
    note = int(sum(row.get("added-loss", 0) for row in rows))
    print(f"  [added loss passed 0.5 dB {note} times]")


def tell_step(name: str, rows: Rows) -> None:
    """Shares found in time, time right, size and time intervals covering.

    A reading that is refreshed slower than it is asked for hides when the step was: half a refresh
    and half a poll either way is the best that can be known.
    """
    of = len(rows)
    ten = sum(row["late"] <= 600 for row in rows)
    thirty = sum(row["late"] <= 1800 for row in rows)
    right = sum(row["error"] <= 60 for row in rows)
    sizes = sum(bool(row["covered"]) for row in rows)
    times = sum(bool(row["in_time"]) for row in rows)
    print(
        f"  {name:<14} n {of:4}  in 10 min {_share(ten, of)}  in 30 min {_share(thirty, of)}  "
        f"time to 2 polls {_share(right, of)}  size covered {_share(sizes, of)}  "
        f"time covered {_share(times, of)}"
    )
    refresh = CLASSES[name.split()[0]].refresh_s
    if refresh > 60:
        best = refresh / 2 + 15
        near = sum(row["error"] <= best for row in rows)
        print(f"  {'':<14} time to {best:.0f} s, all that its refresh leaves {_share(near, of)}")


def tell_drift(name: str, rows: Rows) -> None:
    """Share reported by day 45, coverage of the 95 % interval, spread of the estimate."""
    of = len(rows)
    by45 = sum(row["day"] <= 45 for row in rows)
    covered = sum(bool(row["covered"]) for row in rows)
    spread = float(np.nanstd([row["error"] for row in rows]))
    days = _quantile([row["day"] for row in rows], 0.5)
    kind, slope = name.split()
    ratio = float(slope) / IDEAL.get(kind, IDEAL_ELSEWHERE)
    print(
        f"  {name:<16} n {of:4}  by day 45 {_share(by45, of)}  median day {days:.0f}  "
        f"95 % interval covers {_share(covered, of)}  error sd {spread:.4f} dB/month"
        f"  {ratio:.1f} times the ideal filter's"
    )


def tell_forecast(name: str, rows: Rows) -> None:
    """Share of forecasts that hold the first noise-free crossing; null is a miss."""
    scored = int(sum(row["scored"] for row in rows))
    covered = int(sum(row["covered"] for row in rows))
    null = int(sum(row["null"] for row in rows))
    print(
        f"  {name:<10} histories {len(rows)}  forecasts {scored}  cover {_share(covered, scored)}"
        f"  null before a crossing {null}"
    )


def tell_cause(name: str, rows: Rows) -> tuple[int, int]:
    """One row of the confusion matrix."""
    said: Counter[str] = Counter()
    for row in rows:
        said.update(key[5:] for key in row if key.startswith("said "))
    right, wrong = (int(sum(row[key] for row in rows)) for key in ("right", "wrong"))
    words = ", ".join(f"{what} {count}" for what, count in said.most_common())
    print(f"  {name:<26} right {right:3}  wrong {wrong:3}  of {len(rows):3}: {words}")
    return right, wrong


def tell_line(section: str, label: str, rows: Rows) -> tuple[int, int]:
    """One line of a section; for causes how many claims were right and wrong, else nothing."""
    if section == "causes":
        return tell_cause(label, rows)
    tellers = {"quiet": tell_quiet, "steps": tell_step, "drift": tell_drift}
    tellers.get(section, tell_forecast)(label, rows)
    return 0, 0


def tell_totals(section: str, lines: dict[str, Rows], right: int, wrong: int) -> None:
    """What all lines of a section say together."""
    every = [row for rows in lines.values() for row in rows]
    if section == "causes" and right + wrong:
        print(f"  right where sure: {_share(right, right + wrong)}")
    elif section == "drift" and len(lines) > 1:
        covered = sum(bool(row["covered"]) for row in every)
        print(f"  95 % interval covers, all lines: {_share(covered, len(every))}")
    elif section == "quiet" and len(lines) > 1:
        tell_quiet("all", every)
