"""The pages of work and cables: what they show, what they ask for, and on a phone."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from flask.testing import FlaskClient
from playwright.sync_api import sync_playwright

from conftest import Served, post
from strandkeeper.alerts.wording_rework import work_cautions
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.ledger import Cable, Strand, StrandUse
from strandkeeper.model.live import LiveGrant
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import EndRow, OpticalReading
from strandkeeper.model.rework import (
    Check,
    CheckKind,
    DirectionReport,
    Outcome,
    Rework,
    ReworkVerdict,
    Side,
    Worth,
)
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, open_reader, open_writer
from strandkeeper.store.changes import Changes
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.asking import PATIENCE
from strandkeeper_dashboard.record import Door

PUMP = next(link for link in station.links() if link.name == "Lab to pump house")
PATH = "/links/lab-to-pump-house/rework"
NOW = station.NOW_MS
SIDE = Side(from_ms=NOW - 60_000, to_ms=NOW, n=20)
DONE = Rework(
    id=1,
    link=PUMP.name,
    what="new plug",
    who="me",
    started_ms=NOW - 7_200_000,
    finished_ms=NOW - 3_600_000,
    direction=Direction.AB,
    reports={
        Direction.AB: DirectionReport(
            before=SIDE,
            after=SIDE,
            verdict=ReworkVerdict(
                worth=Worth.BETTER, change=Interval(value=-4.0, low=-4.2, high=-3.8)
            ),
            checks=(Check(kind=CheckKind.NO_FLAP, outcome=Outcome.PASSED, got=0.0, limit=0.0),),
        )
    },
)


@pytest.fixture
def own_path(record_path: Path, tmp_path: Path) -> Path:
    path = tmp_path / "strandkeeper.db"
    shutil.copy(record_path, path)
    strands = [
        Strand(
            cable="shore cable",
            number=1,
            label="blue",
            use=StrandUse.IN_USE,
            link=PUMP.name,
            direction=Direction.AB,
        ),
        Strand(cable="shore cable", number=2, label="orange", note="<mouse>"),
    ]
    live = LiveGrant(link=PUMP.name, since_ms=NOW - 60_000, until_ms=NOW + 30_000, interval_s=1.0)
    with closing(open_writer(path, reserve=False)) as writer:
        writer.change(
            Changes(
                cables=[Cable(name="shore cable", strands=2, length_m=900.0)],
                strands=strands,
                reworks=[DONE],
                lives=[live],
            )
        )
    return path


@pytest.fixture
def own_app(own_path: Path) -> Flask:
    app = create_app(
        station.settings(own_path), Door(own_path), clock=lambda: NOW, config_path="s.toml"
    )
    app.config[PATIENCE] = 0  # nobody applies entries here
    return app


@pytest.fixture
def own(own_app: Flask) -> FlaskClient:
    return own_app.test_client()


def entries(path: Path, kind: EntryKind) -> list[Entry]:
    with closing(open_reader(path)) as record:
        return [stored.entry for stored in record.entries(kind=kind)]


def test_the_page_shows_rate_verdict_and_every_caution(own: FlaskClient) -> None:
    text = own.get(PATH).get_data(as_text=True)
    assert "A reading every 1 s." in text
    assert "better, 4.0 dB less lost than before" in text
    assert "did not go down since the work: passed" in text
    for caution in work_cautions(outdoors=True):
        assert caution in text


def test_what_is_asked_for_is_entered_and_no_more(own: FlaskClient, own_path: Path) -> None:
    fields = {"what": "new plug", "why": "", "direction": "ab", "end": "B", "matings": "2"}
    assert post(own, f"{PATH}/start", fields).status_code == 303
    (entry,) = entries(own_path, EntryKind.REWORK_START)
    assert entry.payload == {
        "link": PUMP.name,
        "what": "new plug",
        "direction": "ab",
        "end": "B",
        "matings": 2,
    }
    text = own.get(f"{PATH}?asked=1").get_data(as_text=True)
    assert "Asked, not yet applied." in text
    assert post(own, f"{PATH}/finish", {"new_plugs": "2", "note": "x"}).status_code == 303
    (ended,) = entries(own_path, EntryKind.REWORK_FINISH)
    assert ended.payload == {"link": PUMP.name, "new_plugs": 2, "note": "x"}
    assert post(own, f"{PATH}/look", {}).status_code == 303
    (looked,) = entries(own_path, EntryKind.LIVE)
    assert looked.payload == {"link": PUMP.name}


def test_a_refusal_is_told_with_its_reason_and_what_was_typed_is_still_there(
    own: FlaskClient, own_path: Path
) -> None:
    post(own, f"{PATH}/start", {"what": "new <plug>", "why": "dirt", "end": "B"})
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.refuse_entry(1, "work on it has been open since before: x: finish it first")
    text = own.get(f"{PATH}?asked=1").get_data(as_text=True)
    assert "Refused, nothing was changed: Work on it has been open since before" in text
    assert 'value="new &lt;plug&gt;"' in text
    assert '<option value="B" selected>' in text


def test_a_number_that_is_none_is_refused_at_once(own: FlaskClient, own_path: Path) -> None:
    answer = post(own, f"{PATH}/start", {"what": "new plug", "matings": "two"})
    assert answer.status_code == 400
    text = answer.get_data(as_text=True)
    assert "The number of mated pairs is &#39;two&#39;." in text
    assert 'value="new plug"' in text
    assert entries(own_path, EntryKind.REWORK_START) == []


def test_running_figures_come_only_when_they_are_new(own: FlaskClient, own_path: Path) -> None:
    first = own.get(f"{PATH}/running")
    assert first.status_code == 200
    assert "Lab → Pump house" in first.get_data(as_text=True)
    again = own.get(f"{PATH}/running", query_string={"seen": first.headers["X-Seen"]})
    assert (again.status_code, again.data) == (204, b"")
    new = EndRow(
        time_ms=NOW,
        end=End.B,
        optics=OpticalReading(rx=Measured(Dbm(-33.3)), tx=Measured(Dbm(-5.0)), temp_c=20.0),
    )
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.append(Batch(rows=((PUMP.name, new),)))
    moved = own.get(f"{PATH}/running", query_string={"seen": first.headers["X-Seen"]})
    assert moved.status_code == 200
    assert "−33.3" in moved.get_data(as_text=True)


def test_a_form_without_its_token_enters_nothing(own: FlaskClient, own_path: Path) -> None:
    assert own.post(f"{PATH}/start", data={"what": "x"}).status_code == 403
    assert entries(own_path, EntryKind.REWORK_START) == []


def test_open_work_offers_its_end(own: FlaskClient, own_path: Path) -> None:
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.change(Changes(reworks=[replace(DONE, id=2, finished_ms=None, reports={})]))
    text = own.get(PATH).get_data(as_text=True)
    assert "Finish: let alerts speak again" in text
    assert "Begin: hold alerts" not in text


def test_the_ledger_names_uses_and_the_best_spare(own: FlaskClient) -> None:
    text = own.get("/cables").get_data(as_text=True)
    assert "Best spare: 2 orange." in text
    assert "&lt;mouse&gt;" in text
    assert PATH in text
    assert "strandkeeper cable s.toml import" in text
    assert "/cables/strand?cable=shore+cable&amp;number=2" in text


@pytest.mark.browser
@pytest.mark.parametrize(
    "path",
    [
        PATH,
        PATH.replace("rework", "commission"),
        "/cables",
        "/cables/cable?name=shore+cable",
        "/cables/strand?cable=shore+cable&number=1",
        "/meter",
    ],
)
def test_on_a_phone_nothing_sticks_out_and_everybody_can_use_it(
    own_app: Flask, serve: Callable[[Flask], Served], path: str
) -> None:
    if shutil.which("/usr/bin/chromium") is None:
        pytest.skip("NOT RUN: /usr/bin/chromium is missing")
    served = serve(own_app)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 360, "height": 740})
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
        page.goto(f"{served.address}{path}")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        broken = Axe().run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"]) for v in broken] == []
        if path == PATH:
            size = page.evaluate(
                "parseFloat(getComputedStyle(document.querySelector('.live-now strong')).fontSize)"
            )
            assert size >= 48
        assert errors == []
        browser.close()
