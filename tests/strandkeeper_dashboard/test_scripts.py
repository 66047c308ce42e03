"""Scripts with a token of their own: what it opens, and what it does not."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from strandkeeper.config.users import (
    UserBook,
    users_path,
    with_token,
    with_user,
    without_user,
    write_users,
)
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

ANNA = with_user(UserBook(), "Anna", "granite harbour lamp")
BOOK, TOKEN = with_token(ANNA, "tide gauge")
ADDRESSES = (
    "/api/live",
    "/api/links",
    "/api/links/lab-to-jetty",
    "/api/links/lab-to-jetty/trend",
    "/api/switches",
    "/api/openapi.json",
)


def bearing(token: str) -> Mapping[str, str]:
    return {"Authorization": f"Bearer {token}"}


@pytest.fixture
def users(tmp_path: Path) -> Path:
    path = users_path(tmp_path / "strandkeeper.db")
    write_users(path, BOOK)
    return path


@pytest.fixture
def client(record_path: Path, tmp_path: Path, users: Path) -> FlaskClient:
    settings = station.settings(tmp_path / "strandkeeper.db")
    app = create_app(settings, Door(record_path), clock=lambda: station.NOW_MS)
    return app.test_client()


@pytest.mark.parametrize("path", ADDRESSES)
def test_a_token_reads_every_figure_and_begins_no_session(client: FlaskClient, path: str) -> None:
    answer = client.get(path, headers=bearing(TOKEN))
    assert answer.status_code == 200
    assert "Set-Cookie" not in answer.headers
    assert client.get(path).status_code == 401


@pytest.mark.parametrize("path", ["/", "/about", "/links/lab-to-jetty/trend.csv"])
def test_a_token_opens_no_page(client: FlaskClient, path: str) -> None:
    answer = client.get(path, headers=bearing(TOKEN))
    assert answer.status_code == 303
    assert answer.headers["Location"].startswith("/log-in")


def test_a_token_changes_nothing(client: FlaskClient) -> None:
    for path in ("/alerts/acknowledge", "/colours", "/api/links"):
        answer = client.post(path, data={"alert": "1"}, headers=bearing(TOKEN))
        assert answer.status_code in (303, 401, 403)
    assert client.get("/api/links").status_code == 401


@pytest.mark.parametrize(
    "headers",
    [
        {"Authorization": "Bearer"},
        {"Authorization": "Bearer "},
        bearing("x"),
        bearing(TOKEN[:-1]),
        bearing(f"{TOKEN}="),
        {"Authorization": f"Basic {TOKEN}"},
    ],
)
def test_what_is_not_the_token_opens_nothing(
    client: FlaskClient, headers: Mapping[str, str]
) -> None:
    answer = client.get("/api/links", headers=headers)
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="strandkeeper"'


def test_whoever_is_refused_hears_how_a_script_gets_in(client: FlaskClient) -> None:
    assert "strandkeeper user token" in client.get("/api/links").get_json()["error"]["hint"]


def test_a_token_in_the_address_opens_nothing(client: FlaskClient) -> None:
    for name in ("token", "access_token", "authorization"):
        assert client.get(f"/api/links?{name}={TOKEN}").status_code == 401


def test_wrong_tokens_have_to_wait_and_people_need_not(client: FlaskClient) -> None:
    for _ in range(4):
        assert client.get("/api/links", headers=bearing("guess")).status_code == 401
    answer = client.get("/api/links", headers=bearing(TOKEN))
    assert answer.status_code == 429
    assert answer.headers["Retry-After"] == "1"
    assert answer.get_json()["error"]["code"] == "too-many-requests"
    assert client.get("/log-in").status_code == 200


def test_a_token_taken_back_is_void_at_once(client: FlaskClient, users: Path) -> None:
    assert client.get("/api/live", headers=bearing(TOKEN)).status_code == 200
    write_users(users, without_user(BOOK, "tide gauge"))
    assert client.get("/api/live", headers=bearing(TOKEN)).status_code == 401


def test_the_file_of_users_does_not_hold_the_token(users: Path) -> None:
    assert "tide gauge" in users.read_text()
    assert TOKEN not in users.read_text()


def test_the_description_names_the_token(client: FlaskClient) -> None:
    told = client.get("/api/openapi.json", headers=bearing(TOKEN)).get_json()
    assert told["components"]["securitySchemes"]["token"]["scheme"] == "bearer"
    assert {"token": []} in told["security"]
