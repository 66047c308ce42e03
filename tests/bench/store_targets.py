"""What the record costs beside the plain way: bytes written a reading, a year's size and its chart.

    python -m tests.bench.store_targets [--cycles 120] [--days 365]

Bytes are those handed to the system (/proc/self/io, wchar), log and checkpoint included. The plain
way is a table clustered by port with a transaction a cycle, its ports already with an hour of
readings. A thousand links are written for --cycles cycles of 30 s; a day is 2,880 of them.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from store_child import LINKS, row
from store_speed import DAY_MS, T0, taken, year
from tests.bench.target import Target, report_all

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.store import Batch, open_reader, open_writer
from strandkeeper.store.readings import COLUMNS, encode_row

CYCLE_MS = 30_000
PLAIN_CYCLES, BEFORE = 20, 120
THOUSAND = [LinkName(f"link {n}") for n in range(1000)]


def written() -> int:
    """Bytes this process has handed to the system so far."""
    for line in Path("/proc/self/io").read_text().splitlines():
        if line.startswith("wchar"):
            return int(line.split()[1])
    raise KeyError("wchar")


def cycle(number: int) -> list[tuple[LinkName, EndRow]]:
    """Both ends of every link, once."""
    at = T0 + number * CYCLE_MS
    return [(link, row(at, end, number % 997)) for link in THOUSAND for end in End]


def ours(folder: Path, cycles: int) -> tuple[float, float]:
    """Bytes a reading with both tiers of summaries, and the CPU s of a day of a thousand links."""
    path = folder / "ours.db"
    writer = open_writer(path, reserve=False)
    writer.append(Batch(rows=cycle(-1)))
    before, begun = written(), time.process_time()
    for number in range(cycles):
        writer.append(Batch(rows=cycle(number)))
    writer.close()
    readings = cycles * 2 * len(THOUSAND)
    spent = (time.process_time() - begun) * 2880 / cycles
    size = path.stat().st_size / readings
    print(
        f"  a thousand links, {cycles} cycles: {size:.0f} B a reading in the file; by proportion "
        f"{size * 2880 * 2000 / 1e9:.2f} GB and {spent:.0f} s CPU a day"
    )
    return (written() - before) / readings, spent


def plainly(folder: Path) -> float:
    """Bytes a reading of the table clustered by port."""
    database = sqlite3.connect(folder / "plain.db", isolation_level=None)
    database.execute("PRAGMA journal_mode = WAL")
    database.execute("PRAGMA synchronous = FULL")
    columns = COLUMNS.replace("id,", "port_id INTEGER, time_ms INTEGER,", 1)
    database.execute(
        f"CREATE TABLE reading ({columns}, PRIMARY KEY (port_id, time_ms)) WITHOUT ROWID"
    )
    marks = ", ".join("?" * (columns.count(",") + 1))

    def cells(port: int, number: int) -> tuple[object, ...]:
        one = row(T0 + number * CYCLE_MS, End(port % 2), number % 997)
        return (port, one.time_ms, *encode_row(port, one, None)[1:])

    def put(rows: list[tuple[object, ...]]) -> None:
        database.execute("BEGIN")
        database.executemany(f"INSERT INTO reading VALUES ({marks})", rows)
        database.execute("COMMIT")

    for port in range(2 * len(THOUSAND)):
        put([cells(port, number) for number in range(BEFORE)])
    before = written()
    for number in range(BEFORE, BEFORE + PLAIN_CYCLES):
        put([cells(port, number) for port in range(2 * len(THOUSAND))])
    database.close()
    return (written() - before) / (PLAIN_CYCLES * 2 * len(THOUSAND))


def chart(path: Path, days: int) -> tuple[float, float]:
    """CPU ms of a year's chart of one end, and of fetching its five-minute rows; by turns.

    The chart has all its figures, the rows only those of the receive power: fetching the same
    figures would cost three times as much.
    """
    reader = open_reader(path)
    end_ms = T0 + days * DAY_MS
    raw = sqlite3.connect(path)
    question = "SELECT id, rx_min_mdbm, rx_sum_mdbm, rx_max_mdbm FROM five_minutes WHERE id & 1 = 0"
    drawn, fetched = [], []
    for _ in range(9):
        drawn.append(taken(lambda: reader.series(LINKS[0], End.A, T0, end_ms, 1000), 1))
        fetched.append(taken(lambda: raw.execute(question).fetchall(), 1))
    reader.close()
    raw.close()
    return statistics.median(drawn) * 1e3, statistics.median(fetched) * 1e3


def main() -> int:
    """Print and report; 1 if a target is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cycles", type=int, default=120)
    parser.add_argument("--days", type=int, default=365)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="store-targets-") as place:
        folder = Path(place)
        a_reading, _ = ours(folder, given.cycles)
        plain = plainly(folder)
        with contextlib.redirect_stdout(io.StringIO()):
            path = year(folder, given.days)
        size = (folder / "compact.db").stat().st_size / 1e6 * 365 / given.days
        drawn, fetched = chart(path, given.days)
    span = "a year" if given.days == 365 else f"{given.days} days, made a year by proportion"
    found = [
        Target(subject="store", name="written, rows with their summaries", unit="B/reading",
               ours=a_reading, baseline=plain, limit=1 / 15, of="ratio",
               beside="clustered by port"),
        Target(subject="store", name=f"one link at 30 s, {span}", unit="MB", ours=size, limit=60.0,
               of="ours"),
        Target(subject="store", name="a year's chart of one end", unit="ms CPU", ours=drawn,
               baseline=fetched, limit=1 / 8, of="ratio",
               beside="fetch its 5-minute rows, receive power"),
    ]  # fmt: skip
    return int(not report_all(found))


if __name__ == "__main__":
    sys.exit(main())
