"""The checks of tests/bench/soak.py: of what was seen while it ran, and of the record it left."""

from __future__ import annotations

import contextlib
import itertools
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from tests.bench.soak_ledger import (
    DAY_MS,
    FIVE_MINUTES_MS,
    HOUR_MS,
    Cells,
    End_,
    Key,
    Row,
    plain_sums,
    read_ledger,
)
from tests.bench.soak_plant import DAY_S, ENDS, START_S, Pace

from strandkeeper.model.settings import Retention

EXPIRE_S: Final = 3600
SETTLE_S: Final = 3_960  # the last day is judged in the windows after it

# Limits. Bytes that are alive: DEVELOPERS.md allows the state of a link 34 kB as written, which is
# some ten times as much as objects; common practice, no source.
MOST_RSS_MB: Final = 6.0
MOST_BLOCKS: Final = 8_000  # of some 60 octets in the middle
MOST_TRACED_KB: Final = 150.0
MOST_WAITING: Final = 60
MOST_TASKS: Final = 24
# Octets of a row in the file: some 20 columns of 1 to 3 octets and a key; of a summary: 40 columns.
# Measured on records of the daemon; what else there is (verdicts, states, events) is a constant.
READING_B: Final = 60
SUMMARY_B: Final = 120
REST_B: Final = 200_000


@dataclass
class Outcome:
    """What the run showed; memory by sample, counts by name with what the intervals say."""

    days: int = 0
    pace: Pace = field(default_factory=Pace)
    took_s: float = 0.0
    rss_mb: list[float] = field(default_factory=list)
    blocks: list[int] = field(default_factory=list)
    traced_kb: list[float] = field(default_factory=list)
    counted: dict[str, int] = field(default_factory=dict)
    wanted: dict[str, float] = field(default_factory=dict)
    batches: int = 0
    hurried: int = 0  # batches that did not wait, because of news or an alert
    longest_batch: int = 0
    most_waiting: int = 0
    most_tasks: int = 0
    left_waiting: int = 0
    messages: int = 0
    refused: int = 0
    errors: list[str] = field(default_factory=list)

    @property
    def span_s(self) -> int:
        return self.days * DAY_S + SETTLE_S


def retention_of(days: int) -> Retention:
    """A sixth of the time for raw rows, half for five-minute rows, a day at least."""
    return Retention(raw_days=max(1, days // 6), five_minutes_days=max(1, days // 2))


@dataclass(frozen=True)
class Check:
    """One line of the table."""

    name: str
    said: str
    good: bool


def judge(outcome: Outcome, folder: Path) -> list[Check]:
    """Every check: of the run, and of the record it left."""
    rows = read_ledger(folder / "ledger")
    checks = [*of_run(outcome)]
    with contextlib.closing(sqlite3.connect(folder / "record.db")) as database:
        database.row_factory = sqlite3.Row
        ends = {
            number * 2 + end: (name, end)
            for number, name in database.execute("SELECT id, name FROM link")
            for end in (0, 1)
        }
        checks += _of_sums(outcome, rows, database, ends)
        checks += _of_retention(outcome, rows, database, ends)
        checks.append(_of_doubles(outcome, database))
        checks.append(_of_size(database, folder / "record.db"))
    return checks


def of_run(outcome: Outcome) -> list[Check]:
    """The checks of what was seen while it ran."""
    rss, traced = outcome.rss_mb, outcome.traced_kb
    days = [f"{n * outcome.days / 3:g}" for n in (1, 2, 3)]
    grown_mb = max(rss) - rss[0]
    blocks = outcome.blocks[-1] - outcome.blocks[0]
    grown_kb = traced[-1] - traced[0]
    off = {n: outcome.counted[n] - wanted for n, wanted in outcome.wanted.items()}
    worst = max(off, key=lambda name: abs(off[name]))
    # A batch is looked for once a tick, so it is at most a tick late.
    pace = outcome.pace
    fewest = outcome.span_s / (pace.batch_s + pace.tick_s) - 1
    most = outcome.span_s / pace.batch_s + outcome.hurried + 2
    most_rows = ENDS * (pace.batch_s // pace.status_s + 2)
    return [
        Check(
            "memory of its own, MB",
            ", ".join(f"day {d}: {mb:.1f}" for d, mb in zip(days, rss, strict=True))
            + f" (may grow {MOST_RSS_MB:g})",
            grown_mb <= MOST_RSS_MB,
        ),
        Check(
            "blocks, second half",
            f"{blocks:+} (may grow {MOST_BLOCKS})",
            blocks <= MOST_BLOCKS,
        ),
        Check(
            "traced, last sixth",
            f"{grown_kb:+.0f} kB to {traced[-1]:.0f} kB (may grow {MOST_TRACED_KB:g})",
            grown_kb <= MOST_TRACED_KB,
        ),
        *(
            Check(
                name,
                f"{outcome.counted[name]}, the interval says {wanted:.1f}",
                abs(off[name]) <= 1,
            )
            for name, wanted in outcome.wanted.items()
        ),
        Check("furthest off its interval", f"{worst}: {off[worst]:+.1f}", abs(off[worst]) <= 1),
        Check(
            "batches",
            f"{outcome.batches}, {outcome.hurried} of them early; {fewest:.0f} to {most:.0f}",
            fewest <= outcome.batches <= most,
        ),
        Check(
            "rows waiting for a batch",
            f"{outcome.longest_batch} at most (may be {most_rows})",
            outcome.longest_batch <= most_rows,
        ),
        Check(
            "messages waiting",
            f"{outcome.most_waiting} at most (may be {MOST_WAITING}), {outcome.left_waiting} left; "
            f"{outcome.messages} sent, {outcome.refused} tries refused",
            outcome.most_waiting <= MOST_WAITING and outcome.left_waiting == 0 < outcome.messages,
        ),
        Check(
            "tasks at once",
            f"{outcome.most_tasks} at most (may be {MOST_TASKS})",
            outcome.most_tasks <= MOST_TASKS,
        ),
        Check(
            "errors logged",
            f"{len(outcome.errors)}" + "".join(f"; {e}" for e in outcome.errors[:3]),
            not outcome.errors,
        ),
    ]


def _cut_ms(outcome: Outcome, keep_days: int, span_ms: int) -> int:
    """Rows older than this are gone: the last expire ran at the last whole hour."""
    last_ms = START_S * 1000 + outcome.span_s // EXPIRE_S * HOUR_MS
    return (last_ms - keep_days * DAY_MS) // span_ms * span_ms


def _of_sums(
    outcome: Outcome, rows: list[Row], database: sqlite3.Connection, ends: Mapping[int, End_]
) -> list[Check]:
    newest_ms = max(row.time_ms for row in rows)
    kept = retention_of(outcome.days)
    stored: dict[Key, Cells] = {}
    for row in database.execute("SELECT * FROM five_minutes"):
        stored[ends[row["id"] & 65535], row["id"] >> 16] = _cells(row)
    hours: dict[Key, Cells] = {}
    for row in database.execute("SELECT * FROM hours"):
        hours[ends[row["id"] >> 32], (row["id"] & 0xFFFFFFFF) * HOUR_MS] = _cells(row)
    days: dict[Key, list[Cells]] = defaultdict(list)
    for (end, start_ms), cells in hours.items():
        days[end, start_ms // DAY_MS * DAY_MS].append(cells)
    summed = {key: _added(parts) for key, parts in days.items()}
    return [
        _compared(
            "five-minute rows",
            stored,
            rows,
            FIVE_MINUTES_MS,
            newest_ms,
            _cut_ms(outcome, kept.five_minutes_days, HOUR_MS),
        ),
        _compared("hour rows", hours, rows, HOUR_MS, newest_ms, 0),
        _compared("days out of hour rows", summed, rows, DAY_MS, newest_ms, 0),
        _of_day_stats(outcome, rows, database, ends),
    ]


def _cells(row: sqlite3.Row) -> Cells:
    return {name: row[name] for name in row.keys() if name != "id"}


def _added(parts: list[Cells]) -> Cells:
    """A summary of summaries: least, greatest or sum, by the column's name."""
    cells: Cells = {}
    for name in parts[0]:
        known = [value for part in parts if (value := part[name]) is not None]
        how: Callable[[list[int]], int] = (
            min if "_min_" in name else max if "_max_" in name else sum
        )
        cells[name] = how(known) if known else None
    return cells


def _compared(
    name: str,
    stored: Mapping[Key, Cells],
    rows: list[Row],
    span_ms: int,
    newest_ms: int,
    from_ms: int,
) -> Check:
    """Stored against plain, every column; an open period is not summed up yet."""
    until_ms = newest_ms // span_ms * span_ms
    plain = {k: c for k, c in plain_sums(rows, span_ms).items() if from_ms <= k[1] < until_ms}
    found = {k: c for k, c in stored.items() if k[1] < until_ms}
    missing, strange = plain.keys() - found.keys(), found.keys() - plain.keys()
    wrong = [
        (k, c)
        for k in plain.keys() & found.keys()
        for c in plain[k] | found[k]
        if plain[k].get(c, "?") != found[k].get(c, "?")
    ]
    first = "" if not wrong else f", first {min(wrong)}"
    return Check(
        name,
        f"{len(plain)}: {len(missing)} missing, {len(strange)} too many, "
        f"{len(wrong)} figures differ{first}",
        bool(plain) and not (missing or strange or wrong),
    )


def _of_day_stats(
    outcome: Outcome, rows: list[Row], database: sqlite3.Connection, ends: Mapping[int, End_]
) -> Check:
    """Each closed day of each direction: how many readings had light, and the level they had."""
    plain: dict[Key, list[int]] = defaultdict(list)
    for row in rows:
        value = row.powers["rx"][1]
        if value is not None:
            plain[row.end, row.time_ms // DAY_MS * DAY_MS].append(value)
    found = {}
    for row in database.execute("SELECT direction_id, start_ms, n, rx_mdbm FROM day_stats"):
        name, direction = ends[row["direction_id"]]
        found[(name, 1 - direction), row["start_ms"]] = (row["n"], row["rx_mdbm"])  # its receiver
    closed = {k: v for k, v in plain.items() if k[1] < START_S * 1000 + outcome.days * DAY_MS}
    missing = closed.keys() ^ found.keys()
    # The level is a median of medians of noise and a day's swing: within a few hundredths of a dB.
    wrong = [
        key
        for key in closed.keys() & found.keys()
        if found[key][0] != len(closed[key])
        or abs((found[key][1] or 0) - sorted(closed[key])[len(closed[key]) // 2]) > 30
    ]
    return Check(
        "day medians",
        f"{len(closed)}: {len(missing)} missing or too many, {len(wrong)} differ"
        + "".join(f", {k}: {found[k]} for {len(closed[k])}" for k in sorted(wrong)[:1]),
        bool(closed) and not (missing or wrong),
    )


def _of_retention(
    outcome: Outcome, rows: list[Row], database: sqlite3.Connection, ends: Mapping[int, End_]
) -> list[Check]:
    kept = retention_of(outcome.days)
    cut_ms = _cut_ms(outcome, kept.raw_days, FIVE_MINUTES_MS)
    handed = [(row.end, row.time_ms) for row in rows]
    wanted = {key for key in handed if key[1] >= cut_ms}
    found = {
        (ends[key & 65535], key >> 16) for (key,) in database.execute("SELECT id FROM reading")
    }
    five_ms = _cut_ms(outcome, kept.five_minutes_days, HOUR_MS)
    oldest_ms = database.execute("SELECT min(id) >> 16 FROM five_minutes").fetchone()[0]
    lost, late = len(wanted - found), len(found - wanted)
    return [
        Check(
            f"raw rows, kept {kept.raw_days} d",
            f"{len(found)} of {len(handed)}: {lost} lost, {late} past their time or invented",
            not (lost or late) and len(found) < len(handed) == len(set(handed)),
        ),
        Check(
            f"five minutes, kept {kept.five_minutes_days} d",
            f"oldest {(oldest_ms - five_ms) / 60_000:g} min after the cut",
            oldest_ms == five_ms,
        ),
    ]


def _of_doubles(outcome: Outcome, database: sqlite3.Connection) -> Check:
    """No poll as two rows, no event, alert, step or message twice."""
    found = {}
    apart = defaultdict(list)
    for (key,) in database.execute("SELECT id FROM reading ORDER BY id"):
        apart[key & 65535].append(key >> 16)
    half_ms = outcome.pace.status_s * 500
    found["reading"] = sum(
        b - a < half_ms for times in apart.values() for a, b in itertools.pairwise(times)
    )
    for table, columns in (
        ("event", "link_id, time_ms, kind, end, direction, text"),
        ("alert_transition", "alert, before, event, after, at_ms"),
        ("alert", "link, direction, end, kind, began_ms"),
        ("outbox", "target, message"),
    ):
        found[table] = database.execute(
            f"SELECT coalesce(sum(n - 1), 0) FROM "
            f"(SELECT count(*) AS n FROM {table} GROUP BY {columns})"
        ).fetchone()[0]
        found[table + "s"] = database.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
    twice = sum(found[t] for t in ("reading", "event", "alert_transition", "alert", "outbox"))
    return Check(
        "rows twice",
        f"{twice}; {found['events']} events, {found['alerts']} alerts, {found['outboxs']} messages",
        twice == 0 < found["events"],
    )


def _of_size(database: sqlite3.Connection, record: Path) -> Check:
    """The file and its log beside what its rows need by themselves."""
    counts = {
        table: database.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
        for table in ("reading", "five_minutes", "hours")
    }
    summaries = counts["five_minutes"] + counts["hours"]
    wanted = counts["reading"] * READING_B + summaries * SUMMARY_B + REST_B
    size = sum(
        p.stat().st_size
        for p in record.parent.glob(record.name + "*")
        if p.name in (record.name, record.name + "-wal")
    )
    return Check(
        "file, MB",
        f"{size / 1e6:.2f}, its rows say {wanted / 1e6:.2f}",
        0.7 <= size / wanted <= 1.3,
    )
