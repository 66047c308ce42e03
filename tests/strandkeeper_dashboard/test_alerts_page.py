"""The page of alerts: what is open, and what a person asks for, which only the daemon applies."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from conftest import post
from strandkeeper.model.alert import Alert, AlertEvent, AlertState, Transition
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.message import Message, MessageKind, Outgoing
from strandkeeper.store import RecordReader, open_reader, open_writer
from strandkeeper.store.telling import TellingBatch
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "record.db"
    link = station.settings(place).links[0].name
    finding = Finding(
        link=link, kind=FindingKind.LINK_DOWN, severity=Severity.URGENT, since_ms=station.NOW_MS
    )
    alert = Alert(
        number=7,
        finding=finding,
        state=AlertState.FIRING,
        began_ms=station.NOW_MS,
        changed_ms=station.NOW_MS,
        held_from_ms=station.NOW_MS,
        told=1,
    )
    step = Transition(
        alert=7, at_ms=1, before=None, event=AlertEvent.SEEN, after=AlertState.PENDING
    )
    message = Message(
        key="k",
        kind=MessageKind.RAISED,
        time_ms=0,
        severity=Severity.URGENT,
        title="t",
        text="t",
    )
    sent = Outgoing(
        order=1, target="phone", message=message, not_before_ms=0, attempts=2, error="no <way> out"
    )
    writer = open_writer(place, reserve=False)
    telling, _ = writer.telling()
    telling.write(TellingBatch(alerts=[alert], steps=[step], messages=[sent]))
    writer.close()
    return place


@pytest.fixture
def client(path: Path) -> FlaskClient:
    app = create_app(station.settings(path), Door(path), clock=lambda: station.NOW_MS)
    return app.test_client()


@pytest.fixture
def reader(path: Path) -> Iterator[RecordReader]:
    reader = open_reader(path)
    yield reader
    reader.close()


def test_an_open_alert_is_shown_with_what_waits_to_be_sent(client: FlaskClient) -> None:
    text = client.get("/alerts").get_data(as_text=True)
    assert "1 open alert." in text
    assert "The link is down" in text
    assert "phone: 1 not sent yet: no &lt;way&gt; out" in text


def test_an_acknowledgement_is_asked_for_and_shown_as_asked(
    client: FlaskClient, reader: RecordReader
) -> None:
    answer = post(client, "/alerts/acknowledge", {"alert": "7"})
    assert answer.status_code == 303
    (entry,) = reader.waiting_entries()
    assert (entry.entry.kind, entry.entry.payload) == (EntryKind.ACKNOWLEDGE, {"alert": 7})
    assert "Asked, not yet applied." in client.get("/alerts").get_data(as_text=True)


def test_a_mute_has_one_of_the_offered_spans(client: FlaskClient, reader: RecordReader) -> None:
    assert post(client, "/alerts/mute", {"alert": "7", "hours": "999"}).status_code == 400
    assert post(client, "/alerts/mute", {"alert": "x", "hours": "8"}).status_code == 400
    assert post(client, "/alerts/mute", {"alert": "7", "hours": "8"}).status_code == 303
    (entry,) = reader.waiting_entries()
    assert entry.entry.payload == {"alert": 7, "for_s": 28_800}


def test_a_form_without_the_token_changes_nothing(
    client: FlaskClient, reader: RecordReader
) -> None:
    assert client.post("/alerts/acknowledge", data={"alert": "7"}).status_code == 403
    assert reader.waiting_entries() == []
