"""JSON: read-only, the objects of the command line, one shape for errors."""

from __future__ import annotations

import invented_station as station
import pytest
from flask.testing import FlaskClient

from strandkeeper.model.verdict_json import verdict_from_json, verdict_to_json


def test_a_link_is_the_object_of_the_command_line(client: FlaskClient) -> None:
    answer = client.get("/api/links/lab-to-pump-house").get_json()
    assert answer == verdict_to_json(station.pump_verdict(station.NOW_MS))
    assert verdict_from_json(answer) == station.pump_verdict(station.NOW_MS)


def test_all_links_come_in_the_owners_order_with_their_state(client: FlaskClient) -> None:
    answer = client.get("/api/links").get_json()
    assert answer["schema"] == 1
    assert [(link["id"], link["standing"]) for link in answer["links"]] == [
        ("lab-to-jetty", "well"),
        ("lab-to-pump-house", "watch"),
        ("lab-to-boat-shed", "unknown"),
        ("lab-to-tower", "act"),
    ]
    assert answer["links"][2]["verdict"] is None


def test_what_pages_poll_is_small_and_changes_with_the_record_only(client: FlaskClient) -> None:
    first, second = client.get("/api/live"), client.get("/api/live")
    assert len(first.data) < 300
    assert first.get_json()["tag"] == second.get_json()["tag"]
    assert first.get_json()["stale"] is False


def test_events_carry_the_facts_and_the_sentence(client: FlaskClient) -> None:
    events = client.get("/api/links/lab-to-tower/events?range=1d").get_json()["events"]
    assert [event["kind"] for event in events] == ["no-answer", "link-down", "light-lost"]
    assert events[0]["end"] == "b"
    assert events[2]["direction"] == "ba"
    assert all(event["text"].endswith(".") for event in events)


def test_switches_say_what_they_answered(client: FlaskClient) -> None:
    found = {s["name"]: s for s in client.get("/api/switches").get_json()["switches"]}
    assert found["lab-switch"]["enterprise"] == 32473
    assert found["lab-switch"]["power"]["draw_w"] == 120
    assert found["lab-switch"]["ports"][0]["module"] == "Invented Optics IO-LX10 1310 nm SN-1"
    assert found["lab-switch"]["pings"][0]["large"] == {"sent": 20, "came": 3, "ms": None}
    assert found["lab-switch"]["pings"][0]["only_large_fail"] is True
    assert found["tower-switch"]["answered"] is False
    assert found["tower-switch"]["heard"] is None


@pytest.mark.parametrize(
    ("path", "status", "code"),
    [
        ("/api/nothing", 404, "not-found"),
        ("/api/links/nowhere", 404, "not-found"),
        ("/api/links/lab-to-boat-shed", 404, "not-found"),
        ("/api/links/lab-to-tower/trend?range=5y", 400, "bad-request"),
        ("/api/links/lab-to-tower/events?from=2026-01-01T00:00:00Z", 400, "bad-request"),
    ],
)
def test_errors_have_one_shape(client: FlaskClient, path: str, status: int, code: str) -> None:
    response = client.get(path)
    assert response.status_code == status
    error = response.get_json()["error"]
    assert set(error) == {"status", "code", "message", "hint"}
    assert (error["status"], error["code"]) == (status, code)
    assert error["message"]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_nothing_can_be_changed(client: FlaskClient, method: str) -> None:
    for path in ("/api/links", "/api/links/lab-to-tower", "/api/switches", "/api/live", "/"):
        refused = client.open(path, method=method)
        assert refused.status_code == 405
        assert "GET" in refused.headers["Allow"]
