"""Cost of judging one poll: a row at a time as the daemon does, against whole blocks.

    python -m tests.bench.judge_poll

Prints microseconds of the processor (other work on the computer does not count) a row for rows that
close no window, for rows that do, for the one that closes an hour and the day with it, and for
those after it, in which the work of the day is done in parts; and what encoding the state costs.
The state is that of a link watched for 60 days; the rows are the first two hours of a day.
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
    begun = time.process_time()
    for piece in pieces[:2]:
        state, _ = engine.advance(facts, state, piece)
    bulk = (time.process_time() - begun) / sum(len(piece) for piece in pieces[:2])
    plain: list[float] = []
    closing: list[float] = []
    days: list[float] = []
    parts: list[float] = []
    last = pieces[2]
    window = -1
    for number in range(480):
        row = last.part(number, number + 1)
        opened = int(row.data[Col.TIME, 0]) // 300_000
        due = max(way.due for way in state.slow.directions)
        begun = time.process_time()
        state, _ = engine.advance(facts, state, row)
        took = time.process_time() - begun
        left = max(way.due for way in state.slow.directions)
        which = plain if opened == window else days if left > due else parts if due else closing
        which.append(took)
        window = opened
    begun = time.process_time()
    size = len(engine.encode(state))
    coded = time.process_time() - begun
    for number in (480, 481):
        state, _ = engine.advance(facts, state, last.part(number, number + 1))
        if number == 480:
            engine.encode(state)
    begun = time.process_time()
    engine.encode(state)
    again = time.process_time() - begun
    print(f"a row in bulk            {1e6 * bulk:8.1f} µs")
    print(f"a row that closes nothing{1e6 * statistics.median(plain):8.1f} µs (median)")
    for name, costs in (
        ("closes a window", closing),
        ("closes an hour and a day", days),
        ("does a part of the day's work", parts),
    ):
        told = (
            f"{1e6 * statistics.median(costs):8.1f} µs (median), {1e6 * max(costs):.0f} µs (most)"
        )
        print(f"a row that {name:<30}{told}, {len(costs)} rows")
    print(
        f"encoding the state       {1e6 * coded:8.1f} µs once a window, {1e6 * again:.1f} µs after "
        f"any other row, {size} bytes"
    )


if __name__ == "__main__":
    main()
