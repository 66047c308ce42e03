"""The live page on a phone: real agents, the real daemon, the real pages, a real browser.

How fast a change comes to the screen is measured by tests/bench/live_latency.py; here it must come.
"""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.async_api import Page, expect
from tests.end_to_end import test_rework_story as story
from tests.end_to_end.real_pages import CHROMIUM, phone

from strandkeeper.model.entry import EntryKind
from strandkeeper.model.rework import Worth
from strandkeeper.store import ledger

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.timeout(240)]
expect.set_options(timeout=30_000)  # a busy machine: none of this is about time

WORK = "/links/shore/rework"
SHOWN_MS = 20_000


@pytest.fixture
async def stage(tmp_path: Path) -> AsyncIterator[story.Stage]:
    """Polled as seldom as usual unless somebody looks: every 10 s, light every 30 s."""
    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"NOT RUN: {CHROMIUM} is missing")
    async for built in story._stage(tmp_path, 10, 30, story._fast_port):
        yield built


async def first_reading(stage: story.Stage) -> None:
    await stage.until("light", lambda r: bool(r.latest(story.SHORE, with_optics=True)) or None)


async def shows(page: Page, text: str) -> None:
    pane = page.locator(".live-pane").filter(has=page.get_by_role("heading", name="Lab → Pump"))
    await expect(pane.locator(".live-now strong")).to_have_text(text, timeout=SHOWN_MS)


async def test_every_change_at_the_switch_comes_to_the_screen(stage: story.Stage) -> None:
    await first_reading(stage)
    async with phone(stage.config) as (page, address, errors):
        await page.goto(f"{address}{WORK}")
        await shows(page, "−10.0")
        assert "Read at the usual pace." in await page.inner_text("[data-part=live]")
        await page.get_by_role("button", name="Look once a second").click()
        await expect(page.locator("[data-part=live]")).to_contain_text("A reading every 1 s")
        # 0.1 µW each: 500 is -13.0 dBm, 250 -16.0, 1000 -10.0; 0 is no light
        for raw, text in ((500, "−13.0"), (250, "−16.0"), (0, "no light"), (1000, "−10.0")):
            stage.pump.sensor(1, story.RX, raw)
            await shows(page, text)
        told = await page.inner_text("[data-part=live]")
        assert "best −10.0 dBm" in told
        assert "Pump sees Lab → Pump only" in told
        assert errors == []


async def test_both_figures_are_huge_and_on_the_first_screen(stage: story.Stage) -> None:
    await first_reading(stage)
    async with phone(stage.config) as (page, address, _):
        await page.goto(f"{address}{WORK}")
        await shows(page, "−10.0")
        figures = page.locator(".live-now strong")
        assert await figures.count() == 2
        for number in range(2):
            box = await figures.nth(number).bounding_box()
            assert box is not None
            assert box["height"] >= 56
            assert box["y"] + box["height"] <= 844
        assert await page.evaluate("document.documentElement.scrollWidth") <= 390


async def test_work_is_begun_and_ended_from_the_phone_and_each_answer_is_seen(
    stage: story.Stage,
) -> None:
    stage.pump.sensor(1, story.RX, story.BAD)
    await first_reading(stage)
    async with phone(stage.config) as (page, address, errors):
        await page.goto(f"{address}{WORK}")
        await page.get_by_role("button", name="Look once a second").click()
        await asyncio.sleep(12)  # ten readings of what it was like before
        await page.fill("#what", "new plug")
        await page.select_option("#direction", "ab")
        await page.select_option("#end", "B")
        await page.get_by_role("button", name="Begin").click()
        await expect(page.locator("#do-title")).to_have_text("Under way: new plug")
        await expect(page.locator("#asked")).to_have_text("Entered.")
        assert "Tug and flex" in await page.inner_text("#do")
        stage.pump.sensor(1, story.RX, 0)
        await shows(page, "no light")
        assert "Tens of dB, no light" in await page.inner_text("[data-part=live]")
        stage.pump.sensor(1, story.RX, story.GOOD)
        await shows(page, "−10.0")
        await page.fill("#new-plugs", "1")
        await page.get_by_role("button", name="Finish").click()
        await expect(page.locator("#do-title")).to_have_text("Begin work")
        # ten readings over half a minute make it known
        done = page.locator("[data-part=works]")
        await expect(done).to_contain_text("Lab → Pump: better", timeout=90_000)
        told = await done.inner_text()
        assert "no traffic counted yet" in told
        assert "copy a large file across the link" in told
        assert "Provisional" in told
        # what makes no sense is refused with the reason, and what was typed is still there
        await page.fill("#what", "nothing")
        await page.fill("#matings", "many")
        await page.evaluate("document.querySelector('#matings').removeAttribute('pattern')")
        await page.get_by_role("button", name="Begin").click()
        await expect(page.get_by_role("alert").first).to_contain_text("The number of mated pairs")
        errors[:] = [e for e in errors if "400" not in e]  # the browser reports the status itself
        assert errors == []
    with closing(stage.record()) as record:
        strand = next(s for s in record.ask(ledger.strands) if s.label == "blue")
    assert strand.ends[1].attempts == 1
    work = await stage.work("worth", lambda w: story.ab(w).verdict.worth is Worth.BETTER)
    assert work.what == "new plug"


async def test_ledger_and_meter_are_entered_and_refused_by_the_daemon(stage: story.Stage) -> None:
    await first_reading(stage)
    async with phone(stage.config) as (page, address, _):
        await page.goto(f"{address}/cables")
        await page.get_by_role("link", name="Strand 1 blue: see and change").click()
        await page.fill("#slack_b", "1.5")
        await page.fill("#note", "behind the pump")
        await page.get_by_role("button", name="Enter the changes").click()
        await expect(page.locator("#asked")).to_have_text("Entered.")
        await expect(page.locator("#slack_b")).to_have_value("1.5 m")
        await page.get_by_role("link", name="Enter a meter reading of it").click()
        # the plan at 1310 nm: 0.9 km · 0.4 dB/km + 8 · 0.75 dB = 6.36 dB
        await page.fill("#loss-reference", "-10.0")
        await page.fill("#loss-reading", "-12.5")
        await page.get_by_role("button", name="Enter this loss").click()
        await expect(page.locator("#asked")).to_have_text("Entered.")
        told = await page.inner_text("[data-part=measured]")
        assert "Loss 2.50 dB ±0.2 dB" in told
        assert "Limit 6.36 dB: accept." in told
        await page.select_option("#loss-of", label="shore: Lab → Pump")
        await page.select_option("#loss-source", "visual fault locator")
        await page.fill("#loss-source_nm", "650")
        await page.fill("#loss-reference", "-10.0")
        await page.fill("#loss-reading", "-12.5")
        await page.get_by_role("button", name="Enter this loss").click()
        await expect(page.get_by_role("alert").first).to_contain_text(
            "A visual fault locator (red light, about 650 nm) cannot measure loss"
        )
        await expect(page.locator("#loss-reading")).to_have_value("-12.5")
    with closing(stage.record()) as record:
        (reading,) = record.ask(ledger.meter_readings)
        strand = next(s for s in record.ask(ledger.strands) if s.label == "blue")
    assert (reading.loss and reading.loss.value) == pytest.approx(2.5)
    assert (strand.ends[1].slack_m, strand.note) == (1.5, "behind the pump")


async def test_a_new_link_is_looked_at_and_handed_over_from_the_phone(stage: story.Stage) -> None:
    await first_reading(stage)
    async with phone(stage.config) as (page, address, _):
        await page.goto(f"{address}/links/shore/commission")
        await page.get_by_role("button", name="Look once a second").click()
        told = page.locator("[data-part=list]")
        await expect(told).to_contain_text("Lab → Pump: light arrives: passed.")
        # dark both ways with both lasers on: a pair that is not crossed
        for switch in (stage.pump, stage.lab):
            switch.sensor(1, story.RX, 0)
        await expect(told).to_contain_text("The pair is crossed: not passed.", timeout=SHOWN_MS)
        await expect(told).to_contain_text("swap the two plugs at ONE end only")
        for switch in (stage.pump, stage.lab):
            switch.sensor(1, story.RX, story.GOOD)
        await expect(told).to_contain_text("The pair is crossed: passed.", timeout=SHOWN_MS)
        await asyncio.sleep(3)
        await page.get_by_role("button", name="They are joined by the short cord").click()
        await expect(page.locator("#asked")).to_have_text("Entered.")
        await expect(page.locator("[data-part=benches]")).to_contain_text("sent - received")
        await page.get_by_role("button", name="Begin the acceptance").click()
        await expect(page.locator("#asked")).to_have_text("Entered.")
        acceptance = page.locator("[data-part=acceptance]")
        await expect(acceptance).to_contain_text("bits", timeout=60_000)
    with closing(stage.record()) as record:
        assert len(record.ask(ledger.benches)) == 2
        kinds = [e.entry.kind for e in record.entries() if e.applied_ms is not None]
    assert EntryKind.COMMISSION in kinds
