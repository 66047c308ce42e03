"""Every page in a real browser: both themes, phone and desk, no script error, no policy report.

Pictures go to build/screens/ for people to look at.
"""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import invented_station as station
import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from conftest import Served
from strandkeeper.config.users import UserBook, with_user, write_users
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.optics.units import Db
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.changes import Changes
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

pytestmark = pytest.mark.browser
expect.set_options(timeout=30_000)  # a busy machine: none of this is about time

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-dev-shm-usage",
    "--disable-sync",
    "--no-first-run",
]
SCREENS = Path(__file__).parents[2] / "build" / "screens"
PAGES = {
    "links": "/",
    "link-1d": "/links/lab-to-pump-house",
    "link-1year": "/links/lab-to-pump-house?range=1year",
    "link-down": "/links/lab-to-tower?range=6h",
    "link-never-read": "/links/lab-to-boat-shed",
    "findings": "/findings",
    "alerts": "/alerts",
    "cables": "/cables",
    "cable": "/cables/cable",
    "meter": "/meter",
    "rework": "/links/lab-to-pump-house/rework",
    "commission": "/links/lab-to-pump-house/commission",
    "record": "/links/lab-to-pump-house/record",
    "switches": "/switches",
    "budget": "/budget?link=lab-to-pump-house&measured=2.4",
    "budget-wrong": "/budget?length=900",
    "about": "/about",
    "error": "/links/nowhere",
}
LEDGER = {
    "cables-filled": "/cables",
    "cable-filled": "/cables/cable?name=shore%20cable",
    "strand": "/cables/strand?cable=shore%20cable&number=1",
}
REPORTS = """
  window.reports = [];
  document.addEventListener("securitypolicyviolation",
    (event) => window.reports.push(`${event.violatedDirective} ${event.blockedURI}`));
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"NOT RUN: {CHROMIUM} is missing")
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


class Watched:
    """A page whose errors are collected."""

    def __init__(self, context: BrowserContext) -> None:
        context.add_init_script(REPORTS)
        self.page = context.new_page()
        self.errors: list[str] = []
        self.refusals: set[int] = set()  # status codes the test asks for: the browser reports them
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("console", self._said)
        self.page.on("request", self._asked)

    def _said(self, message: Any) -> None:
        asked_for = re.search(r"responded with a status of (\d+)", message.text)
        if asked_for and int(asked_for[1]) in self.refusals:
            return
        if message.type in ("error", "warning"):
            self.errors.append(message.text)

    def _asked(self, request: Any) -> None:
        if not request.url.startswith(("http://127.0.0.1:", "data:", "blob:")):
            self.errors.append(f"asked {request.url}")

    def clean(self) -> None:
        reports = self.page.evaluate("window.reports")
        assert not reports, reports
        assert not self.errors, self.errors


def open_page(browser: Browser, width: int = 1280, scheme: str = "light", **more: Any) -> Watched:
    context = browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme=scheme,  # type: ignore[arg-type]
        reduced_motion="reduce",
        **more,
    )
    return Watched(context)


def picture(page: Page, name: str) -> None:
    """The whole page as it looks, for people; written here, for the driver would start a thread."""
    SCREENS.mkdir(parents=True, exist_ok=True)
    (SCREENS / name).write_bytes(page.screenshot(full_page=True))


def drawn(page: Page) -> None:
    expect(page.locator("#trend .plot .main-svg").first).to_be_visible(timeout=20_000)


def barriers(page: Page) -> list[str]:
    """What axe-core finds that keeps people out: impact serious or critical, any rule."""
    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']}: {one['help']}: {node['html'][:160]} {node['failureSummary'][:300]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("name", PAGES)
def test_page_is_sound_and_fits(
    browser: Browser,
    app: Flask,
    serve: Callable[[Flask], Served],
    name: str,
    width: int,
    scheme: str,
) -> None:
    sound_and_fits(browser, serve(app).address + PAGES[name], name, width, scheme)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("name", LEDGER)
def test_page_of_a_filled_ledger_is_sound_and_fits(
    browser: Browser,
    ledger_app: Flask,
    serve: Callable[[Flask], Served],
    name: str,
    width: int,
    scheme: str,
) -> None:
    sound_and_fits(browser, serve(ledger_app).address + LEDGER[name], name, width, scheme)


@pytest.fixture
def ledger_app(record_path: Path, tmp_path: Path) -> Flask:
    path = tmp_path / "strandkeeper.db"
    shutil.copy(record_path, path)
    cable = Cable(name="shore cable", strands=2, length_m=900.0, a="Lab hut", b="Pump house")
    strands = [
        Strand(cable="shore cable", number=1, label="blue", note="<b>behind</b> the pump"),
        Strand(cable="shore cable", number=2, label="orange", tested_loss=Db(0.8)),
    ]
    with closing(open_writer(path, reserve=False)) as writer:
        writer.change(Changes(cables=[cable], strands=strands))
    return create_app(station.settings(path), Door(path), clock=lambda: station.NOW_MS)


def sound_and_fits(browser: Browser, address: str, name: str, width: int, scheme: str) -> None:
    watched = open_page(browser, width, scheme)
    page = watched.page
    watched.refusals = {"error": {404}, "budget-wrong": {400}}.get(name, set())
    response = page.goto(address)
    assert response is not None
    assert response.status in (watched.refusals or {200})
    if name.startswith("link-"):
        drawn(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    picture(page, f"{name}-{scheme}-{width}.png")
    watched.clean()
    assert barriers(page) == []
    page.context.close()


def test_plot_has_a_line_a_limit_and_a_mark(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser)
    watched.page.goto(serve(app).address + "/links/lab-to-pump-house?range=1d")
    drawn(watched.page)
    counts = watched.page.evaluate(
        """() => { const plot = document.querySelector("#trend .plot");
        const kinds = new Set(plot.data.map((trace) => trace.type));
        return [plot.data.length, plot.layout.shapes.length, [...kinds].join()]; }"""
    )
    assert counts[0] >= 6
    assert counts[1] >= 3 + 1
    assert counts[2] == "scatter"
    watched.clean()
    watched.page.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_logging_in_leads_to_the_page_that_was_asked_for(
    browser: Browser,
    record_path: Path,
    tmp_path: Path,
    serve: Callable[[Flask], Served],
    width: int,
    scheme: str,
) -> None:
    settings = station.settings(tmp_path / "strandkeeper.db")
    book = with_user(UserBook(), "Anna", "granite harbour lamp")
    write_users(tmp_path / "strandkeeper.users", book)
    app = create_app(settings, Door(record_path), clock=lambda: station.NOW_MS)
    watched = open_page(browser, width, scheme)
    watched.refusals = {401, 403}
    page = watched.page
    page.goto(serve(app).address + "/switches")
    expect(page.get_by_role("heading", level=1)).to_have_text("Log in")
    assert barriers(page) == []
    picture(page, f"log-in-{scheme}-{width}.png")
    page.get_by_label("Name").fill("Anna")
    page.get_by_label("Password").fill("a wrong guess")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("alert")).to_have_text("That name and that password do not fit.")
    assert barriers(page) == []
    picture(page, f"log-in-wrong-{scheme}-{width}.png")
    page.get_by_label("Password").fill("granite harbour lamp")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Switches")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert barriers(page) == []
    page.get_by_role("button", name="Log out").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Log in")
    watched.clean()
    page.context.close()


def test_a_mark_opens_where_the_page_tells_of_it(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser)
    page = watched.page
    page.goto(serve(app).address + "/links/lab-to-pump-house?range=1d")
    drawn(page)
    place = page.evaluate(
        """() => { const plot = document.querySelector("#trend .plot");
        const node = plot.querySelectorAll(".scatterlayer .points path.point")[0];
        node.scrollIntoView({block: "center"});
        const now = node.getBoundingClientRect();
        return [now.x + now.width / 2, now.y + now.height / 2]; }"""
    )
    page.mouse.move(*place)
    page.mouse.click(*place)
    page.wait_for_url("**#at-*")
    told = page.locator("li:target")
    expect(told).to_be_focused()
    expect(told).to_contain_text("The hour around it")
    watched.clean()
    page.context.close()


def test_the_plot_is_saved_as_a_picture(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser, scheme="dark", accept_downloads=True)
    page = watched.page
    page.goto(serve(app).address + "/links/lab-to-pump-house?range=1d")
    drawn(page)
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save as a picture (PNG)").click()
    assert saved.value.suggested_filename == "lab-to-pump-house-trend.png"
    with open(saved.value.path(), "rb") as picture_file:
        assert picture_file.read(8) == b"\x89PNG\r\n\x1a\n"
    watched.clean()
    page.context.close()


def test_panels_are_chosen_without_scripts(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser, java_script_enabled=False)
    page = watched.page
    page.goto(serve(app).address + "/links/lab-to-pump-house?range=1w")
    page.get_by_text("Choose what is shown").click()
    for name in ("Damaged frames", "Laser current", "Module temperature", "Receive power"):
        page.get_by_label(name).uncheck()
    page.get_by_label("To spare before too weak").check()
    page.get_by_role("button", name="Show these").click()
    assert "range=1w&show=margin&show=added" in page.url
    assert page.locator(".panel-title").count() == 3
    page.context.close()


def test_zooming_in_asks_for_the_finer_rows(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser)
    page = watched.page
    page.goto(serve(app).address + "/links/lab-to-pump-house?range=1d")
    drawn(page)
    with page.expect_response(lambda answer: "/trend?from=" in answer.url) as asked:
        page.evaluate(
            """() => { const plot = document.querySelector("#trend .plot");
            const [from, to] = plot._fullLayout.xaxis.range.map((t) => Date.parse(t + "Z"));
            const at = (part) => new Date(from + part * (to - from)).toISOString().slice(0, 19);
            return Plotly.relayout(plot, {"xaxis.range": [at(0.9), at(0.95)]}); }"""
        )
    answer = asked.value.json()
    assert answer["resolution"] == "every reading"  # 72 minutes: raw rows
    watched.clean()
    page.context.close()


def test_without_scripts_the_words_the_diagrams_and_the_trend_are_there(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser, java_script_enabled=False)
    page = watched.page
    address = serve(app).address
    page.goto(address + "/links/lab-to-pump-house?range=1d")
    assert page.locator(".trend-power path.line-ba").bounding_box() is not None
    page.locator("summary", has_text="The same as a table").click()
    assert page.locator(".trend-figures tbody tr").count() == 24
    page.get_by_role("button", name="Dark").click()
    assert page.locator("html").get_attribute("data-theme") == "dark"
    assert page.url.startswith(address + "/links/lab-to-pump-house")
    picture(page, "link-no-scripts-1280.png")
    page.context.close()


def test_the_choice_of_colours_wins_over_the_device(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser, scheme="dark")
    page = watched.page
    page.goto(serve(app).address + "/about")
    paper = "getComputedStyle(document.body).backgroundColor"
    dark = page.evaluate(paper)
    page.get_by_role("button", name="Light").click()
    page.wait_for_selector('html[data-theme="light"]')
    assert page.evaluate(paper) != dark
    watched.clean()
    page.context.close()


def test_a_page_that_lost_its_server_says_so_and_since_when_and_recovers(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser)
    page = watched.page
    with page.expect_response("**/api/live"):
        page.goto(serve(app).address)
    page.route("**/api/live", lambda route: route.abort())
    lost = page.locator("#lost")
    expect(lost).to_be_visible(timeout=15_000)
    expect(lost).to_contain_text("No answer from Strandkeeper since")
    picture(page, "links-lost-1280.png")
    page.unroute("**/api/live")
    expect(lost).to_be_hidden(timeout=15_000)
    page.context.close()


def test_figures_follow_the_record_without_reloading(
    browser: Browser, tmp_path: Path, serve: Callable[[Flask], Served]
) -> None:
    path = tmp_path / "record.db"
    now = time.time_ns() // 1_000_000
    station.write(path, now_ms=now, hours=1, days=1)
    watched = open_page(browser)
    page = watched.page
    page.goto(serve(create_app(station.settings(path), Door(path))).address)
    jetty = page.locator("article", has=page.get_by_role("heading", name="Lab to jetty"))
    expect(jetty).to_contain_text("All right")
    page.evaluate("window.sameDocument = true")
    page.locator("#why-lab-to-pump-house > summary").click()
    page.get_by_role("link", name="Trend and record of Lab to jetty").focus()
    writer = open_writer(path, reserve=False)
    writer.append(Batch(verdicts=[station.jetty_down(now + 1000)]))
    writer.close()
    expect(jetty).to_contain_text("Act now", timeout=15_000)
    assert page.evaluate("window.sameDocument")
    assert page.evaluate("document.activeElement.tagName") == "A"
    assert page.locator("#why-lab-to-pump-house").get_attribute("open") is not None
    watched.clean()
    page.context.close()


def test_the_waiting_page_turns_into_the_first_screen(
    browser: Browser, tmp_path: Path, serve: Callable[[Flask], Served]
) -> None:
    path = tmp_path / "record.db"
    watched = open_page(browser, 360)
    page = watched.page
    page.goto(serve(create_app(station.settings(path), Door(path))).address)
    expect(page.get_by_role("heading", level=1)).to_have_text("Waiting for the first readings")
    picture(page, "waiting-light-360.png")
    open_writer(path, reserve=False).close()
    expect(page.get_by_role("heading", name="Lab to tower")).to_be_visible(timeout=20_000)
    page.context.close()


def test_every_control_is_reached_and_seen_by_keyboard(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser)
    page = watched.page
    page.goto(serve(app).address)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"
    wanted = page.locator("a[href], button, summary").filter(visible=True).count()
    seen = set()
    for _ in range(wanted + 5):
        seen.add(
            page.evaluate("[...document.querySelectorAll('*')].indexOf(document.activeElement)")
        )
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none"
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
    assert len(seen) == wanted
    page.context.close()


def test_on_paper_the_trend_is_the_servers_own_drawing(
    browser: Browser, app: Flask, serve: Callable[[Flask], Served]
) -> None:
    watched = open_page(browser, scheme="dark")
    page = watched.page
    page.goto(serve(app).address + "/links/lab-to-pump-house")
    drawn(page)
    page.emulate_media(media="print")
    assert page.locator("#trend .plot").is_hidden()
    assert page.locator(".trend-power path.line-ab").is_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    picture(page, "link-paper.png")
    page.context.close()
