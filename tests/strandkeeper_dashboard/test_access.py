"""Who may look in: log-in, sessions, the token of every form, patience after wrong guesses."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import invented_station as station
import pytest
from flask.testing import FlaskClient

from conftest import post
from strandkeeper.config.users import UserBook, users_path, with_user, without_user, write_users
from strandkeeper.model.settings import Address
from strandkeeper_dashboard import create_app
from strandkeeper_dashboard.record import Door

PASSWORD = "granite harbour lamp"
OTHER = "a wholly other phrase"
BOOK = with_user(UserBook(), "Anna", PASSWORD)

Visit = Callable[..., FlaskClient]


@pytest.fixture
def users(tmp_path: Path) -> Path:
    path = users_path(tmp_path / "strandkeeper.db")
    write_users(path, BOOK)
    return path


@pytest.fixture
def visit(record_path: Path, tmp_path: Path) -> Visit:
    def visited(host: str = "127.0.0.1") -> FlaskClient:
        settings = station.settings(tmp_path / "strandkeeper.db")
        settings = replace(settings, dashboard=Address(host=host, port=0))
        app = create_app(settings, Door(record_path), clock=lambda: station.NOW_MS)
        return app.test_client()

    return visited


def log_in(client: FlaskClient, password: str = PASSWORD, name: str = "Anna") -> int:
    data = {"name": name, "password": password, "back": "/about"}
    return post(client, "/log-in", data).status_code


def test_on_this_machine_without_users_nobody_is_asked(visit: Visit) -> None:
    client = visit()
    assert client.get("/").status_code == 200
    assert client.get("/log-in").headers["Location"] == "/"


@pytest.mark.parametrize("path", ["/", "/about", "/links/lab-to-jetty", "/nowhere"])
def test_with_a_user_every_page_asks_to_log_in_first(visit: Visit, users: Path, path: str) -> None:
    response = visit().get(path)
    assert response.status_code == 303
    assert response.headers["Location"] == f"/log-in?back={path}"
    assert "Shore station" not in response.get_data(as_text=True)


def test_figures_are_refused_as_json(visit: Visit, users: Path) -> None:
    for path in ("/api/links", "/api/live", "/api/links/lab-to-jetty/trend", "/api/nothing"):
        response = visit().get(path)
        assert response.status_code == 401
        assert response.get_json()["error"]["message"] == "Log in first."


def test_name_and_password_open_every_page_and_lead_back(visit: Visit, users: Path) -> None:
    client = visit()
    data = {"name": "Anna", "password": PASSWORD, "back": "/links/lab-to-jetty?range=1w"}
    response = post(client, "/log-in", data)
    assert response.status_code == 303
    assert response.headers["Location"] == "/links/lab-to-jetty?range=1w"
    page = client.get("/")
    assert page.status_code == 200
    assert "Logged in as Anna" in page.get_data(as_text=True)
    assert page.headers["Cache-Control"] == "no-store"
    assert client.get("/api/links").status_code == 200


def test_the_session_cookie_is_kept_from_scripts_and_foreign_forms(
    visit: Visit, users: Path
) -> None:
    client = visit()
    cookie = post(client, "/log-in", {"name": "Anna", "password": PASSWORD}).headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Secure" not in cookie  # plain HTTP here; a browser would drop it
    assert "Path=/" in cookie
    assert PASSWORD not in cookie


def test_a_cookie_signed_by_somebody_else_opens_nothing(visit: Visit, users: Path) -> None:
    client = visit()
    assert log_in(client) == 303
    cookie = client.get_cookie("strandkeeper-session")
    assert cookie is not None
    body, _, signature = cookie.value.rpartition(".")
    other = "A" if signature[0] != "A" else "B"
    client.set_cookie("strandkeeper-session", f"{body}.{other}{signature[1:]}")
    assert client.get("/").status_code == 303


@pytest.mark.parametrize(("name", "password"), [("Anna", OTHER), ("Bert", PASSWORD), ("", "")])
def test_what_does_not_fit_is_refused_without_saying_which(
    visit: Visit, users: Path, name: str, password: str
) -> None:
    client = visit()
    response = post(client, "/log-in", {"name": name, "password": password})
    assert response.status_code == 403
    assert "That name and that password do not fit." in response.get_data(as_text=True)
    assert client.get("/").status_code == 303


def test_the_fifth_wrong_guess_has_to_wait_even_with_the_right_password(
    visit: Visit, users: Path
) -> None:
    client = visit()
    assert [log_in(client, OTHER) for _ in range(4)] == [403] * 4
    response = post(client, "/log-in", {"name": "Anna", "password": PASSWORD})
    assert response.status_code == 429
    assert response.headers["Retry-After"] == "1"
    assert "Too many wrong guesses: wait 1 second." in response.get_data(as_text=True)


def test_a_form_without_the_token_of_its_session_changes_nothing(visit: Visit, users: Path) -> None:
    client = visit()
    assert client.post("/log-in", data={"name": "Anna", "password": PASSWORD}).status_code == 403
    assert client.get("/").status_code == 303
    assert log_in(client) == 303
    assert client.post("/colours", data={"theme": "dark", "csrf": "guess"}).status_code == 403
    assert client.post("/log-out").status_code == 403
    assert client.get("/").status_code == 200


def test_every_form_of_every_page_carries_the_token(client: FlaskClient) -> None:
    for path in ("/", "/links/lab-to-jetty", "/findings", "/switches", "/about", "/nowhere"):
        page = client.get(path).get_data(as_text=True)
        forms = re.findall(r'<form method="post".*?</form>', page, re.DOTALL)
        assert forms
        assert all('name="csrf" value="' in form for form in forms)


def test_a_page_holds_neither_the_secret_of_its_forms_nor_the_same_token_twice(
    visit: Visit,
) -> None:
    client = visit()
    pages = [client.get("/about").get_data(as_text=True) for _ in range(2)]
    with client.session_transaction() as session:
        secret = session["csrf"]
    tokens = [re.findall(r'name="csrf" value="([^"]+)"', page) for page in pages]
    assert secret not in pages[0]
    assert tokens[0]
    assert not set(tokens[0]) & set(tokens[1])
    for token in (tokens[0][0], tokens[1][0]):  # both fit, the older one too
        form = {"theme": "dark", "csrf": token}
        assert client.post("/colours", data=form).status_code == 303
    changed = f"{tokens[0][0][:-1]}{'0' if tokens[0][0][-1] != '0' else '1'}"
    for wrong in (changed, secret, "", ".", "a.b", "é.ü"):
        form = {"theme": "dark", "csrf": wrong}
        assert client.post("/colours", data=form).status_code == 403


def test_the_token_changes_with_the_log_in(visit: Visit, users: Path) -> None:
    client = visit()
    client.get("/log-in")
    with client.session_transaction() as session:
        before = session["csrf"]
    assert log_in(client) == 303
    with client.session_transaction() as session:
        assert session["csrf"] != before


def test_logging_out_closes_the_pages_again(visit: Visit, users: Path) -> None:
    client = visit()
    assert log_in(client) == 303
    assert post(client, "/log-out", {}).status_code == 303
    assert client.get("/").status_code == 303


def test_a_session_outlives_a_restart_of_the_pages(visit: Visit, users: Path) -> None:
    client, again = visit(), visit()
    assert log_in(client) == 303
    cookie = client.get_cookie("strandkeeper-session")
    assert cookie is not None
    again.set_cookie("strandkeeper-session", cookie.value)
    assert again.get("/").status_code == 200


def test_a_new_password_ends_the_sessions_of_the_old_one(visit: Visit, users: Path) -> None:
    client = visit()
    assert log_in(client) == 303
    write_users(users, with_user(BOOK, "Anna", OTHER))
    assert client.get("/").status_code == 303
    assert log_in(client, OTHER) == 303


def test_a_user_who_was_removed_is_out_at_once(visit: Visit, users: Path) -> None:
    client = visit()
    assert log_in(client) == 303
    both = with_user(BOOK, "Bert", OTHER)
    write_users(users, without_user(both, "Anna"))
    assert client.get("/").status_code == 303


def test_beyond_this_machine_pages_stay_closed_when_the_last_user_goes(
    visit: Visit, users: Path
) -> None:
    client = visit("0.0.0.0")
    assert log_in(client) == 303
    write_users(users, without_user(BOOK, "Anna"))
    assert client.get("/").status_code == 303
    said = client.get("/log-in").get_data(as_text=True)
    assert "Nobody can log in yet." in said
    assert "strandkeeper user add CONFIG NAME" in said


def test_users_that_cannot_be_read_close_the_pages(visit: Visit, users: Path) -> None:
    users.write_text("not ours")
    response = visit().get("/")
    assert response.status_code == 503
    said = response.get_data(as_text=True)
    assert "does not hold users" in said
    assert "Lab to jetty" not in said
