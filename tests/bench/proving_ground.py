"""Score the analysis on made histories: false reports, steps, drift, forecasts, causes, speed.

    python -m tests.bench.proving_ground --short        about a minute or two, a few of everything
    python -m tests.bench.proving_ground --long         an hour and more on two cores
    python -m tests.bench.proving_ground --only quiet --count 50 --family tune

Constants of the analysis were tuned on the seeds of `tune`; figures are reported on `report`.
Intervals: counts by the exact Poisson limits, shares by Clopper and Pearson, both 95 %.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import time as clock
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy import stats
from tests.bench.proving_faults import CASES, history_of
from tests.bench.proving_feed import SENSITIVITY, blocks, facts_for, judge
from tests.bench.proving_plant import CLASSES, DAY_S, MONTH_S, START_S, Fault, History, make

from strandkeeper.analysis import engine
from strandkeeper.model.finding import Confidence, FindingKind, Severity
from strandkeeper.model.verdict import Event, EventKind, LinkVerdict

FAMILIES = {
    "tune": 1_000,
    "report": 500_000,
    "second": 600_000,  # outdoor swings, looked at once
    "third": 700_000,  # outdoor swings after the change that `second` asked for
    "fresh": 900_000,  # never looked at
}
SIZES = {  # section: (short, long) histories a line
    "quiet": (1, 200),
    "steps": (8, 300),
    "drift": (4, 250),
    "forecast": (2, 60),
    "causes": (1, 40),
}
REPORTS = ("step", "drift", "flicker", "daily-swing", "freezing", "repeated-steps", "added-loss")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One history to make and score."""

    section: str
    name: str
    seed: int
    size: float = 0.0


# quiet


def score_quiet(job: Job) -> dict[str, float]:
    """Reports begun in a quiet year, daily swings that became a warning on any day, and findings
    whose cause claimed to be sure on any day.
    """
    history = make(job.seed, CLASSES[job.name])
    warned: set[tuple[object, ...]] = set()
    sure: set[tuple[object, ...]] = set()

    def look(verdict: LinkVerdict) -> None:
        for f in verdict.findings:
            if f.kind.value in REPORTS and f.severity >= Severity.WARNING:
                warned.add((f.kind, f.direction, f.since_ms))
                if f.confidence is not Confidence.CANNOT_TELL:
                    sure.add((f.kind, f.direction, f.since_ms))

    events, _, _ = judge(history, rows=round(2 * DAY_S / history.spacing), look=look)
    begun = Counter(
        e.text
        for e in events
        if e.kind is EventKind.FINDING_BEGAN and e.text != FindingKind.DAILY_SWING
    )
    settled = sum(e.kind is EventKind.STEP for e in events)
    swings = sum(key[0] is FindingKind.DAILY_SWING for key in warned)
    years = len(history.time) * history.spacing / (365.25 * DAY_S)
    return {
        "years": years,
        "settled": settled,
        "sure": len(sure),
        **begun,
        FindingKind.DAILY_SWING.value: swings,
    }


def tell_quiet(name: str, rows: list[dict[str, float]]) -> None:
    """Rates per link-year with Poisson limits."""
    years = sum(row["years"] for row in rows)
    print(f"  {name:<9} {years:6.1f} link-years", end="")
    for kind in ("step", "settled", "drift", "flicker", "daily-swing", "freezing", "sure"):
        count = int(sum(row.get(kind, 0) for row in rows))
        print(f"  {kind} {count} (<{poisson_limits(count)[1] / years:.3f}/y)", end="")
    note = int(sum(row.get("added-loss", 0) for row in rows))
    print(f"  [added loss passed 0.5 dB {note} times]")


# steps


def score_step(job: Job) -> dict[str, float]:
    """A step in A→B at day 8 to 11 of 12."""
    rng = np.random.default_rng([job.seed, 5])
    count = int(12 * DAY_S / 30)
    at = rng.uniform(8, 11) * DAY_S
    added = np.zeros((2, count))
    added[0, np.arange(count) * 30.0 >= at] = job.size
    history = make(job.seed, CLASSES[job.name], days=12, fault=Fault(added=added), troubles=False)
    events, _, verdict = judge(history)
    begun = [
        e.time_ms / 1000 - START_S - at
        for e in events
        if e.kind is EventKind.FINDING_BEGAN and e.text == "step" and e.direction == "ab"
    ]
    late = min((t for t in begun if t > 0), default=float("inf"))
    steps = [s for s in verdict.ab.steps if abs(s.time_ms / 1000 - START_S - at) < 3600]
    covered = bool(steps) and steps[0].size.low <= job.size <= steps[0].size.high
    in_time = bool(steps) and (
        steps[0].time_low_ms / 1000 - 1 <= START_S + at <= steps[0].time_high_ms / 1000 + 1
    )
    error = abs(steps[0].time_ms / 1000 - START_S - at) if steps else float("inf")
    return {"late": late, "error": error, "covered": covered, "in_time": in_time}


def tell_step(name: str, rows: list[dict[str, float]]) -> None:
    """Shares found in time, time right, size and time intervals covering."""
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


# drift


def score_drift(job: Job) -> dict[str, float]:
    """A constant slope in A→B over 46 days, whatever the season."""
    count = int(46 * DAY_S / 30)
    added = np.zeros((2, count))
    added[0] = job.size * np.arange(count) * 30.0 / MONTH_S
    history = make(job.seed, CLASSES[job.name], days=46, fault=Fault(added=added), troubles=False)
    events, _, verdict = judge(history)
    begun = [
        (e.time_ms / 1000 - START_S) / DAY_S
        for e in events
        if e.kind is EventKind.FINDING_BEGAN and e.text == "drift" and e.direction == "ab"
    ]
    slope = None if verdict.ab.drift is None else verdict.ab.drift.slope
    covered = slope is not None and slope.low <= job.size <= slope.high
    error = slope.value - job.size if slope is not None else float("nan")
    return {"day": min(begun, default=float("inf")), "covered": covered, "error": error}


def tell_drift(name: str, rows: list[dict[str, float]]) -> None:
    """Share reported by day 45, coverage of the 95 % interval, spread of the estimate."""
    of = len(rows)
    by45 = sum(row["day"] <= 45 for row in rows)
    covered = sum(bool(row["covered"]) for row in rows)
    spread = float(np.nanstd([row["error"] for row in rows]))
    days = _quantile([row["day"] for row in rows], 0.5)
    print(
        f"  {name:<16} n {of:4}  by day 45 {_share(by45, of)}  median day {days:.0f}  "
        f"95 % interval covers {_share(covered, of)}  error sd {spread:.4f} dB/month"
    )


# forecast


def score_forecast(job: Job) -> dict[str, float]:
    """A creep that takes the margin to its reserve within a year; scored every 30 days."""
    rng = np.random.default_rng([job.seed, 6])
    days = 300
    count = int(days * DAY_S / 60)
    slope = rng.uniform(0.25, 0.8)
    at = np.arange(count) * 60.0
    added = np.zeros((2, count))
    added[0] = slope * np.clip(at - 20 * DAY_S, 0, None) / MONTH_S
    history = make(
        job.seed, CLASSES[job.name], days=days, spacing=60, fault=Fault(added=added), troubles=False
    )
    low = np.flatnonzero(history.rx_true[1] - SENSITIVITY < 6.0)
    if not len(low):
        return {"scored": 0, "covered": 0, "null": 0}
    crossing = history.time[low[0]] + START_S
    return _follow_forecast(history, crossing)


def _follow_forecast(history: History, crossing: float) -> dict[str, float]:
    facts = facts_for()
    state = engine.initial(facts)
    scored = covered = null = 0
    first: float | None = None
    for block in blocks(history, rows=2 * 10 * 1440):
        state, evaluation = engine.advance(facts, state, block)
        verdict = evaluation.verdict
        now = verdict.at_ms / 1000
        if now >= crossing:
            break
        drift, told = verdict.ab.drift, verdict.ab.forecast
        if first is None and drift is not None and drift.reported:
            first = now
        if first is None or (now - first) % (30 * DAY_S) > 9.5 * DAY_S:
            continue
        scored += 1
        if told.earliest_ms is None or told.to != "reserve":
            null += 1
            continue
        latest = float("inf") if told.latest_ms is None else told.latest_ms / 1000
        covered += told.earliest_ms / 1000 <= crossing <= latest
    return {"scored": scored, "covered": covered, "null": null}


def tell_forecast(name: str, rows: list[dict[str, float]]) -> None:
    """Share of forecasts that hold the first noise-free crossing; null is a miss."""
    scored = int(sum(row["scored"] for row in rows))
    covered = int(sum(row["covered"] for row in rows))
    null = int(sum(row["null"] for row in rows))
    print(
        f"  {name:<10} histories {len(rows)}  forecasts {scored}  cover {_share(covered, scored)}"
        f"  null before a crossing {null}"
    )


# causes


def score_cause(job: Job) -> dict[str, float]:
    """The worst finding at the end of 40 days; an outage that is over speaks by its cause."""
    case = next(c for c in CASES if c.name == job.name)
    history = history_of(case, job.seed)
    waves = (1550, 1310) if case.strands == 1 else None
    _, _, verdict = judge(history, facts_for(strands=case.strands, wavelengths=waves))
    cause, sure = _claim(verdict)
    return {
        "right": float(sure and cause in case.right),
        "wrong": float(sure and cause not in case.right),
        f"said {cause if sure else 'cannot tell'}": 1.0,
    }


def _claim(verdict: LinkVerdict) -> tuple[str, bool]:
    for finding in verdict.findings:
        if finding.severity >= Severity.WARNING:
            return finding.cause.value, finding.confidence is not Confidence.CANNOT_TELL
    if verdict.outages and verdict.outages[-1].cause.value != "unknown":
        return verdict.outages[-1].cause.value, True
    return "nothing", False


def tell_cause(name: str, rows: list[dict[str, float]]) -> tuple[int, int]:
    """One row of the confusion matrix."""
    said: Counter[str] = Counter()
    for row in rows:
        said.update(key[5:] for key in row if key.startswith("said "))
    right, wrong = (int(sum(row[key] for row in rows)) for key in ("right", "wrong"))
    words = ", ".join(f"{what} {count}" for what, count in said.most_common())
    print(f"  {name:<26} right {right:3}  wrong {wrong:3}  of {len(rows):3}: {words}")
    return right, wrong


# running


SCORERS = {
    "quiet": score_quiet,
    "steps": score_step,
    "drift": score_drift,
    "forecast": score_forecast,
    "causes": score_cause,
}
STEP_LINES = (
    ("ordinary", 0.5),
    ("noisy", 0.5),
    ("coarse", 0.5),
    ("ordinary", 0.2),
    ("coarse", 0.2),
    ("lagging", 0.5),
    ("weak", 0.5),
    ("outdoor", 0.5),
    ("glitchy", 0.5),
    ("calm", 0.2),
    ("noisy", 0.3),
)
DRIFT_LINES = (
    ("ordinary", 0.1),
    ("noisy", 0.2),
    ("coarse", 0.1),
    ("outdoor", 0.1),
    ("weak", 0.1),
    ("lagging", 0.1),
    ("glitchy", 0.1),
    ("calm", 0.1),
)


def jobs_of(section: str, count: int, seed: int) -> Iterator[tuple[str, list[Job]]]:
    """Lines of a section with their histories."""
    if section in ("quiet", "forecast"):
        names: Iterable[tuple[str, float]] = [(name, 0.0) for name in CLASSES]
        if section == "forecast":
            names = [(name, 0.0) for name in ("ordinary", "noisy", "outdoor")]
    elif section == "causes":
        names = [(case.name, 0.0) for case in CASES]
    else:
        names = STEP_LINES if section == "steps" else DRIFT_LINES
    for line, (name, size) in enumerate(names):
        first = seed + 10_000 * line
        label = f"{name} {size:g}" if size else name
        yield (
            label,
            [Job(section=section, name=name, seed=first + k, size=size) for k in range(count)],
        )


def _score(job: Job) -> dict[str, float]:
    return SCORERS[job.section](job)


def run_section(section: str, count: int, seed: int, workers: int, only: str | None = None) -> None:
    """Score and tell every line of one section."""
    print(f"{section} ({count} histories a line)", flush=True)
    total_right = total_wrong = 0
    with multiprocessing.Pool(workers, maxtasksperchild=40) as pool:
        for label, jobs in jobs_of(section, count, seed):
            if only and not label.startswith(only):
                continue
            rows = pool.map(_score, jobs, chunksize=1)
            if section == "causes":
                right, wrong = tell_cause(label, rows)
                total_right, total_wrong = total_right + right, total_wrong + wrong
            else:
                tellers = {"quiet": tell_quiet, "steps": tell_step, "drift": tell_drift}
                tellers.get(section, tell_forecast)(label, rows)
    if section == "causes":
        print(f"  right where sure: {_share(total_right, total_right + total_wrong)}")


def run_speed(days: float) -> None:
    """Seconds and memory of a year of one link at 30 s, and of half of it: cost by length."""
    print("speed")
    for span in (days / 2, days):
        history = make(1, CLASSES["ordinary"], days=span)
        ready = list(blocks(history))
        rows = sum(len(block) for block in ready)
        facts = facts_for()
        state = engine.initial(facts)
        begun = clock.perf_counter()
        events: list[Event] = []
        for block in ready:
            state, evaluation = engine.advance(facts, state, block)
            events += evaluation.events
        took = clock.perf_counter() - begun
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"  {span:5.0f} days {rows} rows {took:.2f} s  {1e6 * took / rows:.2f} µs a row  "
            f"peak {peak:.0f} MiB with the made history  state {len(engine.encode(state))} bytes"
        )


def main() -> None:
    """Read the arguments and run the sections."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    how = parser.add_mutually_exclusive_group()
    how.add_argument("--short", action="store_true", help="a few of everything (default)")
    how.add_argument("--long", action="store_true", help="the sizes the figures are told from")
    parser.add_argument("--only", choices=[*SIZES, "speed"], action="append", help="one section")
    parser.add_argument("--count", type=int, help="histories a line (default: by --short/--long)")
    parser.add_argument("--line", help="with --only: lines that begin so, as 'outdoor'")
    parser.add_argument("--family", choices=FAMILIES, default="report", help="which seeds")
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    arguments = parser.parse_args()
    begun = clock.perf_counter()
    for section, sizes in SIZES.items():
        if arguments.only is None or section in arguments.only:
            count = arguments.count or sizes[1 if arguments.long else 0]
            run_section(
                section, count, FAMILIES[arguments.family], arguments.workers, arguments.line
            )
    if arguments.only is None or "speed" in arguments.only:
        run_speed(365.25 if arguments.long else 60)
    print(f"took {clock.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
