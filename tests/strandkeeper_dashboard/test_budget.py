"""The budget page: the plan in the address, answered in the words of the budget."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from strandkeeper.model.telling import TellingSettings
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door


def said(client: FlaskClient, path: str, status: int = 200) -> str:
    response = client.get(path)
    assert response.status_code == status
    page = html.unescape(response.get_data(as_text=True))
    plain = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    return plain.replace("\N{NARROW NO-BREAK SPACE}", " ")


def test_a_plan_is_answered_with_its_worst_case(client: FlaskClient) -> None:
    page = said(client, "/budget?length=900m&matings=4&pmd=1000BASE-LX10")
    # IEEE 802.3 clause 59: launch -9 dBm, sensitivity -19.5 dBm: 10.5 dB; 0.9 km at 0.4 dB/km and
    # 4 pairs at 0.75 dB are 3.4 dB: 7.1 dB left
    assert "Fits: in the worst case 7.1 dB to spare before too weak." in page
    assert "Together 2.3 3.4" in page
    assert "−19.5 to −3.0 dBm" in page


def test_a_configured_link_fills_in_the_form(client: FlaskClient) -> None:
    page = client.get("/budget?link=lab-to-pump-house").get_data(as_text=True)
    link = next(one for one in station.links() if one.name == station.PUMP)
    assert f'name="length" value="{link.length_m:g}m"' in page
    assert f'name="matings" value="{link.matings}"' in page
    assert f"<option selected>{link.a.pmd}</option>" in page


def test_modules_that_do_not_fit_each_other_are_told(client: FlaskClient) -> None:
    page = said(client, "/budget?length=900m&pmd=1000BASE-SX&far_pmd=1000BASE-LX10")
    assert "This does not fit together" in page


def test_a_measured_loss_is_compared_with_the_plan(client: FlaskClient) -> None:
    path = "/budget?length=900m&matings=2&pmd=1000BASE-LX10&measured=9&accuracy=0.5"
    page = client.get(path).get_data(as_text=True)
    assert re.search(r'class="outlook">[^<]*9\.0', page)


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("length=900", "The length '900' is not clear: the unit is missing."),
        ("matings=x", "The number of mated pairs is 'x'."),
        ("extra=-1", "What is lost elsewhere is '-1'."),
        ("reserve=nan", "What to keep is 'nan'."),
        ("pmd=1000BASE-XY", "1000BASE-XY"),
        ("fibre=string", "string"),
        ("measured=much", "The measured loss is 'much'."),
    ],
)
def test_what_cannot_be_read_is_told_beside_the_form(
    client: FlaskClient, query: str, message: str
) -> None:
    page = said(client, f"/budget?{query}", 400)
    assert message in page
    assert "Work it out" in page


def test_what_a_person_typed_is_shown_as_text(client: FlaskClient) -> None:
    raw = client.get('/budget?length="><script>alert(1)</script>').get_data(as_text=True)
    assert "<script>alert" not in raw


def american(record_path: Path) -> FlaskClient:
    settings = replace(
        station.settings(record_path), telling=TellingSettings(feet=True, fahrenheit=True)
    )
    return create_app(settings, Door(record_path), clock=lambda: station.NOW_MS).test_client()


def test_the_owner_reads_feet_and_degrees_of_the_configuration(record_path: Path) -> None:
    client = american(record_path)
    page = said(client, "/links/lab-to-pump-house")
    assert "°C" not in page
    verdict = station.pump_verdict(station.NOW_MS)
    assert verdict.a.temp_c is not None
    assert f"{verdict.a.temp_c * 9 / 5 + 32:.0f} °F" in page
    answer = client.get("/api/links/lab-to-pump-house/trend?range=1h").get_json()
    heat = next(line for line in answer["lines"] if line["id"] == "heat-a")
    assert heat["trace"]["hovertemplate"].startswith("%{y:.0f} °F")
    known = [value for value in heat["values"] if value is not None]
    assert 5000 < known[0] < 20_000  # 0.01 °F, a warm module
    # 900 m / 0.3048 = 2952.76 ft
    length = next(one for one in station.links() if one.name == station.PUMP).length_m
    assert length is not None
    form = client.get("/budget?link=lab-to-pump-house").get_data(as_text=True)
    assert f'name="length" value="{length / 0.3048:.6g}ft"' in form
