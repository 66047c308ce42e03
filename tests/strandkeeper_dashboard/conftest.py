"""The invented station's record, written once; clients and a served dashboard on it."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from waitress import create_server
from waitress.wasyncore import close_all
from werkzeug.test import TestResponse

_HERE = Path(__file__).parent
if str(_HERE) not in sys.path:
    sys.path.insert(0, str(_HERE))

import invented_station as station  # noqa: E402 beside this file, which is no package

from strandkeeper_dashboard import create_app  # noqa: E402
from strandkeeper_dashboard.access import written_token  # noqa: E402
from strandkeeper_dashboard.record import Door  # noqa: E402
from strandkeeper_dashboard.serve import SERVER  # noqa: E402


@pytest.fixture(scope="session")
def record_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("record") / "strandkeeper.db"
    station.write(path)
    return path


@pytest.fixture
def app(record_path: Path) -> Flask:
    return create_app(
        station.settings(record_path),
        Door(record_path),
        clock=lambda: station.NOW_MS,
        config_path="station.toml",
    )


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def post(
    client: FlaskClient,
    path: str,
    data: Mapping[str, str],
    headers: Mapping[str, str] | None = None,
) -> TestResponse:
    """Send a form as a page of ours would: with the token of this client's session."""
    told = dict(headers or {})
    client.get("/log-in", headers=told)
    with client.session_transaction() as session:
        secret = session.setdefault("csrf", "a token of this test")
    token = written_token(secret, "nonce of this test")
    return client.post(path, data={**data, "csrf": token}, headers=told)


@dataclass
class Served:
    """A dashboard under waitress on a free port of loopback."""

    address: str
    stop: Callable[[], None]


@pytest.fixture
def serve() -> Iterator[Callable[[Flask], Served]]:
    running: list[Served] = []

    def start(app: Flask) -> Served:
        server = create_server(app, host="127.0.0.1", port=0, **SERVER)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()

        def stop() -> None:
            # closed by the loop's own thread: from here a socket could go while it is waited for
            server.trigger.pull_trigger(lambda: close_all(server._map, ignore_all=True))
            thread.join(timeout=10)
            server.task_dispatcher.shutdown(timeout=5)

        served = Served(f"http://127.0.0.1:{server.effective_port}", stop)
        running.append(served)
        return served

    yield start
    for served in running:
        served.stop()
