"""Assess a made history out of a CSV file: processor seconds and memory of the whole command.

    python -m tests.bench.judge_csv --days 365

The file is written first; `strandkeeper assess` then reads and judges it in a process of its own,
whose processor seconds and largest memory are told. Beside it, in this process on the first days:
reading by columns against row by row, and with a quoted cell every ten thousand lines.
"""

from __future__ import annotations

import argparse
import gc
import subprocess
import sys
import tempfile
import time as clock
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

import numpy as np
from tests.bench.proving_plant import CLASSES, START_S, History, make

from strandkeeper.model.block import Block
from strandkeeper.readers.history_columns import read_blocks
from strandkeeper.readers.history_csv import COLUMNS, read_history

AT_ONCE = 50_000
QUOTED_EVERY = 10_000
# the child tells of itself: what it inherits of its parent's memory at the fork is not its own
CHILD = """
import sys, time
from strandkeeper.cli.main import main
main(sys.argv[1:])
status = dict(line.split(":", 1) for line in open("/proc/self/status"))
print(time.process_time(), status["VmHWM"].split()[0], file=sys.stderr)
"""


def lines_of(history: History) -> Iterator[str]:
    """The history as text, both ends in turn."""
    yield ",".join((*COLUMNS, "module_id")) + "\n"
    start = np.datetime64(START_S * 1000, "ms")
    at = start + np.rint(history.time * 1000).astype("m8[ms]")
    texts = np.datetime_as_string(at, unit="s")
    totals = np.cumsum(history.frames, axis=1)
    for number, text in enumerate(texts):
        for end in (0, 1):
            if not history.answered[end, number]:
                yield f"{text}Z,{'AB'[end]}{',' * 13}\n"
                continue
            up = history.time[number] - history.boot[end, number]
            frames = totals[end, number]
            yield (
                f"{text}Z,{'AB'[end]},{history.rx[end, number]:.2f},{history.tx[end, number]:.2f},"
                f"{history.bias[end, number]:.2f},{history.temp[end, number]:.2f},3.3,up,{up:.2f},"
                f"{frames * 700},{frames * 300},{frames},0,0,part {end}\n"
            )


def by_rows(lines: Iterable[str]) -> Iterator[Block]:
    """The row reader's blocks."""
    rows = read_history(lines)
    while piece := list(islice(rows, AT_ONCE)):
        yield Block.from_rows(piece)


def spent(blocks: Iterator[Block]) -> float:
    """Processor seconds to go through the blocks."""
    begun = clock.process_time()
    for _ in blocks:
        pass
    return clock.process_time() - begun


def quoted(lines: list[str]) -> list[str]:
    """The same text with a quoted cell now and then."""
    return [
        line.replace(",up,", ',"up",') if number % QUOTED_EVERY == 1 else line
        for number, line in enumerate(lines)
    ]


def assess(history: History) -> tuple[float, float, int, int]:
    """Processor and clock seconds of the command, its memory [MiB], and the file's size [MB]."""
    with tempfile.TemporaryDirectory() as directory:
        path = Path(directory) / "year.csv"
        with path.open("w", encoding="utf-8") as file:
            file.writelines(lines_of(history))
        command = [sys.executable, "-c", CHILD, "assess", str(path), "--json"]
        command += ["--pmd", "1000BASE-LX10"]
        begun = clock.perf_counter()
        told = subprocess.run(command, check=True, capture_output=True, text=True)
        took = clock.perf_counter() - begun
        cpu, peak = told.stderr.split()[-2:]
        size = path.stat().st_size // 1_000_000
    return float(cpu), took, int(peak) // 1024, size


def main() -> None:
    """The whole command on the whole file, then both readers on its first days."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=float, default=60.0)
    parser.add_argument("--beside", type=float, default=10.0, help="days read both ways")
    arguments = parser.parse_args()
    history = make(1, CLASSES["ordinary"], days=arguments.days)
    cpu, took, peak, size = assess(history)
    rows = 2 * len(history.time)
    print(
        f"assess, {arguments.days:g} days, {rows} rows, {size} MB: {cpu:.2f} s of processor, "
        f"{took:.2f} s by the clock, {peak} MiB at most"
    )
    lines = list(lines_of(make(1, CLASSES["ordinary"], days=arguments.beside)))
    gc.disable()
    columns, by_row = spent(read_blocks(lines, AT_ONCE)), spent(by_rows(lines))
    with_quotes = spent(read_blocks(quoted(lines), AT_ONCE // 10))
    print(
        f"reading alone, {arguments.beside:g} days: by columns {columns:.2f} s, by rows "
        f"{by_row:.2f} s ({by_row / columns:.1f} times), a quoted cell in every "
        f"{QUOTED_EVERY} lines {with_quotes:.2f} s"
    )


if __name__ == "__main__":
    main()
