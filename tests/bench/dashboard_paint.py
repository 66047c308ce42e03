"""When a slow phone shows the words and the level diagram, and when the plot.

    python -m tests.bench.dashboard_paint [--days 365] [--links 10] [--times 5]

Chromium at a quarter of this computer's speed (Emulation.setCPUThrottlingRate 4) behind a modest
network (1.6 Mbit/s down, 0.75 Mbit/s up, 150 ms round trip, as a telephone beside the field has
it), 360 px wide, with nothing in its cache; the pages come from `strandkeeper run` on a long record
while it polls. From the navigation's start until the frame after the one in which the statement and
the first level diagram are laid out in the window's first screens, and until the plot's lines are.
Target: words and diagram within 1.5 s. The same without slowing stands beside it.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Browser, sync_playwright
from tests.bench.dashboard_station import Station, add_arguments, station

MOST_MS = 1500.0
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"]
NETWORK = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1.6e6 / 8,
    "uploadThroughput": 0.75e6 / 8,
}
# A frame is asked for until the place has an extent; the next frame says that this one was painted.
WATCH = """
  window.painted = {};
  const places = {words: ".statement", diagram: ".level-drawing .measured", plot: ".plot .trace"};
  const look = () => {
    for (const [name, place] of Object.entries(places)) {
      if (name in window.painted) continue;
      const found = document.querySelector(place)?.getBoundingClientRect();
      if (!found || !(found.width || found.height)) continue;
      window.painted[name] = null;
      requestAnimationFrame(() => { window.painted[name] = performance.now(); });
    }
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
"""


@dataclass(frozen=True)
class Pace:
    """How slow the telephone is."""

    name: str
    times_slower: int
    network: bool


FULL = Pace("this computer", 1, network=False)
PHONE = Pace("slow phone", 4, network=True)


def one(browser: Browser, url: str, pace: Pace, *, with_plot: bool) -> dict[str, float]:
    """Milliseconds since the start of the navigation, by what was painted."""
    context = browser.new_context(
        viewport={"width": 360, "height": 740}, device_scale_factor=2, is_mobile=True
    )
    context.add_init_script(WATCH)
    page = context.new_page()
    cdp = context.new_cdp_session(page)
    cdp.send("Network.enable")
    cdp.send("Network.setCacheDisabled", {"cacheDisabled": True})
    if pace.network:
        cdp.send("Network.emulateNetworkConditions", NETWORK)
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": pace.times_slower})
    page.goto(url, wait_until="commit")
    wanted = ["words", "diagram", *(["plot"] if with_plot else [])]
    page.wait_for_function(
        "names => names.every((name) => window.painted[name])", arg=wanted, timeout=120_000
    )
    found: dict[str, Any] = page.evaluate("window.painted")
    first = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    context.close()
    return {"first": first, **{name: found[name] for name in wanted}}


def main() -> int:
    """Build, run, measure; 1 if the target is missed."""
    parser = argparse.ArgumentParser(description="When a slow phone shows what.")
    parser.add_argument("--times", type=int, default=5, help="loads of each page at each pace")
    add_arguments(parser)
    given = parser.parse_args()
    with station(given) as found, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        good = report(found, browser, given.times)
        browser.close()
    return 0 if good else 1


def report(where: Station, browser: Browser, times: int) -> bool:
    """Measure and print; whether the target is met."""
    link = f"{where.address}/links/{where.links[0]}"
    pages = {"first screen": where.address + "/", "trend, 1 year": f"{link}?range=1year"}
    print(
        f"load {os.getloadavg()[0]:.1f} before; ms, medians of {times} loads, longest in brackets"
    )
    print(f"{'page':<16}{'pace':<16}{'anything':>16}{'words':>16}{'diagram':>16}{'plot':>16}")
    good = True
    for pace in (FULL, PHONE):
        for name, url in pages.items():
            with_plot = "trend" in name
            loads = [one(browser, url, pace, with_plot=with_plot) for _ in range(times)]
            middle = {what: statistics.median(load[what] for load in loads) for what in loads[0]}
            told = [
                f"{middle[what]:.0f} ({max(load[what] for load in loads):.0f})" for what in loads[0]
            ]
            print(f"{name:<16}{pace.name:<16}" + "".join(f"{one:>16}" for one in told))
            good &= max(middle["words"], middle["diagram"]) <= MOST_MS
    return good


if __name__ == "__main__":
    sys.exit(main())
