"""Facts about the tree: the fixed top level, one writer of 10·log10, no SET, no stray words."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "daemon",
    "dashboard",
    "config_demo",
    "tests",
    "deploy",
}


def _tracked() -> list[Path]:
    out = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout
    return [ROOT / line for line in out.splitlines() if (ROOT / line).is_file()]


def _python() -> list[Path]:
    roots = [ROOT / "daemon", ROOT / "dashboard", ROOT / "config_demo"]
    return [p for r in roots for p in sorted(r.rglob("*.py"))]


def test_the_top_level_is_the_agreed_one() -> None:
    names = {p.relative_to(ROOT).parts[0] for p in _tracked()}
    assert {n for n in names if not n.startswith(".")} <= TOP


def test_the_entry_scripts_can_be_run() -> None:
    for script in ("deploy/start", "tests/run", ".ci/run"):
        assert (ROOT / script).stat().st_mode & 0o111, f"{script} has no run bit"


def test_decibels_are_computed_in_one_file() -> None:
    """Style 5: `10*log10` lives in optics/units.py; the demo's own encoders start from mW."""
    pattern = re.compile(r"10(\.0)?\s*\*\s*(math|np|numpy)\.log10")
    found = [p for p in _python() if pattern.search(p.read_text(encoding="utf-8"))]
    assert [p.relative_to(ROOT).as_posix() for p in found] == [
        "daemon/strandkeeper/optics/units.py"
    ]


def test_no_code_can_write_to_a_switch() -> None:
    """The read-only promise: no SET command or PDU of the SNMP library is ever named."""
    pattern = re.compile(r"\b(set_cmd|setCmd|SetRequestPDU|SetCommandGenerator)\b")
    daemon = [p for p in _python() if "config_demo" not in p.parts]
    assert [p for p in daemon if pattern.search(p.read_text(encoding="utf-8"))] == []


def test_no_path_of_one_machine_is_in_the_tree() -> None:
    pattern = re.compile(r"(^|[^A-Za-z0-9_])/(root|work|home/[a-z]+)/")
    texts = [p for p in _tracked() if p.suffix in {".py", ".md", ".toml", ".sh", ""}]
    hits = [p for p in texts if p != Path(__file__) and pattern.search(_text(p))]
    assert hits == []


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""
