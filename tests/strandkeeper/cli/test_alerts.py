"""`strandkeeper alerts`: the list, what it asks of the service, and the trial."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from strandkeeper.cli.alerts import seconds_of
from strandkeeper.cli.alerts_text import Known, alerts_text
from strandkeeper.cli.main import main
from strandkeeper.errors import InputError
from strandkeeper.model.alert import Alert, AlertState
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.finding import Finding, FindingKind, NextStep, Severity
from strandkeeper.model.message import Message, MessageKind, Outgoing
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.store import Batch, RecordReader, open_reader, open_writer
from strandkeeper.store.telling import TellingBatch

CONFIG = """
station = "Shore station"
[[switch]]
name = "lab-switch"
host = "127.0.0.1"
snmp = { version = "2c", community_env = "LAB" }
[[link]]
name = "Lab to pump house"
a = { name = "Lab", switch = "lab-switch", port = "Gi1" }
b = { name = "Pump house" }
near = "a"
[alerts]
quiet_from = "00:00"
quiet_to = "00:00"
"""
LINK = LinkName("Lab to pump house")


@pytest.fixture
def config(tmp_path: Path) -> Path:
    path = tmp_path / "station.toml"
    path.write_text(CONFIG, encoding="utf-8")
    return path


@pytest.fixture
def reader(config: Path) -> Iterator[RecordReader]:
    record = config.parent / "strandkeeper.db"
    finding = Finding(
        link=LINK,
        kind=FindingKind.LINK_DOWN,
        severity=Severity.URGENT,
        since_ms=1_795_000_000_000,
        next_steps=(NextStep.CHECK_FAR_POWER,),
    )
    alert = Alert(
        number=12,
        finding=finding,
        state=AlertState.FIRING,
        began_ms=0,
        changed_ms=1_795_000_060_000,
        held_from_ms=0,
        told=1,
    )
    over = Alert(
        number=11,
        finding=finding,
        state=AlertState.CLEARED,
        began_ms=0,
        changed_ms=1_795_000_060_000,
        held_from_ms=0,
        told=2,
    )
    message = Message(
        key="k", kind=MessageKind.RAISED, time_ms=0, severity=Severity.URGENT, title="t", text="t"
    )
    waiting = Outgoing(
        order=1, target="phone", message=message, not_before_ms=0, attempts=3, error="no route"
    )
    writer = open_writer(record, reserve=False)
    telling, _ = writer.telling()
    telling.write(TellingBatch(alerts=[over, alert], messages=[waiting]))
    verdict = LinkVerdict(
        link=LINK,
        at_ms=1_795_000_060_000,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
        downs_24h=2,
        downs_14d=70,
    )
    writer.append(Batch(verdicts=(verdict,)))
    writer.close()
    reader = open_reader(record)
    yield reader
    reader.close()


def test_the_list_says_what_is_open_and_what_could_not_be_sent(
    config: Path, reader: RecordReader, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["alerts", str(config)]) == 0
    said = capsys.readouterr().out
    assert "12  Lab to pump house: The link is down" in said
    assert "    urgent, open, since 2026-11-18T11:06Z" in said
    assert "    Now: look at the far power first." in said
    assert "phone: 1 not sent yet: no route" in said
    assert "No target is configured: nobody is told." in said
    assert "Lab to pump house: Down 2 times in 24 hours, 70 times in 14 days." in said
    assert "11  " not in said


def test_json_has_its_schema_and_the_finding_as_status_has_it(
    config: Path, reader: RecordReader, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["alerts", str(config), "--json", "--all"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["schema"] == 1
    assert [(a["number"], a["state"]) for a in said["alerts"]] == [(12, "firing"), (11, "cleared")]
    assert said["alerts"][0]["finding"]["next_steps"] == ["check-far-power"]
    assert said["waiting"][0]["error"] == "no route"
    assert said["flapping"] == [
        {
            "link": LINK,
            "penalty": 0.0,
            "held_back": False,
            "released_in_s": 0.0,
            "downs_24h": 2,
            "downs_14d": 70,
        }
    ]


@pytest.mark.parametrize(
    ("arguments", "kind", "payload"),
    [
        (["ack", "12"], EntryKind.ACKNOWLEDGE, {"alert": 12}),
        (["mute", "12", "--for", "30m"], EntryKind.MUTE, {"alert": 12, "for_s": 1800}),
        (["mute", LINK, "--for", "2d"], EntryKind.MUTE, {"link": LINK, "for_s": 172_800}),
        (["unmute", LINK], EntryKind.MUTE, {"link": LINK, "for_s": 0}),
    ],
)
def test_what_is_asked_is_appended_for_the_service(
    config: Path,
    reader: RecordReader,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    kind: EntryKind,
    payload: dict[str, object],
) -> None:
    monkeypatch.setattr("strandkeeper.cli.alerts._WAIT_S", 0.0)
    assert main(["alerts", str(config), *arguments]) == 0
    assert capsys.readouterr().out == "asked; the service does it as soon as it runs\n"
    (entry,) = reader.waiting_entries()
    assert (entry.entry.kind, entry.entry.payload) == (kind, payload)


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (["ack", "x"], "'x' is not the number of an alert"),
        (["ack"], "ack needs the number of an alert"),
        (["mute", "Lab to pump hose"], 'no link is called "Lab to pump hose"; did you mean'),
        (["mute", "12", "--for", "soon"], "'soon' is not a time span"),
        (["--trial"], "no target is configured, so nobody is told of anything"),
    ],
)
def test_what_cannot_be_is_said_with_the_way_out(
    config: Path,
    reader: RecordReader,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    error: str,
) -> None:
    assert main(["alerts", str(config), *arguments]) == 1
    assert error in capsys.readouterr().err


def test_a_trial_tells_of_each_target_and_fails_if_one_does(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = '[[target]]\nname = "lamp"\ncommand = ["/bin/cat"]\n'
    config.write_text(CONFIG + good, encoding="utf-8")
    assert main(["alerts", str(config), "--trial"]) == 0
    assert capsys.readouterr().out.startswith("lamp: sent (")
    bad = '[[target]]\nname = "buzzer"\ncommand = ["/bin/sh", "-c", "echo unplugged; exit 2"]\n'
    config.write_text(CONFIG + good + bad, encoding="utf-8")
    assert main(["alerts", str(config), "--trial"]) == 1
    assert "buzzer: NOT sent: /bin/sh ended with 2: unplugged" in capsys.readouterr().out


def test_a_span_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="write it like 30m, 8h or 2d"):
        seconds_of("8")


@pytest.mark.parametrize(
    ("hour", "said"),
    [
        (12, "    Now: look at the far power first."),
        (23, "    Tonight only if the link is needed before morning: look at the far power first."),
    ],
)
def test_how_urgent_it_is_is_said_for_this_hour(hour: int, said: str) -> None:
    now_ms = 1_795_996_800_000 + hour * 3_600_000  # 2026-11-30, UTC
    down = Finding(
        link=LINK,
        kind=FindingKind.LINK_DOWN,
        severity=Severity.URGENT,
        since_ms=now_ms - 600_000,
        next_steps=(NextStep.CHECK_FAR_POWER,),
    )
    alert = Alert(
        number=1,
        finding=down,
        state=AlertState.FIRING,
        began_ms=now_ms,
        changed_ms=now_ms,
        held_from_ms=now_ms,
    )
    known = Settings(station="s", switches=(), links=(), store=StoreSettings(path="x"))
    assert said in alerts_text(known, Known(alerts=[alert]), now_ms).splitlines()
