"""JSON of alerts, the ledger and this installation, on records that have something to say."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import invented_station as station
import pytest
from flask import Flask
from flask.testing import FlaskClient
from test_openapi import tried

from conftest import Served
from strandkeeper.model.alert import Alert, AlertState
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.message import Message, MessageKind, Outgoing
from strandkeeper.model.silence import Silence
from strandkeeper.optics.units import Db
from strandkeeper.store import open_reader, open_writer
from strandkeeper.store.care import Beat
from strandkeeper.store.changes import Changes
from strandkeeper.store.telling import TellingBatch
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

NOW = station.NOW_MS
LINK = station.links()[0].name


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "record.db"
    with closing(open_writer(place, reserve=False)) as writer:
        telling, _ = writer.telling()
        telling.write(told())
        cable = Cable(name="shore cable", strands=2, length_m=900.0, a="Lab hut", b="Pump house")
        strand = Strand(
            cable="shore cable", number=2, label="orange", tested_ms=NOW, tested_loss=Db(0.8)
        )
        writer.change(Changes(cables=[cable], strands=[strand]))
    return place


def told() -> TellingBatch:
    finding = Finding(
        link=LINK, kind=FindingKind.LINK_DOWN, severity=Severity.URGENT, since_ms=NOW - 60_000
    )
    alert = Alert(
        number=7,
        finding=finding,
        state=AlertState.ACKNOWLEDGED,
        began_ms=NOW - 60_000,
        changed_ms=NOW,
        held_from_ms=NOW,
        told=1,
        who="Anna",
    )
    message = Message(
        key="k", kind=MessageKind.RAISED, time_ms=0, severity=Severity.URGENT, title="t", text="t"
    )
    return TellingBatch(
        alerts=[alert],
        messages=[Outgoing(order=1, target="phone", message=message, not_before_ms=0, attempts=2)],
        silences=[Silence(link=LINK, from_ms=NOW, until_ms=NOW + 3_600_000, who="Bert")],
        beat=Beat(at_ms=NOW - 60_000, why="no network"),
    )


@pytest.fixture
def client(path: Path) -> FlaskClient:
    return create_app(station.settings(path), Door(path), clock=lambda: NOW).test_client()


def test_alerts_come_with_who_saw_them_what_is_muted_and_what_waits(client: FlaskClient) -> None:
    answer = client.get("/api/alerts").get_json()
    (alert,), (silence,), (waiting,) = (answer[name] for name in ("alerts", "silences", "waiting"))
    assert (alert["number"], alert["state"], alert["who"]) == (7, "acknowledged", "Anna")
    assert alert["finding"]["kind"] == "link-down"
    assert alert["text"]
    assert (silence["link"], silence["who"]) == (LINK, "Bert")
    assert (waiting["target"], waiting["attempts"]) == ("phone", 2)


def test_the_ledger_comes_whole(client: FlaskClient) -> None:
    answer = client.get("/api/ledger").get_json()
    assert answer["schema"] == 1
    assert answer["cables"][0]["length_m"] == 900
    strand = answer["strands"][0]
    assert (strand["label"], strand["tested_loss_db"]) == ("orange", 0.8)
    assert answer["readings"] == answer["works"] == []


def test_the_installation_tells_of_its_care(client: FlaskClient, path: Path) -> None:
    before = client.get("/api/about").get_json()
    assert before["backup"] is None
    assert before["sign_of_life"]["arrived"] is None
    assert before["sign_of_life"]["why_refused"] == "no network"
    with closing(open_reader(path)) as reader:
        reader.append_entry(Entry(kind=EntryKind.BACKUP, who="backup"), at_ms=NOW)
    after = client.get("/api/about").get_json()
    assert after["backup"] == "2026-11-25T09:46:40Z"
    assert after["record"]["size_bytes"] == path.stat().st_size


def test_where_the_record_is_on_the_computer_is_not_told(client: FlaskClient) -> None:
    assert "record.db" not in client.get("/api/about").get_data(as_text=True)


def test_answers_with_something_in_them_are_as_described(
    client: FlaskClient, serve: Callable[[Flask], Served], tmp_path: Path
) -> None:
    described = client.get("/api/openapi.json").get_data(as_text=True)
    done = tried(described, serve(client.application).address, tmp_path)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]
