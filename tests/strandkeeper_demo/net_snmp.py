"""Net-SNMP's own clients, run with nothing of this system's but the programs themselves."""

from __future__ import annotations

import asyncio
import os
import shutil

import pytest

needs_tools = pytest.mark.skipif(
    shutil.which("snmpget") is None, reason="NOT RUN: the Net-SNMP tools (package snmp) are missing"
)

# No test is timed: where an answer is due, a busy computer may take its time over it.
ANSWER_DUE = ("-t", "25", "-r", "0")
SILENCE_DUE = ("-t", "0.5", "-r", "0")


async def ask(tool: str, *arguments: str) -> tuple[int, str]:
    """The exit code of snmpget, snmpwalk and the like, and all that it printed."""
    child = await asyncio.create_subprocess_exec(
        *(f"snmp{tool}", *arguments),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT,
        env=os.environ | {"PATH": "/usr/bin:/bin", "HOME": "/nonexistent"},
    )
    out, _ = await child.communicate()
    return child.returncode or 0, out.decode("utf-8", "replace")
