"""`strandkeeper status`: out of a real record, in words and as JSON."""

from __future__ import annotations

import json
import time
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from strandkeeper.cli.main import main
from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    Finding,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.names import Direction, End, LinkName, SwitchName
from strandkeeper.model.ping import Pings, PingTally
from strandkeeper.model.poll import LinkEnd, SwitchPoll
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.verdict import (
    DirectionVerdict,
    EndState,
    Interval,
    LinkVerdict,
    Trend,
)
from strandkeeper.model.verdict_json import verdict_from_json
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, open_writer

CONFIG = """
station = "Shore station"

[[switch]]
name = "lab-switch"
host = "192.0.2.10"
snmp = { version = "2c", community_file = "x" }

[[link]]
name = "Jetty"
a = { name = "Lab", switch = "lab-switch", port = "Gi2" }
b = { name = "Jetty" }

[[link]]
name = "Shore"
a = { name = "Lab", switch = "lab-switch", port = "Gi1" }
b = { name = "Pump house" }
"""


@pytest.fixture
def config(tmp_path: Path) -> Path:
    path = tmp_path / "station.toml"
    path.write_text(CONFIG, encoding="utf-8")
    return path


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def direction(which: Direction, rx: float | None, at_ms: int, **more: Any) -> DirectionVerdict:
    return DirectionVerdict(
        direction=which,
        rx=NO_LIGHT if rx is None else Measured(Dbm(rx)),
        margin=None if rx is None else Db(rx + 19.5),
        optics_ms=at_ms,
        added_loss=Interval(value=0.12, low=0, high=0.3),
        trend=Trend.STEADY,
        **more,
    )


def verdict(link: str, at_ms: int, *findings: Finding, up: bool = True) -> LinkVerdict:
    return LinkVerdict(
        link=LinkName(link),
        at_ms=at_ms,
        up=up,
        a=EndState(end=End.A, answers=True),
        b=EndState(end=End.B, managed=False),
        ab=direction(Direction.AB, -10.0, at_ms),
        ba=direction(Direction.BA, -12.0, at_ms),
        findings=findings,
    )


def lost(at_ms: int) -> Finding:
    return Finding(
        link=LinkName("Shore"),
        kind=FindingKind.ADDED_LOSS,
        severity=Severity.WARNING,
        since_ms=at_ms - 3_600_000,
        direction=Direction.BA,
        cause=Cause.CONNECTOR,
        confidence=Confidence.LIKELY,
        evidence=(Evidence(kind=EvidenceKind.ADDED_LOSS, direction=Direction.BA, value=1.26),),
        next_steps=(NextStep.PUSH_HOME, NextStep.CLEAN_PLUGS_AND_BORE),
    )


def record(config: Path, *verdicts: LinkVerdict) -> None:
    with closing(open_writer(config.with_name("strandkeeper.db"), reserve=False)) as writer:
        assert writer.append(Batch(verdicts=verdicts)).written


def status(
    capsys: pytest.CaptureFixture[str], config: Path, *arguments: str
) -> tuple[int, str, str]:
    code = main(["status", str(config), *arguments])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_without_a_record_the_way_out_is_told(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = status(capsys, config)
    assert (code, out) == (1, "")
    assert err == (
        f"strandkeeper: there is no record at {config.with_name('strandkeeper.db')} yet\n"
        "  Start the daemon first: `strandkeeper run CONFIG`.\n"
    )


def test_the_worst_link_comes_first_with_cause_steps_and_cautions(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = now_ms()
    record(config, verdict("Jetty", at), verdict("Shore", at, lost(at)))
    code, out, _ = status(capsys, config)
    assert code == 0
    head, *lines = out.splitlines()
    assert head.startswith("Shore station, ")
    ages = ("0 seconds ago", "1 second ago", "2 seconds ago", "3 seconds ago", "4 seconds ago")
    table = [line.rsplit("  ", 1) for line in lines[1:6]]
    assert [row[0].rstrip() for row in table] == [
        "LINK   STATE  DIRECTION         TO SPARE  RECEIVED   LOST SINCE GOOD  TREND",
        "Shore  up     Lab → Pump house  9 dB      −10.0 dBm  0.1 dB           steady",
        "              Pump house → Lab  7 dB      −12.0 dBm  0.1 dB           steady",
        "Jetty  up     Lab → Jetty       9 dB      −10.0 dBm  0.1 dB           steady",
        "              Jetty → Lab       7 dB      −12.0 dBm  0.1 dB           steady",
    ]
    assert all(row[1] in ages for row in table[1:])
    assert "\n".join(lines[6:]) == (
        "\n"
        "Shore: Pump house → Lab: 1.3 dB lost since it was good (look at it, for 1 hour)\n"
        "  Likely: a plug on the strand Pump house → Lab: dirty, knocked or not home.\n"
        "  Pump house → Lab has lost 1.3 dB since it was good.\n"
        "  1. Push the plugs at Lab and Pump house home until they click.\n"
        "     Care: Never look into a fibre, plug or port, least of all with a lens: the light is "
        "invisible and may be on.\n"
        "  2. Clean the plugs of the strand Pump house → Lab and the bores of both modules, at "
        "both ends.\n"
        "     Care: Keep it dark while you handle it: both ports shut or both modules out, checked "
        "with a power meter.\n"
        "     Care: Shut the far port on the spot, never through this link: it could not be opened "
        "again.\n"
        "     Care: Cleaning alcohol burns: a few drops, fresh air, no flame or splicing arc, let "
        "it dry."
    )


def test_one_link_is_told_with_its_details(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = now_ms()
    record(config, verdict("Jetty", at), verdict("Shore", at))
    code, out, _ = status(capsys, config, "Jetty")
    assert code == 0
    assert "Pump house" not in out
    details = out.split("\n\n")[-1]
    assert details == (
        "Up. 7 dB to spare Jetty → Lab (the weaker way); steady. Nothing to do.\n"
        "  Not down in 14 days.\n"
        "  Lab: answers\n"
        "  Jetty: nobody can ask this end\n"
        "  Lab → Jetty\n"
        "    The weakest light it can use is not known (name the module type or its sensitivity).\n"
        "    It is not known yet how much is lost when it is good.\n"
        "    It is too early to say where this leads.\n"
        "    Damaged frames not known.\n"
        "  Jetty → Lab\n"
        "    The weakest light it can use is not known (name the module type or its sensitivity).\n"
        "    It is not known yet how much is lost when it is good.\n"
        "    It is too early to say where this leads.\n"
        "    Damaged frames not known.\n"
    )


def test_what_is_only_for_the_record_has_one_line_unless_the_link_is_asked_for(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = now_ms()
    note = replace(lost(at), severity=Severity.NOTE)
    record(config, verdict("Jetty", at), verdict("Shore", at, note))
    _, out, _ = status(capsys, config)
    assert out.endswith(
        "\n\nShore: Pump house → Lab: 1.3 dB lost since it was good (for the record, for 1 hour)\n"
    )
    _, out, _ = status(capsys, config, "Shore")
    assert "  Likely: a plug on the strand Pump house → Lab" in out


def test_an_unknown_link_is_told_with_the_nearest(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record(config, verdict("Jetty", now_ms()))
    code, out, err = status(capsys, config, "jety")
    assert (code, out) == (1, "")
    assert err == (
        'strandkeeper: no link is called "jety"; did you mean "Jetty"?\n'
        '  there are: "Jetty", "Shore"\n'
    )


def test_a_link_that_was_not_read_is_not_called_well(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record(config, verdict("Jetty", now_ms()))
    _, out, _ = status(capsys, config)
    assert "Shore  not known  nothing was read yet" in out


def test_old_figures_are_said_to_be_old(config: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record(config, verdict("Jetty", now_ms() - 7_200_500), verdict("Shore", 1))
    _, out, _ = status(capsys, config)
    assert out.endswith(
        "\nThese figures are 2 hours old. Is the service running? strandkeeper run CONFIG\n"
    )


def test_json_has_every_link_in_file_order_with_the_public_shape(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = now_ms()
    given = verdict("Shore", at, lost(at))
    record(config, given)
    code, out, _ = status(capsys, config, "--json")
    data = json.loads(out)
    assert code == 0
    assert (data["schema"], data["station"]) == (1, "Shore station")
    assert data["at"].endswith("Z")
    assert [link["link"] for link in data["links"]] == ["Jetty", "Shore"]
    unread, read = data["links"]
    assert unread["at"] is None
    assert unread["directions"]["ab"]["rx_dbm"] is None
    assert set(unread) == set(read)
    assert read["names"] == {"a": "Lab", "b": "Pump house"}
    assert read["directions"]["ab"]["margin_db"] == pytest.approx(9.5)
    assert verdict_from_json(read) == given


def test_json_of_one_link_holds_that_link_alone(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record(config, verdict("Jetty", now_ms()), verdict("Shore", now_ms()))
    _, out, _ = status(capsys, config, "--json", "Shore")
    assert [link["link"] for link in json.loads(out)["links"]] == ["Shore"]


def test_a_link_that_left_the_configuration_is_not_shown(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record(config, verdict("Jetty", now_ms()), verdict("Old cable", now_ms()))
    _, out, _ = status(capsys, config)
    assert "Old cable" not in out


def test_pings_are_told_where_there_are_any(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = now_ms()
    pings = Pings(
        address="192.0.2.20",
        octets=1400,
        small=PingTally(sent=20, came=20, ms=0.42),
        large=PingTally(sent=20, came=20, ms=0.61),
    )
    poll = SwitchPoll(
        switch=SwitchName("lab-switch"),
        time_ms=at,
        answered=True,
        pings={LinkEnd(LinkName("Shore"), End.A): pings},
    )
    with closing(open_writer(config.with_name("strandkeeper.db"), reserve=False)) as writer:
        assert writer.append(Batch(verdicts=(verdict("Shore", at),), switches=(poll,))).written
    _, words, _ = status(capsys, config)
    assert words.endswith(
        "Shore: 20 of 20 small and 20 of 20 large pings (1400 octets) to 192.0.2.20 came back, "
        "in 0.4 ms.\n"
    )
    _, other, _ = status(capsys, config, "Jetty")
    assert "pings" not in other
    _, text, _ = status(capsys, config, "--json")
    (told,) = json.loads(text)["pings"]
    assert (told["link"], told["end"], told["large"]["came"]) == ("Shore", "a", 20)
