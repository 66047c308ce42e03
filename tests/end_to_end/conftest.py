"""Two real snmpd, the kernel's own link between them, and the real daemon watching it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

_HERE = Path(__file__).parent

sys.path.insert(0, str(_HERE))
os.environ["PATH"] = f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin"  # where snmpd and ip live

_PROGRAMS = {
    "ip": "iproute2",
    "setpriv": "util-linux",
    "snmpd": "snmpd",
    "snmpget": "snmp",
}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip, naming what is missing, where no namespaces can be made; in CI that is a failure."""
    ours = [i for i in items if i.get_closest_marker("root") and _HERE in i.path.parents]
    if not ours or os.environ.get("STRANDKEEPER_NO_SKIPS") == "1":
        return
    reason = _why_not()
    for item in ours if reason else []:
        item.add_marker(pytest.mark.skip(reason=f"NOT RUN against real SNMP agents: {reason}"))


def _why_not() -> str:
    if os.geteuid() != 0:
        return "needs root, to make network namespaces"
    missing = [f"{p} (Debian package {d})" for p, d in _PROGRAMS.items() if not shutil.which(p)]
    if missing:
        return f"missing {', '.join(missing)}"
    name = f"strand{os.getpid()}-trial"
    made = subprocess.run(["ip", "netns", "add", name], capture_output=True, text=True, check=False)
    if made.returncode:
        return f"this machine allows no network namespaces: {made.stderr.strip()}"
    subprocess.run(["ip", "netns", "del", name], check=False)
    return ""
