"""Every page answers with what it is for, out of a record written by the real writer."""

from __future__ import annotations

import html
import re
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from strandkeeper.alerts.wording import event_sentence
from strandkeeper.store import Batch, open_writer
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

PAGES = (
    "/",
    "/links/lab-to-pump-house",
    "/links/lab-to-tower?range=6h",
    "/links/lab-to-boat-shed?range=all",
    "/findings",
    "/alerts",
    "/cables",
    "/links/lab-to-pump-house/rework",
    "/switches",
    "/budget",
    "/about",
)


def text(client: FlaskClient, path: str, status: int = 200) -> str:
    response = client.get(path)
    assert response.status_code == status
    return html.unescape(response.get_data(as_text=True)).replace("\N{NARROW NO-BREAK SPACE}", " ")


def words(page: str) -> str:
    return re.sub(r" ([.,:;])", r"\1", " ".join(re.sub(r"<[^>]+>", " ", page).split()))


@pytest.mark.parametrize("path", PAGES)
def test_every_page_has_one_first_heading_a_title_and_a_language(
    client: FlaskClient, path: str
) -> None:
    page = text(client, path)
    assert page.count("<h1") == 1
    assert '<html lang="en"' in page
    assert re.search(r"<title>[^<]+ – Shore station</title>", page)


def test_first_screen_puts_the_worst_link_first_and_names_it_in_the_headline(
    client: FlaskClient,
) -> None:
    page = text(client, "/")
    order = re.findall(r'<h2 id="name-([^"]+)"', page)
    assert order == ["lab-to-tower", "lab-to-pump-house", "lab-to-boat-shed", "lab-to-jetty"]
    assert "Lab to tower needs you now. 1 link wants looking at, 1 link is not known" in page


def test_first_screen_says_what_is_to_spare_on_the_weaker_direction(client: FlaskClient) -> None:
    # -11.0 dBm received, -19.5 dBm needed: 8.5 dB, shown rounded down because readings are +-3 dB
    said = words(text(client, "/"))
    assert "8 dB to spare on Pump house → Lab, the weaker way; keep at least 6 dB" in said
    assert "no light on Tower → Lab" in said


def test_state_is_a_word_beside_its_mark(client: FlaskClient) -> None:
    said = words(text(client, "/"))
    for word in ("Act now", "Look at this", "Not known", "All right"):
        assert word in said


def test_each_level_diagram_has_its_text(client: FlaskClient) -> None:
    said = words(text(client, "/"))
    # -5.2 - (-11.0) = 5.8
    assert "Pump house sends −5.2 dBm, Lab receives −11.0 dBm: 5.8 dB lost on the way" in said
    assert "Tower sends −5.4 dBm; no light arrives at Lab" in said


def test_a_reading_that_is_old_says_so(client: FlaskClient) -> None:
    assert "Old: read 45 minutes ago." in words(text(client, "/"))


def test_strand_colours_stand_beside_their_names(client: FlaskClient) -> None:
    page = text(client, "/")
    assert 'swatch-slate" aria-hidden="true"></span>slate strand' in page


def test_a_link_never_read_is_not_called_well(client: FlaskClient) -> None:
    page = text(client, "/links/lab-to-boat-shed")
    assert "Nothing has been read from this link yet." in page
    assert "Nothing was recorded in this time." in page


def test_link_page_offers_every_range_and_marks_the_one_shown(client: FlaskClient) -> None:
    page = text(client, "/links/lab-to-pump-house?range=1w")
    ids = re.findall(r"range=(\w+)#trend-title\"( aria-current=\"true\")?", page)
    assert [name for name, _mark in ids] == ["1h", "6h", "1d", "1w", "1month", "1year", "all"]
    assert [name for name, mark in ids if mark] == ["1w"]


def test_trend_table_holds_the_figures_of_the_plot(client: FlaskClient) -> None:
    page = text(client, "/links/lab-to-pump-house?range=1h")
    rows = re.findall(r"<tr><th scope=\"row\"><time.*?</tr>", page)
    assert len(rows) == 24
    # received at the lab before the swing and the ripple: -7.4 - 3.6 knocked = -11.0
    assert all("<td>−11.0</td>" in row or "<td>−10." in row for row in rows)


def test_what_happened_is_told_in_the_words_of_the_alerts(client: FlaskClient) -> None:
    said = words(text(client, "/links/lab-to-pump-house?range=1d"))
    links = {link.name: link for link in station.links()}
    told = [event for event in station.events(station.NOW_MS) if event.link == station.PUMP]
    recent = [event for event in told if station.NOW_MS - event.time_ms < station.DAY_MS]
    assert len(recent) == 3
    for event in recent:
        assert event_sentence(links[event.link], event) in said


def test_findings_page_tells_cause_steps_and_cautions(client: FlaskClient) -> None:
    said = words(text(client, "/findings"))
    assert said.index("The link is down") < said.index("3.6 dB lost since it was good")
    assert "Likely:" in said
    assert "Never look into a fibre" in said


def test_switches_page_says_what_each_answered(client: FlaskClient) -> None:
    said = words(text(client, "/switches"))
    assert said.index("Does not answer") < said.index("Answers; a port is missing")
    assert "Tower-switch (127.0.0.4) did not answer within 2 s." in said
    assert "Look at its power, its address and the way to it." in said
    assert "not on this switch" in said
    assert "Ports this switch has: Gi1, Gi2, Gi3, Gi5, Gi6." in said


def test_a_caution_is_said_once_where_it_is_needed(client: FlaskClient) -> None:
    page = words(text(client, "/"))
    start = page.index("Lab to pump house Up.")
    card = page[start : page.index("Trend and record of Lab to pump house")]
    # the first step's caution stands beside it; in the list right below it is not repeated
    assert card.count("Never look into a fibre, plug or port") == 1
    assert card.count("Cleaning alcohol burns") == 1


def test_switches_page_says_how_often_and_how_patiently_is_asked(client: FlaskClient) -> None:
    said = words(text(client, "/switches"))
    assert "Is asked every 10 seconds, for light every 30 seconds; waits 2 seconds" in said
    assert "Polls without an answer 0 in a row" in said


def test_about_page_says_who_may_log_in_and_whether_a_sign_of_life_is_sent(
    client: FlaskClient,
) -> None:
    said = words(text(client, "/about"))
    assert "Log-in nobody has to, on this computer alone" in said
    assert "None is sent: nobody hears of it when this computer itself is off." in said


def test_about_page_says_what_is_kept_how_long(client: FlaskClient) -> None:
    said = words(text(client, "/about"))
    for wanted in ("Every reading 30 days", "730 days", "Hourly summaries for ever", "Plotly"):
        assert wanted in said


def test_a_record_that_stands_still_is_said_at_the_top(record_path: Path) -> None:
    late = station.NOW_MS + 600_000
    app = create_app(station.settings(record_path), Door(record_path), clock=lambda: late)
    page = words(text(app.test_client(), "/"))
    assert "The watching program has written nothing since" in page
    assert "All right" not in page


def test_before_there_is_a_record_the_page_waits_and_says_for_what(tmp_path: Path) -> None:
    path = tmp_path / "not-yet.db"
    door = Door(path)
    client = create_app(station.settings(path), door).test_client()
    response = client.get("/")
    assert response.status_code == 503
    assert response.headers["Retry-After"] == "5"
    said = words(html.unescape(response.get_data(as_text=True)))
    assert "Waiting for the first readings" in said
    assert "strandkeeper run CONFIG" in said
    assert client.get("/api/links").get_json()["error"]["code"] == "service-unavailable"
    writer = open_writer(path, reserve=False)
    writer.append(Batch())
    writer.close()
    assert client.get("/").status_code == 200


def test_a_file_that_is_no_record_is_named_with_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "strandkeeper.db"
    path.write_bytes(b"this is not a record of anything at all" * 100)
    response = create_app(station.settings(path), Door(path)).test_client().get("/")
    assert response.status_code == 503
    assert "strandkeeper.db" in response.get_data(as_text=True)


def test_hostile_names_are_shown_as_text(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    station.write(path, hours=1, days=1, sys_descr="<img src=x onerror=alert(1)>")
    app = create_app(
        station.settings(path, station="<script>alert(1)</script>"),
        Door(path),
        clock=lambda: station.NOW_MS,
    )
    for page in PAGES:
        raw = app.test_client().get(page).get_data(as_text=True)
        assert "<script>alert" not in raw
        assert "<img" not in raw
    assert "&lt;img src=x" in app.test_client().get("/switches").get_data(as_text=True)


def test_an_unknown_page_and_a_range_that_is_none_say_what_to_do(client: FlaskClient) -> None:
    assert "There is no link 'nowhere' in the configuration." in text(client, "/links/nowhere", 404)
    page = words(text(client, "/links/lab-to-tower?range=2w", 400))
    assert "There is no range '2w'. The ranges are 1h, 6h, 1d, 1w, 1month, 1year, all." in page
