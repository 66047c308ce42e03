"""How long a change at a switch takes to be in the record, and on a phone's screen, while somebody
looks on live.

    .venv/bin/python tests/bench/live_latency.py [--changes N]

Real agents over UDP, the real daemon, the real pages, a real browser of 390 x 844. Both delays are
taken of the same changes in one run, and printed as shares of the one-second poll interval: a
change falls anywhere between two polls, so half an interval on the average cannot be saved. The
target is 1.5 intervals to the screen. Ends with 1 if a change missed it or never came.
"""

from __future__ import annotations

import argparse
import asyncio
import random
import statistics
import sys
import tempfile
import time
from contextlib import closing
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from playwright.async_api import Page
from tests.end_to_end import test_rework_story as story
from tests.end_to_end.real_pages import phone

from strandkeeper.model.live import LiveGrant
from strandkeeper.store import RecordReader, rework

TARGET = 1.5
LONGEST_MS = 20_000
TEMPERATURE = 1
RAWS = {story.GOOD: "−10.0", story.HALF: "−13.0"}


async def measure(folder: Path, changes: int) -> tuple[list[float], list[float]]:
    """Delays in seconds: into the record, onto the screen."""
    record: list[float] = []
    screen: list[float] = []
    async for stage in story._stage(folder, 10, 30, story._fast_port):
        await stage.until("light", lambda r: bool(r.latest(story.SHORE, with_optics=True)))
        async with phone(stage.config) as (page, address, _):
            await page.goto(f"{address}/links/shore/rework")
            await page.get_by_role("button", name="Look once a second").click()
            await stage.until("granted", lambda r: bool(granted(r)))
            fresh = asyncio.create_task(renew(stage))
            await asyncio.sleep(25)  # until it is found out how often the switch renews its figures
            for number in range(changes):
                raw = story.GOOD if number % 2 else story.HALF
                into, onto = await one(stage, page, raw)
                record.append(into)
                screen.append(onto)
            with closing(stage.record()) as opened:
                print("granted:", *(f"a reading every {g.interval_s:g} s" for g in granted(opened)))
            fresh.cancel()
    return record, screen


def granted(record: RecordReader) -> list[LiveGrant]:
    """How often the link was polled for whoever looked."""
    return record.ask(rework.live_grants)


async def renew(stage: story.Stage) -> None:
    """The module's temperature moves in its last digit, as it does: the switch renews its table."""
    for number in range(100_000):
        for switch in (stage.pump, stage.lab):
            switch.sensor(1, TEMPERATURE, 350 + number % 7)
        await asyncio.sleep(0.25)


async def one(stage: story.Stage, page: Page, raw: int) -> tuple[float, float]:
    """One change at a moment that has nothing to do with the polls."""
    await asyncio.sleep(1.2 + random.random())
    stage.pump.sensor(1, story.RX, raw)
    set_s = time.monotonic()
    written = asyncio.create_task(stage.until("written", partial(story._shown, raw=raw)))
    written_s: list[float] = []
    written.add_done_callback(lambda _: written_s.append(time.monotonic()))
    await page.wait_for_function(
        "text => document.querySelector('.live-now strong').textContent === text",
        arg=RAWS[raw],
        timeout=LONGEST_MS,
        polling="raf",
    )
    onto_s = time.monotonic()
    await written
    await asyncio.sleep(0)
    return written_s[0] - set_s, onto_s - set_s


def line(name: str, delays: list[float]) -> str:
    """The distribution of one of the two."""
    found = sorted(delays)
    ninety = found[max(0, int(len(found) * 0.9) - 1)]
    return (
        f"{name:<14} least {found[0]:.2f}  middle {statistics.median(found):.2f}  "
        f"90 % {ninety:.2f}  longest {found[-1]:.2f}"
    )


def main() -> int:
    """Print both distributions."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n", maxsplit=1)[0])
    parser.add_argument("--changes", type=int, default=40, help="changes at the switch (40)")
    changes = parser.parse_args().changes
    with tempfile.TemporaryDirectory() as folder:
        record, screen = asyncio.run(measure(Path(folder), changes))
    print(f"{changes} changes, one poll a second; delays as shares of the poll interval")
    print(line("in the record", record))
    print(line("on the screen", screen))
    late = sum(delay > TARGET for delay in screen)
    print(f"later than {TARGET} on the screen: {late} of {changes}")
    return 1 if late else 0


if __name__ == "__main__":
    raise SystemExit(main())
