"""Score one made history: what was put in against what the analysis says of it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from tests.bench.proving_faults import CASES, history_of
from tests.bench.proving_feed import SENSITIVITY, blocks, facts_for, judge
from tests.bench.proving_plant import CLASSES, DAY_S, MONTH_S, START_S, Fault, History, make

from strandkeeper.analysis import engine
from strandkeeper.model.finding import Confidence, FindingKind, Severity
from strandkeeper.model.verdict import EventKind, LinkVerdict

REPORTS = ("step", "drift", "flicker", "daily-swing", "freezing", "repeated-steps", "added-loss")


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One history to make and score."""

    section: str
    name: str
    seed: int
    size: float = 0.0


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
    losses = sum(key[0] is FindingKind.ADDED_LOSS for key in warned)
    years = len(history.time) * history.spacing / (365.25 * DAY_S)
    return {
        "years": years,
        "settled": settled,
        "sure": len(sure),
        "loss warned": losses,
        **begun,
        FindingKind.DAILY_SWING.value: swings,
    }


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


SCORERS = {
    "quiet": score_quiet,
    "steps": score_step,
    "drift": score_drift,
    "forecast": score_forecast,
    "causes": score_cause,
}


def score(job: Job) -> dict[str, float]:
    """Make the history of a job and score it."""
    return SCORERS[job.section](job)
