"""Events and what people did, on one axis, each with an address that marks lead to."""

from __future__ import annotations

import re
from pathlib import Path

import invented_station as station
from flask.testing import FlaskClient

from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.store import open_reader, open_writer
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door
from strandkeeper_dashboard.story import story
from strandkeeper_dashboard.window import window

LINK = next(link for link in station.links() if link.name == station.PUMP)


def noted(path: Path) -> None:
    open_writer(path, reserve=False).close()
    reader = open_reader(path)
    for who, kind, payload in (
        ("Anna", EntryKind.REWORK_START, {"link": LINK.name, "what": "clean the plug at the lab"}),
        ("Bert", EntryKind.NOTE, {"link": LINK.name, "text": "<b>storm</b>"}),
        ("Bert", EntryKind.NOTE, {"link": "Lab to jetty", "text": "of another link"}),
        ("Bert", EntryKind.BASELINE, {"link": LINK.name, "direction": "ba"}),
    ):
        reader.append_entry(Entry(kind=kind, who=who, payload=payload), station.NOW_MS - 60_000)
    reader.close()


def test_what_people_did_stands_beside_what_happened(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    noted(path)
    reader = open_reader(path)
    shown = window("1h", None, None, now_ms=station.NOW_MS, first_ms=None)
    told = story(LINK, reader, shown)
    reader.close()
    assert {one.text for one in told} == {
        "Anna began work: clean the plug at the lab.",
        "Bert noted: <b>storm</b>.",
        "Bert said that this is good from now on, Pump house → Lab.",
    }
    assert len({one.id for one in told}) == 3
    assert all(one.by_a_person and one.marked for one in told)


def test_names_and_notes_are_shown_as_text(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    noted(path)
    app = create_app(station.settings(path), Door(path), clock=lambda: station.NOW_MS)
    page = app.test_client().get("/links/lab-to-pump-house").get_data(as_text=True)
    assert "&lt;b&gt;storm&lt;/b&gt;" in page
    assert "<b>storm" not in page


def test_every_mark_leads_to_its_line_on_the_page(client: FlaskClient) -> None:
    page = client.get("/links/lab-to-pump-house?range=1month").get_data(as_text=True)
    ids = re.findall(r'<li id="(at-[^"]+)"', page)
    assert len(ids) == len(set(ids)) > 0
    answer = client.get("/api/links/lab-to-pump-house/trend?range=1month").get_json()
    assert answer["marks"]
    assert {mark["id"] for mark in answer["marks"]} <= set(ids)
    assert page.count('<a href="#at-') == len(answer["marks"])


def test_the_hour_around_it_is_one_click_away(client: FlaskClient) -> None:
    page = client.get("/links/lab-to-pump-house?range=1month").get_data(as_text=True)
    found = re.findall(r'class="closer" href="([^"#]+)', page)
    assert found
    for href in found[:3]:
        closer = client.get(href.replace("&amp;", "&"))
        assert closer.status_code == 200
        assert "every reading" in closer.get_data(as_text=True)
