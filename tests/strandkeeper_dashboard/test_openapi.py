"""The description of the JSON against the live service, by schemathesis: a program that reads it
and asks for everything it allows."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from conftest import Served

CHECKS = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_schema_conformance",
    "unsupported_method",
)
KNOWN = "/links/lab-to-pump-house"


def tried(description: str, address: str, folder: Path) -> subprocess.CompletedProcess[str]:
    path = folder / "openapi.json"
    path.write_text(description)
    # Bounded: a fixed seed, a few cases for each operation.
    command = ["run", str(path), "--url", address, "--checks", ",".join(CHECKS)]
    bounds = ["--max-examples", "12", "--seed", "8", "--generation-deterministic", "--no-color"]
    program = "import sys; from schemathesis.cli import schemathesis; sys.exit(schemathesis())"
    return subprocess.run(
        [sys.executable, "-W", "ignore", "-c", program, *command, *bounds],
        capture_output=True,
        text=True,
        timeout=110,
        check=False,
        cwd=folder,
    )


@pytest.mark.parametrize("of_a_link", [True, False])
def test_the_service_keeps_to_its_description(
    app: Flask, serve: Callable[[Flask], Served], tmp_path: Path, *, of_a_link: bool
) -> None:
    described = app.test_client().get("/api/openapi.json").get_data(as_text=True)
    if of_a_link:  # answers of a link that there is, rather than of any name
        described = re.sub(r'"/api/links/\{id\}', f'"/api{KNOWN}', described)
        described = re.sub(r'\{[^{}]*"name":"id"[^{}]*\{[^{}]*\}\},?', "", described)
    done = tried(described, serve(app).address, tmp_path)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]
    assert re.search(r"Tested: 9\b", done.stdout), done.stdout[:1500]
    assert not (of_a_link and "returned only 404" in done.stdout)


def test_an_answer_that_differs_from_the_description_is_found(
    app: Flask, serve: Callable[[Flask], Served], tmp_path: Path
) -> None:
    described = app.test_client().get("/api/openapi.json").get_data(as_text=True)
    wrong = described.replace('"now_ms"', '"now_s"')
    assert wrong != described
    done = tried(wrong, serve(app).address, tmp_path)
    assert done.returncode == 1
    assert "now_s" in done.stdout


def test_every_figure_that_is_served_is_described(client: FlaskClient) -> None:
    described = client.get("/api/openapi.json").get_json()
    assert described["openapi"] == "3.1.0"
    served = {
        re.sub(r"<slug>", "{id}", rule.rule)
        for rule in client.application.url_map.iter_rules()
        if rule.rule.startswith("/api/") and rule.rule != "/api/openapi.json"
    }
    assert set(described["paths"]) == served
