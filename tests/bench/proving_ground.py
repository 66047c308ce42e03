"""Score the analysis on made histories: false reports, steps, drift, forecasts, causes, speed.

    python -m tests.bench.proving_ground --short        about a minute or two, a few of everything
    python -m tests.bench.proving_ground --only quiet --count 50 --family tune
    python -m tests.bench.proving_ground --long --family fresh --into FILE    hours; goes on where
                                                                             FILE ends
    python -m tests.bench.proving_ground --told FILE    the tables of what FILE holds by now

--long goes through ROUNDS: each takes every section further, so that whenever it is stopped all of
them stand at what was reached. Constants of the analysis were tuned on the seeds of `tune` and of
the families that say so below; figures are told from `fresh`, and nothing may be tuned on it.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import resource
import time as clock
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.bench.proving_faults import CASES
from tests.bench.proving_feed import blocks, facts_for
from tests.bench.proving_plant import CLASSES, make
from tests.bench.proving_score import Job, score
from tests.bench.proving_tell import Rows, tell_line, tell_totals

from strandkeeper.analysis import engine
from strandkeeper.model.verdict import Event

FAMILIES = {
    "tune": 1_000,
    "report": 500_000,  # looked at in all sections; constants were set after it
    "second": 600_000,  # outdoor swings, looked at once
    "third": 700_000,  # outdoor swings after the change that `second` asked for
    "fresh": 900_000,  # looked at once, with the analysis as it stands
}
SHORT = {"quiet": 1, "steps": 8, "drift": 4, "forecast": 2, "causes": 1}
LONG = {"quiet": 200, "steps": 300, "drift": 250, "forecast": 60, "causes": 40}
ROUNDS = (  # histories a line that are reached, section by section
    {"forecast": 15, "steps": 100, "causes": 14, "drift": 60, "quiet": 20},
    {"quiet": 40, "forecast": 60, "drift": 125, "steps": 300, "causes": 40},
    {"drift": 250, "quiet": 100},
    LONG,
)
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


def run_section(section: str, count: int, seed: int, workers: int, only: str | None = None) -> None:
    """Score and tell every line of one section."""
    print(f"{section} ({count} histories a line)", flush=True)
    told: dict[str, Rows] = {}
    right = wrong = 0
    with multiprocessing.Pool(workers, maxtasksperchild=40) as pool:
        for label, jobs in jobs_of(section, count, seed):
            if only and not label.startswith(only):
                continue
            told[label] = pool.map(score, jobs, chunksize=1)
            claims = tell_line(section, label, told[label])
            right, wrong = right + claims[0], wrong + claims[1]
    tell_totals(section, told, right, wrong)


def run_into(path: Path, seed: int) -> None:
    """Score round after round in this one process, each history a line of the file at once."""
    done = {(item["section"], item["label"], item["seed"]) for item in _items(path)}
    with path.open("a", encoding="utf-8") as file:
        for number, sizes in enumerate(ROUNDS, start=1):
            print(f"round {number}: {sizes}", flush=True)
            for section, count in sizes.items():
                for label, jobs in jobs_of(section, count, seed):
                    for job in jobs:
                        if (section, label, job.seed) in done:
                            continue
                        item = {"section": section, "label": label, "seed": job.seed}
                        file.write(json.dumps({**item, "row": score(job)}, default=float) + "\n")
                        file.flush()
                        done.add((section, label, job.seed))


def _items(path: Path) -> list[dict[str, object]]:
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def tell_file(path: Path) -> None:
    """The tables of a file that `run_into` wrote."""
    found: dict[str, dict[str, Rows]] = {section: {} for section in LONG}
    for item in _items(path):
        lines = found[str(item["section"])]
        lines.setdefault(str(item["label"]), []).append(item["row"])  # type: ignore[arg-type]
    for section, lines in found.items():
        print(section)
        right = wrong = 0
        for label, rows in lines.items():
            claims = tell_line(section, label, rows)
            right, wrong = right + claims[0], wrong + claims[1]
        tell_totals(section, lines, right, wrong)


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
    how.add_argument("--told", type=Path, metavar="FILE", help="tell what FILE holds, run nothing")
    parser.add_argument("--into", type=Path, metavar="FILE", help="with --long: where scores go")
    parser.add_argument("--only", choices=[*LONG, "speed"], action="append", help="one section")
    parser.add_argument("--count", type=int, help="histories a line (default: by --short/--long)")
    parser.add_argument("--line", help="with --only: lines that begin so, as 'outdoor'")
    parser.add_argument("--family", choices=FAMILIES, default="tune", help="which seeds")
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    arguments = parser.parse_args()
    if arguments.told:
        tell_file(arguments.told)
        return
    begun = clock.perf_counter()
    if arguments.into:
        run_into(arguments.into, FAMILIES[arguments.family])
    else:
        _run_sections(arguments)
    print(f"took {clock.perf_counter() - begun:.0f} s")


def _run_sections(arguments: argparse.Namespace) -> None:
    sizes = LONG if arguments.long else SHORT
    seed = FAMILIES[arguments.family]
    for section in LONG:
        if arguments.only is None or section in arguments.only:
            count = arguments.count or sizes[section]
            run_section(section, count, seed, arguments.workers, arguments.line)
    if arguments.only is None or "speed" in arguments.only:
        run_speed(365.25 if arguments.long else 60)


if __name__ == "__main__":
    main()
