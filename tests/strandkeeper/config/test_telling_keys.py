"""Targets, heartbeat and traps out of the file, and what is wrong with them in words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.strandkeeper.config.texts import BASE, VALID, problems

from strandkeeper.config.load import loads, starter_text
from strandkeeper.config.telling_tables import AlertsTable, HeartbeatTable, TargetTable, TrapsTable
from strandkeeper.model.finding import Severity
from strandkeeper.model.message import CommandWay, SystemLogWay, UrlWay
from strandkeeper.model.switch import SecretKind, SecretRef

TELLING = """
[[target]]
name = "phone"
url_file = "phone.url"
severity = "urgent"
[[target]]
name = "buzzer"
command = ["/usr/local/bin/buzzer", "--short"]
quiet = false
[[target]]
name = "log"
system_log = true
[alerts]
quiet_from = "23:30"
length_unit = "ft"
temperature_unit = "F"
give_up_days = 2
weekly_day = "sunday"
[heartbeat]
every_min = 10
target = "phone"
[traps]
enabled = true
"""


def test_every_key_reaches_the_settings() -> None:
    settings = loads(VALID + TELLING, base=BASE)
    phone, buzzer, log = settings.telling.targets
    where = str(BASE / "phone.url")
    assert phone.way == UrlWay(url=SecretRef(kind=SecretKind.FILE, where=where))
    assert (phone.least, buzzer.least) == (Severity.URGENT, Severity.WARNING)
    assert buzzer.way == CommandWay(command=("/usr/local/bin/buzzer", "--short"))
    assert (buzzer.quiet, log.way) == (False, SystemLogWay())
    telling = settings.telling
    assert (telling.quiet_from_min, telling.quiet_to_min) == (23 * 60 + 30, 7 * 60)
    assert (telling.feet, telling.fahrenheit) == (True, True)
    assert (telling.give_up_s, telling.weekly_day) == (2 * 86_400, 6)
    assert telling.heartbeat is not None
    assert (telling.heartbeat.every_s, telling.heartbeat.target) == (600, "phone")
    assert settings.traps is not None
    assert settings.traps.port == 10162


def test_without_these_tables_nobody_is_told_and_nothing_is_listened_for() -> None:
    settings = loads(VALID, base=BASE)
    assert (settings.telling.targets, settings.telling.heartbeat, settings.traps) == (
        (),
        None,
        None,
    )


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            '[[target]]\nname = "phone"\n',
            'target "phone": missing: how to reach it; one of url_file, url_env, url_credential, '
            'command or system_log; write: url_file = "phone.url"',
        ),
        (
            '[[target]]\nname = "x"\ncommand = ["a"]\nsystem_log = true\n',
            'target "x": command and system_log are two ways; make a target of each',
        ),
        (
            '[[target]]\nname = "x"\ncommand = "a"\n',
            'target "x" › command: got "a", expected a list of texts in brackets; '
            'write: command = ["/usr/local/bin/buzzer"]',
        ),
        (
            '[[target]]\nname = "x"\ncommand = ["a", 1]\n',
            'target "x" › command: got 1, expected text in double quotes as the 2nd of the list; '
            'write: command = ["/usr/local/bin/buzzer"]',
        ),
        (
            '[[target]]\nname = "phone"\nurl = "mailto://a:b@c"\n',
            'target "phone" › url: a secret in this file could be read by whatever reads the '
            "file; put it alone into a file that only the service can read; write: "
            'url_file = "phone.url" (or url_env or url_credential)',
        ),
        (
            '[heartbeat]\ntarget = "phnoe"\n[[target]]\nname = "phone"\nsystem_log = true\n',
            'heartbeat › target: no [[target]] is called "phnoe"; there are: "phone"; '
            'write: target = "phone"',
        ),
        (
            "[heartbeat]\nevery_min = 5\n",
            "heartbeat: missing: where it goes; one of target, url_file, url_env or "
            'url_credential; write: target = "phone"',
        ),
        (
            '[alerts]\nquiet_from = "25:00"\n',
            'alerts › quiet_from: got "25:00", expected a time of day from 00:00 to 23:59; '
            'write: quiet_from = "22:00"',
        ),
    ],
)
def test_what_is_wrong_is_said_with_the_line_to_write(text: str, sentence: str) -> None:
    assert sentence in problems(VALID + text)


@pytest.mark.parametrize("table", [TargetTable, AlertsTable, HeartbeatTable, TrapsTable])
def test_every_key_stands_in_the_starter_file_with_its_words(table: Any) -> None:
    text = starter_text()
    for key, info in table.model_fields.items():
        assert info.description
        assert f"{key} =" in text or f"{key}," in text or f"or {key}\n" in text or key in text


def test_the_example_lines_of_the_starter_file_are_valid(tmp_path: Path) -> None:
    begin = starter_text().index("# ---- who is told")
    lines = [
        line.removeprefix("# ")
        for line in starter_text()[begin:].splitlines()
        if line.startswith(("# ", "[")) and not line.startswith(("# --", "#  "))
    ]
    text = "\n".join(line for line in lines if "=" in line or line.startswith("["))
    text = text.replace('url_file = "heartbeat.url"', "#")
    settings = loads(VALID + "\n" + text, base=tmp_path)
    assert [t.name for t in settings.telling.targets] == ["phone", "buzzer", "log"]
    assert settings.traps is None
