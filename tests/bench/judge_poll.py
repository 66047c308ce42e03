"""Cost of judging one poll: a row at a time as the daemon does, against whole blocks.

    python -m tests.bench.judge_poll

Prints milliseconds a row for rows that close no window, for rows that do, and the share of a bulk
row; and what encoding the state costs. The state is that of a link watched for 60 days.
"""

from __future__ import annotations

import statistics
import time

from tests.bench.proving_feed import blocks, facts_for
from tests.bench.proving_plant import CLASSES, make

from strandkeeper.analysis import engine
from strandkeeper.model.block import Col


def main() -> None:
    """Warm a state on 60 days, then feed two hours row by row."""
    history = make(7, CLASSES["ordinary"], days=60.1, troubles=False)
    pieces = list(blocks(history, rows=172_800))
    facts = facts_for()
    state = engine.initial(facts)
    begun = time.perf_counter()
    for piece in pieces[:2]:
        state, _ = engine.advance(facts, state, piece)
    bulk = (time.perf_counter() - begun) / sum(len(piece) for piece in pieces[:2])
    plain: list[float] = []
    closing: list[float] = []
    last = pieces[2]
    window = -1
    for number in range(480):
        row = last.part(number, number + 1)
        opened = int(row.data[Col.TIME, 0]) // 300_000
        begun = time.perf_counter()
        state, _ = engine.advance(facts, state, row)
        took = time.perf_counter() - begun
        (closing if opened != window else plain).append(took)
        window = opened
    begun = time.perf_counter()
    size = len(engine.encode(state))
    coded = time.perf_counter() - begun
    for number in (480, 481):
        state, _ = engine.advance(facts, state, last.part(number, number + 1))
        if number == 480:
            engine.encode(state)
    begun = time.perf_counter()
    engine.encode(state)
    again = time.perf_counter() - begun
    print(f"a row in bulk            {1e6 * bulk:8.1f} µs")
    print(f"a row that closes nothing{1e6 * statistics.median(plain):8.1f} µs (median)")
    print(
        f"a row that closes windows{1e6 * statistics.median(closing):8.1f} µs (median), "
        f"{1e6 * max(closing):.0f} µs (most: an hour or a day closes too)"
    )
    print(
        f"encoding the state       {1e6 * coded:8.1f} µs once a window, {1e6 * again:.1f} µs after "
        f"any other row, {size} bytes"
    )


if __name__ == "__main__":
    main()
