"""What the record costs: bytes, syncs, time; each figure beside another way of doing it.

    .venv/bin/python tests/bench/store_speed.py [--days 365] [--rows 700000]

Printed are ratios measured side by side in one run; absolute figures are of the machine it ran on.
"""

from __future__ import annotations

import argparse
import random
import resource
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from store_child import LINKS, row, verdict

from strandkeeper.model.names import End
from strandkeeper.model.reading import EndRow
from strandkeeper.model.settings import Retention
from strandkeeper.store import Batch, open_reader, open_writer
from strandkeeper.store.readings import COLUMNS, encode_row

T0 = 1_761_955_200_000  # on the hour
DAY_MS = 86_400_000
LINK = LINKS[0]


def rows_of(days: float, step_ms: int = 30_000, most: int | None = None) -> Iterator[EndRow]:
    """Both ends of one link with noise in every figure."""
    chance = random.Random(3)
    made = 0
    for at in range(0, int(days * DAY_MS), step_ms):
        for end in End:
            yield row(T0 + at, end, chance.randrange(1000))
            made += 1
            if made == most:
                return


def taken(work: Callable[[], object], times: int = 5) -> float:
    """The median of so many runs, in s of process time."""
    spent = []
    for _ in range(times):
        begin = time.process_time()
        work()
        spent.append(time.process_time() - begin)
    return statistics.median(spent)


def bulk(folder: Path, count: int) -> None:
    """Bring in many rows, beside the same rows appended in batches of 20 s and in plain SQL."""
    rows = list(rows_of(10_000, most=count))
    path = folder / "bulk.db"
    writer = open_writer(path, reserve=False)
    begin = time.perf_counter()
    bringing = writer.begin_import(LINK)
    for start in range(0, count, 20_000):
        bringing.add(rows[start : start + 20_000])
    bringing.finish(Batch())
    spent = time.perf_counter() - begin
    writer.close()

    plain = sqlite3.connect(folder / "plain.db")
    plain.execute(f"CREATE TABLE reading ({COLUMNS.replace('id,', 'id INTEGER PRIMARY KEY,', 1)})")
    begin = time.perf_counter()
    plain.executemany(
        f"INSERT INTO reading VALUES ({', '.join('?' * 20)})",
        (encode_row(2 + one.end, one, None) for one in rows),
    )
    plain.commit()
    plainly = time.perf_counter() - begin
    plain.close()
    print(
        f"import: {count} rows with both tiers of summaries in {spent:.1f} s, "
        f"{spent / plainly:.1f} x the bare insert of the same rows ({plainly:.1f} s)"
    )


def year(folder: Path, days: int) -> Path:
    """A year of one link as the daemon would leave it, and its size."""
    path = folder / "year.db"
    writer = open_writer(path, reserve=False)
    step = 10
    for start in range(0, days, step):
        bringing = writer.begin_import(LINK)
        first = start * DAY_MS
        chunk = [
            row(T0 + first + at, end, at // 30_000 % 997)
            for at in range(0, min(step, days - start) * DAY_MS, 30_000)
            for end in End
        ]
        bringing.add(chunk)
        bringing.finish(Batch())
        while writer.expire(T0 + first + step * DAY_MS, Retention(), trusted=True):
            pass
    writer.append(Batch(verdicts=[verdict(LINK, T0, 1)]))
    writer.close()
    compact = folder / "compact.db"
    source = sqlite3.connect(path)
    source.execute(f"VACUUM INTO '{compact}'")
    parts = dict(source.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name").fetchall())
    counts = {
        name: source.execute(f"SELECT count(*) FROM {name}").fetchone()[0]
        for name in ("reading", "five_minutes", "hours")
    }
    source.close()
    print(
        f"a year of one link: {path.stat().st_size / 1e6:.1f} MB as the file stands, "
        f"{compact.stat().st_size / 1e6:.1f} MB of it in use"
    )
    for name, count in counts.items():
        print(f"  {name}: {count} rows, {parts[name] / count:.1f} B a row")
    return path


def charts(path: Path, days: int) -> None:
    """Each range from its tier; a year from the hours beside a year from the five minutes."""
    reader = open_reader(path)
    end_ms = T0 + days * DAY_MS
    for name, length in (
        ("1 hour", 3_600_000),
        ("1 day", DAY_MS),
        ("7 days", 7 * DAY_MS),
        ("30 days", 30 * DAY_MS),
        ("1 year", 365 * DAY_MS),
    ):
        series = reader.series(LINK, End.A, end_ms - length, end_ms, 1000)
        spent = taken(lambda: reader.series(LINK, End.A, end_ms - length, end_ms, 1000))  # noqa: B023
        print(f"  {name}: {spent * 1000:.1f} ms, {len(series)} points of {series.tier.value}")
    hours = taken(
        lambda: reader._connection.execute(
            "SELECT id, rx_min_mdbm, rx_sum_mdbm, rx_max_mdbm FROM hours WHERE id / 4294967296 = 2"
        ).fetchall()
    )
    fives = taken(
        lambda: reader._connection.execute(
            "SELECT id, rx_min_mdbm, rx_sum_mdbm, rx_max_mdbm FROM five_minutes WHERE id & 1 = 0"
        ).fetchall()
    )
    print(f"  a year's rows out of the hours: {hours / fives:.3f} x those out of the five minutes")
    reader.close()


def appending(folder: Path) -> None:
    """CPU of a batch of a small station and of a large one, beside a transaction a switch."""
    for ends, batches in ((4, 500), (2000, 30)):
        links = [f"link {n}" for n in range(ends // 2)]
        path = folder / f"append{ends}.db"
        writer = open_writer(path, reserve=False)
        writer.append(Batch(rows=[(link, row(T0 - 30_000, End.A, 0)) for link in links]))  # type: ignore[misc]

        def batch(number: int, some: list[str]) -> Batch:
            at = T0 + number * 30_000
            return Batch(rows=[(link, row(at, end, number)) for link in some for end in End])  # type: ignore[misc]

        together = [batch(number, links) for number in range(batches)]
        begin = time.process_time()
        for one in together:
            writer.append(one)
        spent = (time.process_time() - begin) / batches / ends
        apart = [batch(batches + number, [link]) for number in range(3) for link in links]
        begin = time.process_time()
        for one in apart:
            writer.append(one)
        alone = (time.process_time() - begin) / 3 / ends
        writer.close()
        print(
            f"append, {ends} ends: {spent * 1e6:.1f} us CPU a row in one transaction a batch "
            f"(summaries included), {alone / spent:.1f} x that with a transaction a link"
        )


def main() -> None:
    """Run everything."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--rows", type=int, default=700_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="store-speed-") as name:
        folder = Path(name)
        appending(folder)
        charts(year(folder, options.days), options.days)
        bulk(folder, options.rows)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB (most of it the rows of the import, held for the bench)")


if __name__ == "__main__":
    main()
