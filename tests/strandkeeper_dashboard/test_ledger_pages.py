"""Ledger, meter and commissioning from the pages: what a form asks for, refuses, and shows after.

Nobody applies entries here but the test itself; the story with the program is in end_to_end.
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest
from flask import Flask
from flask.testing import FlaskClient
from playwright.sync_api import sync_playwright

from conftest import Served, post
from strandkeeper.alerts.wording_rework import meter_cautions, work_cautions
from strandkeeper.errors import InputError
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.ledger import Cable, Strand, StrandEnd, StrandUse
from strandkeeper.model.meter_reading import Bench, MeterKind, MeterReading
from strandkeeper.model.names import Direction
from strandkeeper.optics.meter import MeterVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import open_reader, open_writer
from strandkeeper.store.changes import Changes
from strandkeeper_dashboard import create_app, form_fields
from strandkeeper_dashboard.asking import PATIENCE
from strandkeeper_dashboard.record import Door

PUMP = next(link for link in station.links() if link.name == "Lab to pump house")
COMMISSION = "/links/lab-to-pump-house/commission"
STRAND = "/cables/strand?cable=shore+cable&number="
NOW = station.NOW_MS
READING = MeterReading(
    id=900,
    at_ms=NOW - 86_400_000,
    who="the electrician",
    kind=MeterKind.LOSS,
    reading=Dbm(-11.3),
    wavelength_nm=1310,
    source="laser",
    link=PUMP.name,
    direction=Direction.AB,
    cable="shore cable",
    strand=1,
    cords=1,
    reference=Dbm(-10.0),
    loss=Db(1.3),
    limit=Db(1.86),
    verdict=MeterVerdict.ACCEPT,
    uncertainty=Db(0.2),
)


@pytest.fixture
def own_path(record_path: Path, tmp_path: Path) -> Path:
    path = tmp_path / "strandkeeper.db"
    shutil.copy(record_path, path)
    carrying = Strand(
        cable="shore cable",
        number=1,
        label="blue",
        use=StrandUse.IN_USE,
        link=PUMP.name,
        direction=Direction.AB,
        ends=(StrandEnd(slack_m=1.5, attempts=2), StrandEnd()),
    )
    spares = [
        Strand(cable="shore cable", number=2, label="orange"),
        Strand(cable="shore cable", number=3, label="<green>", tested_ms=NOW, tested_loss=Db(0.8)),
    ]
    cable = Cable(name="shore cable", strands=3, length_m=900.0, a="Lab hut", b="Pump house")
    with closing(open_writer(path, reserve=False)) as writer:
        writer.change(Changes(cables=[cable], strands=[carrying, *spares], readings=[READING]))
    return path


@pytest.fixture
def own_app(own_path: Path) -> Flask:
    app = create_app(station.settings(own_path), Door(own_path), clock=lambda: NOW)
    app.config[PATIENCE] = 0
    return app


@pytest.fixture
def own(own_app: Flask) -> FlaskClient:
    return own_app.test_client()


def asked_for(path: Path, kind: EntryKind) -> list[Entry]:
    with closing(open_reader(path)) as record:
        return [stored.entry for stored in record.entries(kind=kind)]


def text_of(client: FlaskClient, path: str) -> str:
    return client.get(path).get_data(as_text=True)


def as_shown(page: str) -> dict[str, str]:
    """The fields of the page's first form as a browser would send them back unchanged."""
    form = page[page.index('class="fields') : page.index("</form>")]
    found = dict(re.findall(r'<input id="(?:loss-)?(\w+)" name="\1"[^>]* value="([^"]*)"', form))
    for name, options in re.findall(
        r'<select id="(\w+)" name="\1">(.*?)</select>', form, re.DOTALL
    ):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        if chosen is not None:
            found[name] = chosen[1]
    return found


def test_a_strands_form_asks_only_for_what_was_changed(own: FlaskClient, own_path: Path) -> None:
    fields = as_shown(text_of(own, f"{STRAND}1"))
    assert (fields["label"], fields["slack_a"], fields["attempts_a"]) == ("blue", "1.5 m", "2")
    changed = {
        **fields,
        "slack_b": "2,25",
        "attempts_b": "1",
        "tested": "2025-01-31",
        "tested_loss": "0.9",
        "note": "the long one",
    }
    assert post(own, f"{STRAND}1", changed).status_code == 303
    (entry,) = asked_for(own_path, EntryKind.LEDGER)
    (strand,) = entry.payload["strands"]  # type: ignore[misc]
    tested = strand.pop("tested")  # type: ignore[attr-defined]
    assert tested.startswith("2025-01-31T")
    assert strand == {
        "cable": "shore cable",
        "number": 1,
        "slack_b_m": 2.25,
        "attempts_b": 1,
        "tested_loss_db": 0.9,
        "note": "the long one",
    }


def test_a_form_sent_back_as_it_was_enters_nothing(own: FlaskClient, own_path: Path) -> None:
    answer = post(own, f"{STRAND}1", as_shown(text_of(own, f"{STRAND}1")))
    assert answer.status_code == 400
    assert "Nothing was changed." in answer.get_data(as_text=True)
    assert asked_for(own_path, EntryKind.LEDGER) == []


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("slack_a", "a little", "Slack here: &#39;a little&#39; is no length."),
        ("attempts_a", "-1", "Plugs made is &#39;-1&#39;."),
        ("tested_loss", "much", "The loss then is &#39;much&#39;."),
        ("tested", "2999-01-01", "which is still to come."),
        ("use", "lost", "A strand cannot be &#39;lost&#39;."),
    ],
)
def test_what_cannot_be_read_is_said_beside_what_was_typed(
    own: FlaskClient, own_path: Path, field: str, typed: str, words: str
) -> None:
    fields = {**as_shown(text_of(own, f"{STRAND}1")), "note": "kept", field: typed}
    answer = post(own, f"{STRAND}1", fields)
    assert answer.status_code == 400
    page = answer.get_data(as_text=True)
    assert words in page
    assert 'value="kept"' in page
    assert asked_for(own_path, EntryKind.LEDGER) == []


def test_a_strand_that_breaks_is_entered_with_what_it_no_longer_carries(
    own: FlaskClient, own_path: Path
) -> None:
    post(own, f"{STRAND}1", {**as_shown(text_of(own, f"{STRAND}1")), "use": "broken"})
    (entry,) = asked_for(own_path, EntryKind.LEDGER)
    (strand,) = entry.payload["strands"]  # type: ignore[misc]
    assert strand == {
        "cable": "shore cable",
        "number": 1,
        "use": "broken",
        "link": None,
        "direction": None,
    }


def test_a_failed_strand_leads_to_the_best_spare_with_cautions(
    own: FlaskClient, own_path: Path
) -> None:
    page = text_of(own, f"{STRAND}1")
    assert "3 &lt;green&gt;, tried, lost 0.8 dB (best)" in page
    assert page.index("(best)") < page.index("2 orange, never tried")
    for caution in work_cautions():
        assert caution in page
    post(own, "/cables/strand/move?cable=shore+cable&number=1", {"to": "3", "left": "broken"})
    (entry,) = asked_for(own_path, EntryKind.LEDGER)
    assert entry.payload["strands"] == [
        {"cable": "shore cable", "number": 1, "use": "broken", "link": None},
        {
            "cable": "shore cable",
            "number": 3,
            "use": "in-use",
            "link": PUMP.name,
            "direction": "ab",
        },
    ]


def test_what_became_of_an_entry_is_told(own: FlaskClient, own_path: Path) -> None:
    where = post(own, f"{STRAND}2", {**as_shown(text_of(own, f"{STRAND}2")), "note": "x"}).location
    assert "Asked, not yet applied." in text_of(own, where)
    (entry,) = asked_for(own_path, EntryKind.LEDGER)
    assert entry.who == "someone at this computer"
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.change(Changes(), entry=1, at_ms=NOW)
    assert "Entered." in text_of(own, where)
    with closing(open_reader(own_path)) as record:
        record.append_entry(Entry(kind=EntryKind.LEDGER, who="x"))
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.refuse_entry(2, "the entry names <no> cable")
    told = text_of(own, where.replace("asked=1", "asked=2"))
    assert "Refused, nothing was changed: The entry names &lt;no&gt; cable." in told
    assert "Refused" not in text_of(own, where.replace("asked=1", "asked=77"))


def test_a_new_cable_and_a_longer_one_are_asked_for(own: FlaskClient, own_path: Path) -> None:
    new = {
        "name": "jetty cable",
        "strands": "24",
        "length": "0.4km",
        "a": "Lab",
        "fibre": "G.652.D",
    }
    assert post(own, "/cables/cable", new).status_code == 303
    (entry,) = asked_for(own_path, EntryKind.LEDGER)
    (cable,) = entry.payload["cables"]  # type: ignore[misc]
    assert cable == {
        "name": "jetty cable",
        "strands": 24,
        "length_m": 400.0,
        "a": "Lab",
        "b": "",
        "fibre": "G.652.D",
        "note": "",
    }
    fields = as_shown(text_of(own, "/cables/cable?name=shore+cable"))
    post(own, "/cables/cable?name=shore+cable", {**fields, "length": "950", "strands": "12"})
    (cable,) = asked_for(own_path, EntryKind.LEDGER)[0].payload["cables"]  # type: ignore[misc]
    assert cable == {"name": "shore cable", "strands": 12, "length_m": 950.0}
    assert post(own, "/cables/cable", {"name": ""}).status_code == 400


def test_the_ledger_is_taken_away_as_csv_and_json(own: FlaskClient) -> None:
    rows = list(csv.DictReader(io.StringIO(text_of(own, "/cables/strands.csv"))))
    assert [(r["number"], r["use"]) for r in rows] == [
        ("1", "in-use"),
        ("2", "spare"),
        ("3", "spare"),
    ]
    (reading,) = csv.DictReader(io.StringIO(text_of(own, "/cables/readings.csv")))
    assert (reading["loss_db"], reading["cords"]) == ("1.3", "1")
    whole = json.loads(text_of(own, "/cables/ledger.json"))
    assert [len(whole[k]) for k in ("cables", "strands", "readings")] == [1, 3, 1]
    assert own.get("/cables/works.csv").headers["Content-Disposition"].endswith('"works.csv"')
    assert own.get("/cables/secrets.csv").status_code == 404


LOSS = {
    "source": "laser",
    "source_nm": "1310",
    "cords": "2",
    "reference": "−10,0",
    "reading": "-11.35",
    "by": "the electrician",
    "note": "after cleaning",
    "end": "B",
}


def choice(page: str, words: str) -> str:
    """The value of the choice with these words."""
    found = re.search(rf'<option value="([^"]*)"[^>]*>{re.escape(words)}', page)
    assert found is not None, words
    return found[1]


def test_a_loss_is_asked_for_with_its_method_time_and_person(
    own: FlaskClient, own_path: Path
) -> None:
    page = text_of(own, "/meter")
    of = choice(page, "Lab to pump house: Lab → Pump house")
    then = form_fields.day_text(NOW - 2 * 86_400_000)
    assert post(own, "/meter/loss", {**LOSS, "of": of, "at": f"{then}T14:05"}).status_code == 303
    (entry,) = asked_for(own_path, EntryKind.METER)
    at = str(entry.payload.pop("at"))
    assert at.endswith("Z")
    assert entry.payload == {
        "kind": "loss",
        "link": PUMP.name,
        "direction": "ab",
        "source": "laser",
        "source_nm": 1310.0,
        "cords": 2,
        "reference_dbm": -10.0,
        "reading_dbm": -11.35,
        "end": "B",
        "by": "the electrician",
        "note": "after cleaning",
    }


def test_a_spare_strand_is_measured_from_its_own_page(own: FlaskClient, own_path: Path) -> None:
    link = re.search(r'href="(/meter\?[^"]*)"', text_of(own, f"{STRAND}2"))
    assert link is not None
    fields = as_shown(text_of(own, link[1].replace("&amp;", "&")))
    page = text_of(own, link[1].replace("&amp;", "&"))
    chosen = re.search(r'<option value="(strand-\d+)" selected>([^<]*)', page)
    assert chosen is not None
    assert chosen[2] == "shore cable: strand 2 orange (spare)"
    assert fields["source_nm"] == "1310"
    post(own, "/meter/loss", {**LOSS, "of": chosen[1]})
    (entry,) = asked_for(own_path, EntryKind.METER)
    assert (entry.payload["cable"], entry.payload["strand"]) == ("shore cable", 2)
    assert "link" not in entry.payload


def test_wrong_practice_is_back_in_its_form_with_the_reason(
    own: FlaskClient, own_path: Path
) -> None:
    of = choice(text_of(own, "/meter"), "Lab to pump house: Lab → Pump house")
    fault_locator = {**LOSS, "of": of, "source": "visual fault locator", "source_nm": "650"}
    where = post(own, "/meter/loss", fault_locator).location
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.refuse_entry(1, "a visual fault locator (red light) cannot measure loss")
    page = text_of(own, where)
    assert "Refused, nothing was changed: A visual fault locator" in page
    assert 'name="source_nm" type="text" value="650"' in page
    assert '<option value="visual fault locator" selected>' in page
    assert f'<option value="{of}" selected>' in page
    assert 'value="-11.35"' in page


def test_a_figure_that_is_none_is_said_at_once(own: FlaskClient, own_path: Path) -> None:
    of = choice(text_of(own, "/meter"), "Lab to pump house: Lab → Pump house")
    answer = post(own, "/meter/loss", {**LOSS, "of": of, "reading": "Lo"})
    assert answer.status_code == 400
    assert "The reading is &#39;Lo&#39;." in answer.get_data(as_text=True)
    assert post(own, "/meter/loss", {**LOSS, "of": "way-99-ab"}).status_code == 400
    assert asked_for(own_path, EntryKind.METER) == []


def test_a_power_at_the_receivers_cord_is_asked_for(own: FlaskClient, own_path: Path) -> None:
    page = text_of(own, "/meter")
    for caution in meter_cautions():
        assert caution in page
    of = choice(page, "Lab to pump house: Pump house → Lab")
    post(own, "/meter/power", {"of": of, "meter_nm": "1310", "reading": "-8.0", "sure": "yes"})
    (entry,) = asked_for(own_path, EntryKind.METER)
    assert entry.payload == {
        "kind": "power",
        "link": PUMP.name,
        "direction": "ba",
        "meter_nm": 1310.0,
        "reading_dbm": -8.0,
        "sure": True,
    }


def test_what_was_measured_stands_with_method_limit_and_verdict(own: FlaskClient) -> None:
    for path in ("/meter", "/cables", f"{STRAND}1"):
        page = text_of(own, path)
        assert "Loss 1.30 dB ±0.2 dB, one cord at the reference" in page, path
        assert "Limit 1.86 dB: accept." in page, path
    assert "Loss 1.30" not in text_of(own, f"{STRAND}2")


def test_a_change_between_two_readings_of_one_method_is_told(
    own: FlaskClient, own_path: Path
) -> None:
    worse = replace(READING, id=901, at_ms=NOW, loss=Db(2.3))
    other = replace(READING, id=902, at_ms=NOW, loss=Db(9.9), cords=3)
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.change(Changes(readings=[worse, other]))
    page = text_of(own, "/meter")
    assert page.count("by the same method") == 1
    assert "1.00 dB more than on" in page


def test_the_checklist_tells_what_failed_and_what_to_do(own: FlaskClient) -> None:
    page = text_of(own, COMMISSION)
    assert "The switch at Lab answers: passed." in page
    failed = page.count(": not passed.")
    assert failed == page[: page.index("Bench reference")].count("<br><strong>")
    assert failed > 0  # the invented station's knocked connector
    assert "mend them first" in page
    for caution in work_cautions():
        assert caution in page


def test_a_bench_reference_and_the_acceptance_are_asked_for(
    own: FlaskClient, own_path: Path
) -> None:
    assert post(own, f"{COMMISSION}/bench", {}).status_code == 303
    (bench,) = asked_for(own_path, EntryKind.METER)
    assert bench.payload == {"link": PUMP.name, "kind": "bench"}
    kept = Bench(link=PUMP.name, direction=Direction.AB, at_ms=NOW, difference=Db(0.42))
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.change(Changes(benches=[kept]))
    assert "sent - received 0.42 dB, kept" in text_of(own, COMMISSION)
    assert post(own, f"{COMMISSION}/accept", {"matings": "4"}).status_code == 303
    (begun,) = asked_for(own_path, EntryKind.COMMISSION)
    assert begun.payload == {"link": PUMP.name, "matings": 4}
    assert post(own, f"{COMMISSION}/accept", {"matings": "four"}).status_code == 400


@pytest.mark.parametrize(
    "path",
    [
        f"{STRAND}1",
        "/cables/strand/move?cable=shore+cable&number=1",
        "/cables/cable",
        "/meter/loss",
        "/meter/power",
        f"{COMMISSION}/bench",
        f"{COMMISSION}/accept",
    ],
)
def test_a_form_without_its_token_enters_nothing(
    own: FlaskClient, own_path: Path, path: str
) -> None:
    assert own.post(path, data={"note": "x"}).status_code == 403
    with closing(open_reader(own_path)) as record:
        assert record.entries() == []


@pytest.mark.parametrize(
    ("text", "wanted"), [("", None), ("-11.3", -11.3), ("−11,3 dBm", -11.3), ("1310", 1310.0)]
)
def test_figures_are_read_as_people_write_them(text: str, wanted: float | None) -> None:
    assert form_fields.figure(text, "it", "dBm") == wanted


@pytest.mark.parametrize("text", ["nan", "1e999", "1.2.3", "--3", "Lo"])
def test_what_is_no_figure_is_never_taken_for_one(text: str) -> None:
    with pytest.raises(InputError):
        form_fields.figure(text, "it", "dBm")


@pytest.mark.browser
def test_every_form_works_without_a_script_by_keyboard_alone(
    own_app: Flask, own_path: Path, serve: Callable[[Flask], Served]
) -> None:
    if shutil.which("/usr/bin/chromium") is None:
        pytest.skip("NOT RUN: /usr/bin/chromium is missing")
    served = serve(own_app)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        context = browser.new_context(
            viewport={"width": 360, "height": 740}, java_script_enabled=False
        )
        page = context.new_page()
        page.goto(f"{served.address}{STRAND}2")
        page.focus("#note")
        page.keyboard.type("typed on a phone")
        page.keyboard.press("Enter")
        page.wait_for_url("**asked=1")
        assert page.locator("[role=status]").inner_text().startswith("Asked, not yet applied.")
        page.goto(f"{served.address}/meter")
        page.focus("#loss-of")
        page.keyboard.type("Lab to pump")
        page.focus("#loss-reference")
        page.keyboard.type("-10")
        page.focus("#loss-reading")
        page.keyboard.type("-11.3")
        page.keyboard.press("Enter")
        page.wait_for_url("**asked=2**")
        browser.close()
    (ledger_entry,) = asked_for(own_path, EntryKind.LEDGER)
    assert ledger_entry.payload["strands"] == [
        {"cable": "shore cable", "number": 2, "note": "typed on a phone"}
    ]
    (reading,) = asked_for(own_path, EntryKind.METER)
    assert reading.payload["reading_dbm"] == -11.3


RECORD = "/links/lab-to-pump-house/record"


def test_the_record_to_print_has_everything(own: FlaskClient, own_path: Path) -> None:
    kept = Bench(link=PUMP.name, direction=Direction.AB, at_ms=NOW, difference=Db(0.4))
    with closing(open_writer(own_path, reserve=False)) as writer:
        writer.change(Changes(benches=[kept]))
    page = text_of(own, RECORD)
    for wanted in (
        "Modules",
        "Module says it is",
        "shore cable 1",
        "Planned, at most",
        "measured by module, ±3",
        "no bench reference",  # the other way has none
        "Loss 1.30 dB ±0.2 dB",
        "No work is on record.",
        "What happened",
    ):
        assert wanted in page, wanted
    assert page.count('class="level-drawing"') == 2
    assert 'class="trend-drawing' in page
    assert "<script" not in page  # nothing is drawn by a script
    assert own.get("/links/lab-to-boat-shed/record").status_code == 404  # never read


def test_a_link_without_strands_in_a_cable_says_so_on_paper(client: FlaskClient) -> None:
    page = text_of(client, RECORD)
    assert "No strand of this link is entered in a cable." in page
    assert "Plugs made" not in page


def test_what_people_did_is_still_told_after_a_long_look(own: FlaskClient, own_path: Path) -> None:
    post(own, "/links/lab-to-pump-house/rework/start", {"what": "a new plug"})
    look = Entry(kind=EntryKind.LIVE, who="x", payload={"link": PUMP.name})
    with closing(open_reader(own_path)) as record:
        for _ in range(250):  # who looks on live is entered every ten seconds
            record.append_entry(look)
    with closing(open_reader(own_path)) as record:
        (begun,) = record.entries(kind=EntryKind.REWORK_START)
    app = create_app(station.settings(own_path), Door(own_path), clock=lambda: begun.at_ms + 1)
    page = text_of(app.test_client(), RECORD)
    assert "someone at this computer began work: a new plug." in page


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_record_prints_without_anything_cut_off(
    own_app: Flask, serve: Callable[[Flask], Served], paper: str
) -> None:
    if shutil.which("/usr/bin/chromium") is None:
        pytest.skip("NOT RUN: /usr/bin/chromium is missing")
    served = serve(own_app)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        width = {"A4": 794, "Letter": 816}[paper]  # at 96 px an inch
        page = browser.new_page(viewport={"width": width, "height": 1000})
        page.emulate_media(media="print")
        page.goto(f"{served.address}{RECORD}")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        printed = page.pdf(format=paper)
        assert 2 <= len(re.findall(rb"/Type\s*/Page\b", printed)) <= 8
        browser.close()
