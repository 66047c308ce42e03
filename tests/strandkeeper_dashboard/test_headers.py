"""Strict headers on every response; caches told the truth; colours kept without a script."""

from __future__ import annotations

import gzip
import re
from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from conftest import post
from strandkeeper.config.users import UserBook, with_user, write_users
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.headers import trusted_hosts
from strandkeeper_dashboard.record import Door

RESPONSES = (
    "/",
    "/links/lab-to-pump-house",
    "/api/live",
    "/api/nothing",
    "/nothing",
    "/links/lab-to-pump-house/trend.csv",
)


@pytest.mark.parametrize("path", RESPONSES)
def test_every_response_carries_the_strict_headers(client: FlaskClient, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert "http:" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


def test_pages_hold_no_inline_style_and_no_inline_script(client: FlaskClient) -> None:
    for path in ("/", "/links/lab-to-pump-house", "/findings", "/switches", "/about"):
        page = client.get(path).get_data(as_text=True)
        assert not re.search(r"<[^>]+\sstyle=", page)
        assert "<style" not in page
        assert not re.search(r"<script(?![^>]*\ssrc=)", page)
        assert not re.search(r"<[^>]+\son\w+=", page)


@pytest.mark.parametrize("path", ["/", "/api/links", "/links/lab-to-pump-house/trend.csv"])
def test_answers_are_compressed_for_whoever_takes_it(client: FlaskClient, path: str) -> None:
    plain = client.get(path)
    assert "Content-Encoding" not in plain.headers
    assert "Accept-Encoding" in plain.headers["Vary"]
    small = client.get(path, headers={"Accept-Encoding": "gzip, br"})
    assert small.headers["Content-Encoding"] == "gzip"
    assert small.headers["Content-Length"] == str(len(small.data))
    assert len(small.data) < len(plain.data) / 2
    assert gzip.decompress(small.data).count(b"\n") == plain.data.count(b"\n")
    refused = client.get(path, headers={"Accept-Encoding": "gzip;q=0"})
    assert "Content-Encoding" not in refused.headers


def test_an_answer_of_one_packet_is_sent_as_it_is(client: FlaskClient) -> None:
    small = client.get("/api/live", headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in small.headers


def test_pages_ask_nobody_but_this_server(client: FlaskClient) -> None:
    for path in ("/", "/links/lab-to-pump-house"):
        page = client.get(path).get_data(as_text=True)
        assert not re.findall(r'(?:src|href)="(?:https?:)?//', page)


def test_pages_are_asked_for_anew_and_figures_are_not_kept(client: FlaskClient) -> None:
    assert client.get("/").headers["Cache-Control"] == "private, no-cache"
    assert client.get("/api/live").headers["Cache-Control"] == "no-store"
    assert client.get("/api/nothing").headers["Cache-Control"] == "no-store"


def asset_url(client: FlaskClient, name: str) -> str:
    page = client.get("/links/lab-to-pump-house").get_data(as_text=True)
    found = re.search(rf'"(/assets/[0-9a-f]{{16}}/{re.escape(name)})"', page)
    assert found, f"{name} is not on the page"
    return found[1]


def test_the_plot_script_comes_compressed_and_may_be_kept_for_ever(client: FlaskClient) -> None:
    url = asset_url(client, "plotly.js")
    response = client.get(url, headers={"Accept-Encoding": "gzip"})
    assert response.headers["Content-Encoding"] == "gzip"
    assert response.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert response.headers["Vary"] == "Accept-Encoding"
    assert len(response.data) < 1_600_000  # facts: 1,472 kB measured for this bundle
    assert b"plotly.js v" in gzip.decompress(response.data)[:200]


def test_an_asset_under_another_tag_is_not_served(client: FlaskClient) -> None:
    assert client.get("/assets/0123456789abcdef/plotly.js").status_code == 404
    assert client.get(asset_url(client, "live.js").replace("live.js", "app.py")).status_code == 404


def test_colours_are_kept_in_a_cookie_and_the_page_comes_back(client: FlaskClient) -> None:
    response = post(client, "/colours", {"theme": "dark", "back": "/switches?"})
    assert response.status_code == 303
    assert response.headers["Location"] == "/switches"
    cookie = response.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert '<html lang="en" data-theme="dark">' in client.get("/").get_data(as_text=True)


@pytest.mark.parametrize("back", ["//evil.example/", "https://evil.example/", "/\\evil.example"])
def test_the_way_back_never_leads_elsewhere(client: FlaskClient, back: str) -> None:
    response = post(client, "/colours", {"theme": "light", "back": back})
    assert response.headers["Location"] == "/"


def test_a_colour_that_is_none_is_refused(client: FlaskClient) -> None:
    assert post(client, "/colours", {"theme": "<b>"}).status_code == 400
    client.set_cookie("strandkeeper-colours", '"><script>')
    assert "<script>" not in client.get("/").get_data(as_text=True).replace("<script src", "")


def test_on_loopback_only_its_own_names_are_answered(client: FlaskClient) -> None:
    assert client.get("/", headers={"Host": "127.0.0.1:8080"}).status_code == 200
    assert client.get("/", headers={"Host": "localhost"}).status_code == 200
    assert client.get("/", headers={"Host": "rebound.example"}).status_code == 400


def test_hosts_are_restricted_on_loopback_alone() -> None:
    assert trusted_hosts("127.0.0.7") == ["127.0.0.1", "127.0.0.7", "[::1]", "localhost"]
    assert trusted_hosts("192.0.2.1") is None


def test_a_forwarded_prefix_is_believed_only_when_configured(
    record_path: Path, tmp_path: Path
) -> None:
    plain = station.settings(tmp_path / "strandkeeper.db")
    told = {"X-Forwarded-Prefix": "/fibre", "X-Forwarded-Host": "station.example"}
    page = create_app(plain, Door(record_path)).test_client().get("/", headers=told)
    assert 'href="/switches"' in page.get_data(as_text=True)
    client = behind_proxy(record_path, tmp_path)
    entered = post(client, "/log-in", {"name": "Anna", "password": PASSWORD, "back": "/"}, told)
    assert entered.headers["Location"] == "/fibre/"
    assert "Path=/fibre/" in entered.headers["Set-Cookie"]
    assert "Secure" not in entered.headers["Set-Cookie"]


def test_a_session_that_came_by_https_is_sent_by_https_alone(
    record_path: Path, tmp_path: Path
) -> None:
    client = behind_proxy(record_path, tmp_path)
    told = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "station.example"}
    entered = client.get("/log-in", headers=told)
    assert "Secure" in entered.headers["Set-Cookie"]


def test_below_a_prefix_every_address_carries_it(record_path: Path, tmp_path: Path) -> None:
    client = behind_proxy(record_path, tmp_path)
    told = {"X-Forwarded-Prefix": "/fibre", "X-Forwarded-Host": "station.example"}
    page = client.get("/log-in", headers=told).get_data(as_text=True)
    assert 'action="/fibre/log-in"' in page
    assert 'href="/fibre/assets/' in page
    back = post(client, "/colours", {"theme": "dark", "back": "/about"}, told)
    assert back.headers["Location"] == "/fibre/about"
    assert "Path=/fibre/" in back.headers["Set-Cookie"]


PASSWORD = "granite harbour lamp"


def behind_proxy(record_path: Path, folder: Path) -> FlaskClient:
    settings = replace(station.settings(folder / "strandkeeper.db"), behind_proxy="station.example")
    write_users(folder / "strandkeeper.users", with_user(UserBook(), "Anna", PASSWORD))
    return create_app(settings, Door(record_path)).test_client()
