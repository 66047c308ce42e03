"""Assess a made history out of CSV text: processor seconds to read it by columns and row by row.

    python -m tests.bench.judge_csv --days 365

Both readers and the judgement run in one process on the same text; seconds are of the processor,
so that other work on the computer does not count.
"""

from __future__ import annotations

import argparse
import gc
import resource
import time as clock
from collections.abc import Iterable, Iterator
from itertools import islice

import numpy as np
from tests.bench.proving_feed import facts_for
from tests.bench.proving_plant import CLASSES, START_S, History, make

from strandkeeper.analysis import engine
from strandkeeper.model.block import Block
from strandkeeper.readers.history_columns import read_blocks
from strandkeeper.readers.history_csv import COLUMNS, read_history

AT_ONCE = 50_000


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


def judge_all(blocks: Iterator[Block]) -> float:
    """Processor seconds to read and judge."""
    begun = clock.process_time()
    facts = facts_for()
    state = engine.initial(facts)
    for block in blocks:
        state, _ = engine.advance(facts, state, block)
    return clock.process_time() - begun


def main() -> None:
    """Make the text once, read it both ways, judge it once."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=float, default=60.0)
    days = parser.parse_args().days
    lines = list(lines_of(make(1, CLASSES["ordinary"], days=days)))
    gc.disable()
    columns, rows = spent(read_blocks(lines, AT_ONCE)), spent(by_rows(lines))
    both = judge_all(read_blocks(lines, AT_ONCE))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{days:g} days, {len(lines) - 1} rows: by columns {columns:.2f} s, by rows {rows:.2f} s "
        f"({rows / columns:.1f} times), read and judged {both:.2f} s, "
        f"peak {peak:.0f} MiB with the whole text in memory"
    )


if __name__ == "__main__":
    main()
