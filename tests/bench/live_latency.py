"""How long a change at an agent takes to be readable in the record while somebody looks on live.

    .venv/bin/python tests/bench/live_latency.py

One run, side by side: the delays of 20 changes as shares of the one-second poll interval. A change
falls anywhere between two polls, so half an interval on the average cannot be saved.
"""

from __future__ import annotations

import asyncio
import random
import statistics
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.end_to_end import test_rework_story as story

from strandkeeper.model.entry import EntryKind
from strandkeeper.store import rework

CHANGES = 20


async def measure(folder: Path) -> list[float]:
    """Delays in seconds."""
    delays: list[float] = []
    chance = random.Random(1)
    async for stage in story._stage(folder, 10, 30, story._fast_port):
        await stage.until("light", lambda r: bool(r.latest(story.SHORE, with_optics=True)))
        await stage.ask(EntryKind.LIVE)
        await stage.until("granted", lambda r: bool(r.ask(rework.live_grants)))
        await asyncio.sleep(3)
        for number in range(CHANGES):
            if number % 6 == 0:
                await stage.ask(EntryKind.LIVE)
            await asyncio.sleep(chance.random())
            raw = story.GOOD if number % 2 else story.HALF
            stage.pump.sensor(1, story.RX, raw)
            set_s = time.monotonic()
            await stage.until("shown", partial(story._shown, raw=raw))
            delays.append(time.monotonic() - set_s)
    return delays


def main() -> None:
    """Print the shares."""
    with tempfile.TemporaryDirectory() as folder:
        delays = sorted(asyncio.run(measure(Path(folder))))
    print(f"{CHANGES} changes, one poll a second; delay as a share of the poll interval:")
    print(f"  middle {statistics.median(delays):.2f}, 90 % {delays[int(CHANGES * 0.9) - 1]:.2f}, ")
    print(f"  longest {delays[-1]:.2f}")


if __name__ == "__main__":
    main()
