"""Read by another process: the same settings, the same errors, and nothing left behind."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from strandkeeper.config.aside import load_aside
from strandkeeper.config.load import load, starter_text
from strandkeeper.errors import ConfigError

REST = """
[[table]]
name = "odd"
"""


@pytest.fixture
def config(tmp_path: Path) -> Path:
    path = tmp_path / "station.toml"
    path.write_text(starter_text())
    return path


def test_the_settings_are_the_same(config: Path) -> None:
    assert load_aside(config) == load(config)


@pytest.mark.parametrize("text", ["", "station = ", "nonsense = 1\n", starter_text() + REST])
def test_the_errors_are_the_same(config: Path, text: str) -> None:
    config.write_text(text)
    with pytest.raises(ConfigError) as here:
        load(config)
    with pytest.raises(ConfigError) as there:
        load_aside(config)
    assert str(there.value) == str(here.value)
    assert there.value.hint == here.value.hint
    assert there.value.problems == here.value.problems


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="there is no file"):
        load_aside(tmp_path / "none.toml")


@pytest.mark.parametrize("program", ["strandkeeper.cli.run", "strandkeeper_dashboard.cli"])
def test_the_programs_that_run_for_months_do_not_load_the_checking_library(program: str) -> None:
    script = f"import sys, {program}; sys.exit('pydantic' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
