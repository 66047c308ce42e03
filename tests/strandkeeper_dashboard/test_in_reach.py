"""In reach of everybody: also what is stale, lost, empty or wrong; enlarged, by thumb, calm, clear.

Numbers are success criteria of WCAG 2.2, level AA.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import invented_station as station
import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, Page, expect, sync_playwright
from test_in_browser import ARGUMENTS, CHROMIUM, PAGES, barriers, drawn, open_page, picture

from conftest import Served
from strandkeeper.store import open_writer
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

pytestmark = pytest.mark.browser
expect.set_options(timeout=30_000)  # a busy machine: none of this is about time

SCHEMES = ("light", "dark")
EMPTY = {"links": "/", "findings": "/findings", "alerts": "/alerts", "switches": "/switches"}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


def at_rule(page: Page, rule: str) -> list[str]:
    """What axe-core finds against one rule, which it may leave out of its usual ones."""
    chosen = {"runOnly": {"type": "rule", "values": [rule]}, "rules": {rule: {"enabled": True}}}
    found = Axe().run(page, options=chosen).response["violations"]
    return [node["html"][:200] for one in found for node in one["nodes"]]


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("path", ["/", "/links/lab-to-pump-house", "/switches", "/about"])
def test_old_figures_keep_nobody_out(
    browser: Browser, record_path: Path, serve: Callable[[Flask], Served], path: str, scheme: str
) -> None:
    late = station.NOW_MS + 3 * 3_600_000
    app = create_app(station.settings(record_path), Door(record_path), clock=lambda: late)
    watched = open_page(browser, 360, scheme)
    page = watched.page
    page.goto(serve(app).address + path)
    if path.startswith("/links/"):
        drawn(page)
    if path == "/":
        said = page.get_by_text("The watching program has written nothing since")
        expect(said).to_be_visible()
        picture(page, f"links-stale-{scheme}-360.png")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert barriers(page) == []
    watched.clean()
    page.context.close()


@pytest.mark.parametrize("scheme", SCHEMES)
def test_a_page_that_lost_its_server_keeps_nobody_out(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served], scheme: str
) -> None:
    page = open_page(browser, 360, scheme).page
    with page.expect_response("**/api/live"):
        page.goto(serve(app).address)
    page.route("**/api/live", lambda route: route.abort())
    expect(page.locator("#lost")).to_be_visible(timeout=15_000)
    assert barriers(page) == []
    page.context.close()


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("name", EMPTY)
def test_a_record_without_anything_in_it_keeps_nobody_out(
    browser: Browser, tmp_path: Path, serve: Callable[[Flask], Served], name: str, scheme: str
) -> None:
    path = tmp_path / "record.db"
    open_writer(path, reserve=False).close()
    page = open_page(browser, 360, scheme).page
    page.goto(serve(create_app(station.settings(path), Door(path))).address + EMPTY[name])
    picture(page, f"{name}-empty-{scheme}-360.png")
    assert barriers(page) == []
    page.context.close()


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("content", [None, b"this is not a record of anything at all" * 100])
def test_a_record_that_is_missing_or_none_keeps_nobody_out(
    browser: Browser,
    tmp_path: Path,
    serve: Callable[[Flask], Served],
    content: bytes | None,
    scheme: str,
) -> None:
    path = tmp_path / "record.db"
    if content is not None:
        path.write_bytes(content)
    page = open_page(browser, 360, scheme).page
    page.goto(serve(create_app(station.settings(path), Door(path))).address)
    picture(page, f"{'waiting' if content is None else 'no-record'}-{scheme}-360.png")
    # the page that waits loads itself again every five seconds: 2.2.1 excepts what is essential
    assert [one for one in barriers(page) if not one.startswith("meta-refresh")] == []
    page.context.close()


@pytest.mark.parametrize("name", PAGES)
def test_enlarged_four_times_nothing_scrolls_sideways_and_a_thumb_hits_its_target(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served], name: str
) -> None:
    # 1.4.10: 1280 px at 400 per cent are 320 px
    page = open_page(browser, 320).page
    page.set_viewport_size({"width": 320, "height": 256})
    page.goto(serve(app).address + PAGES[name])
    if name.startswith("link-"):
        drawn(page)
    picture(page, f"{name}-enlarged.png")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert at_rule(page, "target-size") == []  # 2.5.8: 24 px, or as much room around it
    page.context.close()


def test_two_targets_too_small_and_too_near_are_found(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    page = open_page(browser, 320).page
    page.goto(serve(app).address + "/about")
    page.evaluate(
        """() => { for (const one of document.querySelectorAll("nav a")) {
        one.style.cssText = "display: inline-block; width: 9px; height: 9px; overflow: hidden"; }
        document.querySelector("nav ul").style.gap = "1px"; }"""
    )
    assert at_rule(page, "target-size") != []
    page.context.close()


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("path", ["/", "/links/lab-to-pump-house", "/findings", "/budget"])
def test_who_asks_for_more_contrast_gets_it(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served], path: str, scheme: str
) -> None:
    watched = open_page(browser, 1280, scheme, contrast="more")
    page = watched.page
    page.goto(serve(app).address + path)
    assert at_rule(page, "color-contrast-enhanced") == []  # 1.4.6, level AAA: 7 to 1
    page.context.close()


def test_nothing_moves_for_whoever_asks_for_less_motion(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    page = open_page(browser).page  # asks for it
    page.goto(serve(app).address + "/links/lab-to-pump-house")
    drawn(page)
    moving = """() => [...document.querySelectorAll("*")].filter((one) => {
      const style = getComputedStyle(one);
      return style.transitionDuration.split(", ").some((span) => parseFloat(span) > 0)
        || style.animationName !== "none"; }).map((one) => one.outerHTML.slice(0, 120))"""
    assert [one for one in page.evaluate(moving) if "modebar" not in one] == []
    page.emulate_media(reduced_motion="no-preference")
    assert page.evaluate(moving)  # so that the question can be answered with yes
    page.context.close()


def test_the_keyboard_goes_through_a_link_page_from_top_to_bottom(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    page = open_page(browser).page
    page.goto(serve(app).address + "/links/lab-to-pump-house")
    drawn(page)
    tops: list[float] = []
    named: list[str] = []
    for _ in range(120):
        page.keyboard.press("Tab")
        place = page.evaluate(
            """() => { const one = document.activeElement;
            if (one === document.body) return null;
            const where = one.getBoundingClientRect();
            return [where.top + scrollY, one.textContent.trim(),
                    where.width > 0 && where.top >= 0 && where.bottom <= innerHeight + 1]; }"""
        )
        if place is None:
            break
        assert place[2], f"{place[1]} has the keyboard out of sight"  # 2.4.7, 2.4.11
        tops.append(place[0])
        named.append(place[1])
    for wanted in ("Pump house", "1 week", "Choose what is shown", "The same as a table", "Dark"):
        assert any(wanted in one for one in named), wanted
    # 2.4.3: down the page, but for what stands beside one another in a row
    assert all(after > before - 60 for before, after in pairwise(tops))
    page.context.close()
