"""README's two pictures: there, small, shown, and made by a script that says how."""

from __future__ import annotations

import re
import struct
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "dashboard" / "pictures"
NAMES = ("first-screen.png", "trend.png")


@pytest.mark.parametrize("name", NAMES)
def test_picture_is_there_and_small(name: str) -> None:
    held = (PICTURES / name).read_bytes()
    assert held.startswith(b"\x89PNG\r\n\x1a\n")
    assert len(held) < 200_000
    width, height = struct.unpack(">II", held[16:24])
    assert width >= 900
    assert height >= 600


def test_readme_shows_both_right_below_its_first_paragraph() -> None:
    _title, _, _paragraph, _, *rest = (ROOT / "README.md").read_text("utf-8").splitlines()
    shown = [re.fullmatch(r"!\[[^\]]{20,}\]\(dashboard/pictures/(.+)\)", line) for line in rest[:3]]
    assert [found[1] for found in shown if found] == list(NAMES)


def test_the_script_says_how_to_make_them_again() -> None:
    done = subprocess.run(
        [sys.executable, str(PICTURES / "take"), "--help"],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0
    assert "from the demo" in done.stdout
