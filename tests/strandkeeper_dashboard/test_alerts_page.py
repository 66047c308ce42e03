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
from strandkeeper.model.finding import Finding, FindingKind, NextStep, Severity
from strandkeeper.model.message import Message, MessageKind, Outgoing
from strandkeeper.model.names import Direction, End
from strandkeeper.model.silence import Silence
from strandkeeper.model.verdict import DirectionVerdict, EndState, Flap, LinkVerdict
from strandkeeper.store import Batch, RecordReader, open_reader, open_writer
from strandkeeper.store.telling import TellingBatch
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door


@pytest.fixture
def path(tmp_path: Path) -> Path:
    place = tmp_path / "record.db"
    link = station.settings(place).links[0].name
    finding = Finding(
        link=link,
        kind=FindingKind.LINK_DOWN,
        severity=Severity.URGENT,
        since_ms=station.NOW_MS,
        next_steps=(NextStep.CHECK_FAR_POWER, NextStep.CLEAN_PLUGS_AND_BORE),
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
    assert "Look at the power of" in text
    assert "Care: " in text
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


def test_a_link_is_muted_and_told_of_again_from_the_page(
    client: FlaskClient, reader: RecordReader, path: Path
) -> None:
    name = station.settings(path).links[0].name
    for form in ({"link": name, "hours": "999"}, {"link": "elsewhere", "hours": "8"}):
        assert post(client, "/alerts/silence", form).status_code == 400
    assert post(client, "/alerts/silence", {"link": name, "hours": "8"}).status_code == 303
    assert post(client, "/alerts/silence", {"link": name, "hours": "0"}).status_code == 303
    asked = [e.entry.payload for e in reader.waiting_entries()]
    assert asked == [{"link": name, "for_s": 28_800}, {"link": name, "for_s": 0}]


def test_a_silence_is_shown_with_its_end_and_a_way_to_end_it(
    client: FlaskClient, path: Path
) -> None:
    name = station.settings(path).links[0].name
    quiet = Silence(link=name, from_ms=0, until_ms=station.NOW_MS, who="<anna>", why="rework")
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    telling.write(TellingBatch(silences=[quiet]))
    writer.close()
    text = client.get("/alerts").get_data(as_text=True)
    assert "silent while there is work on it, until" in text
    assert "by &lt;anna&gt;" in text
    assert f"Tell of {name} again" in text


def test_links_that_went_down_are_listed_with_counts_and_penalty(
    client: FlaskClient, path: Path
) -> None:
    """Four times in the last two minutes, 313 times in two weeks: beyond what a verdict lists."""
    known = station.settings(path).links[0]
    flaps = tuple(
        Flap(
            from_ms=station.NOW_MS - 30_000 * n,
            to_ms=station.NOW_MS - 30_000 * n + 2000,
            seen_by=("trap of A",),
            uncertainty_s=0,
        )
        for n in (4, 3, 2, 1)
    )
    verdict = LinkVerdict(
        link=known.name,
        at_ms=station.NOW_MS,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
        flaps=flaps,
        downs_24h=4,
        downs_14d=313,
    )
    writer = open_writer(path, reserve=False)
    writer.append(Batch(verdicts=(verdict,)))
    writer.close()
    text = client.get("/alerts").get_data(as_text=True)
    # 2^(-120/900) + 2^(-90/900) + 2^(-60/900) + 2^(-30/900) = 3.78; down to 1 in 900 s * log2(3.78)
    assert "Down 4 times in 24 hours, 313 times in 14 days. Flap penalty 3.8, its alerts" in text
    assert "are held back for 28 minutes of calm." in text
