"""In CI a test that was not run is a failure: nothing hides a missing install step."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LEFT_OUT = """import pytest

@pytest.mark.skipif(True, reason="a program is missing")
def test_by_mark():
    pass

def test_by_call():
    pytest.skip("another is missing")
"""


@pytest.mark.parametrize(("strict", "told"), [("1", "1 failed, 1 error"), ("0", "2 skipped")])
def test_a_skip_fails_where_nothing_may_be_left_out(tmp_path: Path, strict: str, told: str) -> None:
    (tmp_path / "test_some.py").write_text(LEFT_OUT)
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-c", os.devnull, "-p", "tests.conftest", tmp_path],
        cwd=ROOT,
        env=os.environ | {"STRANDKEEPER_NO_SKIPS": strict},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told in done.stdout, done.stdout + done.stderr
    assert done.returncode == int(strict)
    if strict == "1":
        assert "a program is missing" in done.stdout
