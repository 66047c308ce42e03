"""`strandkeeper assess`: a history in a CSV file told in words and as JSON."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from strandkeeper.cli.main import main
from strandkeeper.errors import ExitCode

HEAD = (
    "time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,in_octets,out_octets,"
    "in_frames,fcs_errors,symbol_errors"
)
BEGIN = datetime(2026, 1, 5, tzinfo=UTC)


def history(path: Path, *, days: float, knock_db: float = 0.0, dark_day: float = 99.0) -> Path:
    """Both ends once a minute; a knock on A to B at two thirds; both dark from a day on."""
    rng = np.random.default_rng(8)
    lines = [HEAD]
    count = int(days * 1440)
    for minute in range(count):
        at = (BEGIN + timedelta(minutes=minute)).strftime("%Y-%m-%dT%H:%M:%SZ")
        dark = minute / 1440 >= dark_day
        for end in "AB":
            loss = 4.0 + (knock_db if end == "B" and minute > count * 2 / 3 else 0.0)
            rx = "no-light" if dark else f"{-5.0 - loss + rng.normal(0, 0.04):.2f}"
            state = "down" if dark else "up"
            lines.append(
                f"{at},{end},{rx},-5.00,12.0,31.0,3.300,{state},{900_000 + 60 * minute},,,"
                f"{1000 * minute},0,"
            )
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_knocked_plug_is_told_with_its_size_its_time_and_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = history(tmp_path / "jetty.csv", days=3, knock_db=1.4)
    assert main(["assess", str(file), "--pmd", "1000BASE-LX10"]) == ExitCode.DONE
    told = capsys.readouterr().out
    assert "jetty: 2026-01-05 to 2026-01-07" in told
    assert "2026-01-07 00:00  A → B: the loss jumped up by 1.4 dB" in told
    assert "Likely: a plug on the strand A → B" in told
    assert "Clean the plugs" in told


def test_json_tells_the_same_by_the_public_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = history(tmp_path / "jetty.csv", days=3, knock_db=1.4)
    assert main(["assess", str(file), "--sensitivity-dbm", "-19", "--json"]) == ExitCode.DONE
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == 1
    (step,) = told["ab"]["steps"] if "ab" in told else told["directions"]["ab"]["steps"]
    assert step["low"] <= 1.4 <= step["high"]


def test_both_ends_dark_is_the_cable(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = history(tmp_path / "jetty.csv", days=1.5, dark_day=1.25)
    assert main(["assess", str(file)]) == ExitCode.DONE
    told = capsys.readouterr().out
    assert "The link went down" in told
    assert "Certain" in told


def test_a_quiet_history_has_nothing_to_tell(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = history(tmp_path / "jetty.csv", days=2)
    assert main(["assess", str(file), "--pmd", "1000BASE-LX10"]) == ExitCode.DONE
    told = capsys.readouterr().out
    assert "Nothing else happened that the record shows." in told
    assert "steady" in told


def test_a_file_that_is_not_there_is_said_with_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "none.csv"
    assert main(["assess", str(missing)]) == ExitCode.OPERATOR
    assert capsys.readouterr().err == (
        f"strandkeeper: cannot read {missing}: No such file or directory\n"
        "  Give the name of a CSV file, or - for standard input.\n"
    )


def test_an_empty_history_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "empty.csv"
    file.write_text(HEAD + "\n", encoding="utf-8")
    assert main(["assess", str(file)]) == ExitCode.OPERATOR
    assert "has no rows" in capsys.readouterr().err
