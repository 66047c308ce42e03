"""History through the command, the real file and the real analysis, out and in again."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from strandkeeper.analysis import engine
from strandkeeper.cli.main import main
from strandkeeper.config.load import load
from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.history import _Spacing
from strandkeeper.jobs.states import rebuilt_state
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.stats import DAY_S, HOUR_S
from strandkeeper.store import open_reader

LINK = LinkName("Lab to pump house")
CONFIG = """
station = "Shore"
[store]
path = "record/record.db"
[[switch]]
name = "lab"
host = "127.0.0.2"
snmp = { version = "2c", community_env = "X" }
[[switch]]
name = "pump"
host = "127.0.0.3"
snmp = { version = "2c", community_env = "X" }
[[link]]
name = "Lab to pump house"
strands = 2
length_m = 900
a = { name = "Lab", switch = "lab", port = "Gi1", pmd = "1000BASE-LX10" }
b = { name = "Pump house", switch = "pump", port = "Gi1", pmd = "1000BASE-LX10" }
"""
HEADER = (
    "time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,in_octets,out_octets,"
    "in_frames,fcs_errors,symbol_errors"
)
BEGIN_S = 1_788_220_800  # 2026-09-01T00:00:00Z


def history(days: int, *, begin_s: int = BEGIN_S, step_s: int = 300) -> str:
    """Steady light, and half an hour of darkness at B from 06:00 of the second day."""
    lines = [HEADER]
    for at in range(0, days * 86_400, step_s):
        stamp = datetime.fromtimestamp(begin_s + at, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        dark = 86_400 + 6 * 3600 <= at < 86_400 + 6 * 3600 + 1800
        wiggle = (at // step_s) % 5 * 0.01
        for end in "AB":
            rx = "no-light" if dark and end == "B" else f"{-8.4 + wiggle:.2f}"
            oper = "down" if dark else "up"
            lines.append(
                f"{stamp},{end},{rx},-5.6,12.5,28.0,3.3,{oper},{1000 + at},"
                f"{at * 1000},{at * 500},{at},0,0"
            )
    return "\n".join(lines) + "\n"


@pytest.fixture
def station(tmp_path: Path) -> Path:
    config = tmp_path / "station.toml"
    config.write_text(CONFIG)
    return config


def bring_in(station: Path, text: str) -> int:
    file = station.parent / "history.csv"
    file.write_text(text)
    return main(["history", str(station), LINK, "--import", str(file)])


def tables(station: Path) -> dict[str, list[tuple[object, ...]]]:
    database = sqlite3.connect(station.parent / "record" / "record.db")
    found = {
        name: database.execute(f"SELECT * FROM {name} ORDER BY 1, 2, 3").fetchall()
        for name in ("reading", "five_minutes", "hours", "hour_stats", "day_stats", "verdict")
    }
    found["event"] = database.execute(
        "SELECT link_id, time_ms, kind, end, direction, value, text FROM event ORDER BY id"
    ).fetchall()
    database.close()
    return found


def test_a_history_is_judged_as_if_it_had_been_polled(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert bring_in(station, history(3)) == 0
    said = capsys.readouterr().out
    assert said.startswith(
        "Lab to pump house: 1728 rows from 2026-09-01T00:00:00Z to 2026-09-03T23:55:00Z, "
    )
    assert said.endswith("on record only: nobody is alerted\n")
    reader = open_reader(station.parent / "record" / "record.db")
    verdict = reader.verdict(LINK)
    kinds = {event.kind.value for event in reader.events(LINK)}
    hours = reader.stats(LINK, Direction.AB, HOUR_S)
    days = reader.stats(LINK, Direction.AB, DAY_S)
    series = reader.series(LINK, End.B, BEGIN_S * 1000, (BEGIN_S + 3 * 86_400) * 1000, 72)
    state = engine.decode(reader.state(LINK) or b"")
    replayed = rebuilt_state(reader, link_facts(load(station).link(LINK), load(station))).state
    reader.close()
    assert verdict is not None
    assert verdict.up is True
    assert verdict.ab.margin is not None
    assert {"link-down", "link-up", "light-lost", "light-back"} <= kinds
    assert len(hours) >= 70
    assert len(days) >= 2
    # half an hour down of which the five minutes before the first dark row were still up
    assert sum(series.down_ms) == 30 * 60_000
    assert sum(series.rx_no_light) == 6
    assert engine.encode(state) == engine.encode(replayed)


def test_in_two_parts_it_is_the_same_as_in_one(station: Path, tmp_path: Path) -> None:
    lines = history(3).splitlines(keepends=True)
    cut = 1 + 2 * 288 + 2 * 73  # in the darkness of the second day
    bring_in(station, "".join(lines[:cut]))
    bring_in(station, lines[0] + "".join(lines[cut:]))
    other = tmp_path / "other"
    other.mkdir()
    whole = other / "station.toml"
    whole.write_text(CONFIG)
    bring_in(whole, "".join(lines))
    in_parts, at_once = tables(station), tables(whole)
    # Counters of the second file begin anew: its first row's differences are unknown.
    assert len(in_parts["reading"]) == len(at_once["reading"])
    for name in ("hour_stats", "day_stats", "verdict", "event"):
        assert in_parts[name] == at_once[name]


def test_what_is_written_out_and_brought_in_elsewhere_is_the_same_history(
    station: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bring_in(station, history(2))
    capsys.readouterr()
    assert main(["history", str(station), LINK, "--csv"]) == 0
    text = capsys.readouterr().out
    other = tmp_path / "other"
    other.mkdir()
    (other / "station.toml").write_text(CONFIG)
    assert bring_in(other / "station.toml", text) == 0
    assert tables(other / "station.toml") == tables(station)


def test_a_part_of_the_time_is_written_out(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bring_in(station, history(1))
    capsys.readouterr()
    times = ["--from", "2026-09-01T06:00:00Z", "--to", "2026-09-01T06:10:00Z"]
    assert main(["history", str(station), LINK, "--csv", *times]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line[:22] for line in lines[1:]] == [
        "2026-09-01T06:00:00Z,A",
        "2026-09-01T06:00:00Z,B",
        "2026-09-01T06:05:00Z,A",
        "2026-09-01T06:05:00Z,B",
    ]


def test_a_file_from_before_what_is_there_leaves_the_verdict(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bring_in(station, history(1))
    before = tables(station)
    assert bring_in(station, history(1, begin_s=BEGIN_S - 86_400)) == 0
    assert "The record goes on after these rows" in capsys.readouterr().err
    after = tables(station)
    assert after["verdict"] == before["verdict"]
    assert len(after["reading"]) == 2 * len(before["reading"])
    assert len(after["hour_stats"]) > len(before["hour_stats"])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEADER + "\n", "strandkeeper: the file has a header and no rows\n"),
        (
            history(1) + "2026-09-02T00:00:00Z,A,dim,,,,,up,,,,,,\n",
            "strandkeeper: line 578: rx_dbm: 'dim' is neither dBm nor no-light\n",
        ),
        ("time,end\n", "strandkeeper: line 1: missing: rx_dbm, "),
    ],
    ids=["no rows", "last line broken", "another file"],
)
def test_a_file_that_cannot_be_read_brings_in_nothing(
    station: Path, capsys: pytest.CaptureFixture[str], text: str, said: str
) -> None:
    assert bring_in(station, text) == 1
    assert capsys.readouterr().err.startswith(said)
    assert tables(station)["reading"] == []
    assert bring_in(station, history(1)) == 0


def test_a_link_that_is_not_there_and_a_record_without_it_are_told(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["history", str(station), "Lab to pmp house", "--csv"]) == 1
    assert capsys.readouterr().err == (
        "strandkeeper: there is no link 'Lab to pmp house' in the configuration\n"
        "  Did you mean 'Lab to pump house'?\n"
    )
    bring_in(station, HEADER + "\n")
    capsys.readouterr()
    assert main(["history", str(station), LINK, "--csv"]) == 1
    assert capsys.readouterr().err == (
        "strandkeeper: the record has nothing of link 'Lab to pump house' yet\n"
        "  It has once the daemon has polled it (`strandkeeper run CONFIG`).\n"
    )
    assert main(["history", str(station), LINK, "--import", str(station.parent / "no.csv")]) == 1
    assert "cannot be read: No such file or directory" in capsys.readouterr().err


def test_the_spacing_is_the_one_that_covers_most_of_the_time() -> None:
    """An hour at 30 s and ten hours at 5 min: a state stands for 7.5 min."""
    spacing = _Spacing()
    times = [*range(0, 3600, 30), *range(3600, 11 * 3600, 300)]
    spacing.take([EndRow(time_ms=at * 1000, end=End.A) for at in times])
    assert spacing.gap_ms() == 450_000
