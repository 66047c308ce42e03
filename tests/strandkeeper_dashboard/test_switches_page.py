"""The page of switches: what each says of itself, its ports, its modules and its power."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from strandkeeper.model.poll import PowerSupply
from strandkeeper.store import Batch, open_writer
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door


def page_of(path: Path, power: PowerSupply | None) -> str:
    """The page of a record in which the first switch is fed so."""
    writer = open_writer(str(path), reserve=False)
    lab, *_ = station.polls(station.NOW_MS)
    whole = replace(lab, missing_ports=(), power=power)
    writer.append(Batch(switches=(whole,)))
    writer.close()
    settings = station.settings(path)
    app = create_app(settings, Door(path), clock=lambda: station.NOW_MS)
    return str(app.test_client().get("/switches").get_data(as_text=True))


def test_a_module_is_shown_with_all_that_it_says(client: FlaskClient) -> None:
    page = client.get("/switches").get_data(as_text=True)
    assert "Invented Optics IO-LX10 1310 nm SN-1" in page


def test_what_a_switch_gives_and_what_feeds_it_are_two_lines(client: FlaskClient) -> None:
    page = client.get("/switches").get_data(as_text=True)
    assert "Feeds 120 W of 370 W to its ports, refused power 2 times" in page
    assert "Its supply is on normal" in page


def test_where_light_comes_from_is_said_in_words(client: FlaskClient) -> None:
    page = client.get("/switches").get_data(as_text=True)
    assert "<td>the standard sensors</td>" in page
    assert "entity-sensor" not in page


def test_pings_across_a_link_are_shown_with_what_they_mean(client: FlaskClient) -> None:
    page = client.get("/switches").get_data(as_text=True)
    assert "20 of 20 small and 3 of 20 large pings (1400 octets) to 192.0.2.10 came back" in page
    assert "frames are damaged on the way" in page


@pytest.mark.parametrize(
    ("power", "word"),
    [
        (None, "Answers"),
        (PowerSupply(ups_source="normal", ups_on_battery_s=0), "Answers"),
        (PowerSupply(ups_source="battery"), "Answers; its supply is in need"),
        (PowerSupply(ups_battery="depleted"), "Answers; its supply is in need"),
    ],
)
def test_a_supply_in_need_is_seen_at_a_glance(
    tmp_path: Path, power: PowerSupply | None, word: str
) -> None:
    assert f"<span>{word}</span>" in page_of(tmp_path / "record.db", power)
