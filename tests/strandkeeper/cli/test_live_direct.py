"""`strandkeeper live --switch`: a real agent over UDP, the command as a process of its own."""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path

from tests.strandkeeper.jobs.small_switch import SmallSwitch
from tests.strandkeeper.snmp.agents import Agent


async def live(*arguments: str, **env: str) -> tuple[int, str, str]:
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "strandkeeper", "live", *arguments),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        env={**os.environ, **env},
    )
    out, err = await asyncio.wait_for(process.communicate(), 60)
    return process.returncode or 0, out.decode(), err.decode()


async def test_it_shows_one_port_without_service_and_configuration(tmp_path: Path) -> None:
    secret = tmp_path / "community"
    secret.write_text("look", encoding="utf-8")
    secret.chmod(0o600)
    switch = SmallSwitch()
    async with Agent(switch.table) as agent:
        where = ("--switch", agent.address[0], "--snmp-port", str(agent.address[1]))
        opened = ("--community-file", str(secret))
        code, out, err = await live(*where, "--port", "Gi1", *opened, "--updates", "2")
        assert (code, err) == (0, "")
        lines = out.splitlines()
        # 1000 counts of 0.1 µW are 0.1 mW: -10.0 dBm
        assert len(lines) == 2
        assert f"{agent.address[0]} Gi1 −10.0 dBm, 0.0 dB since start, best −10.0 dBm" in lines[1]

        code, _, err = await live(*where, "--port", "Gi9", *opened, "--updates", "1")
        assert code == 1
        assert err == "strandkeeper: the switch has no port 'Gi9'\n  it has Gi1, Gi2\n"

        switch.sensor(1, 5, 0)
        code, out, _ = await live(
            *where, "--port", "Gi1", "--updates", "1", STRANDKEEPER_COMMUNITY="look"
        )
        assert code == 0
        assert "no light" in out


async def test_without_a_credential_it_says_how_to_give_one() -> None:
    code, _, err = await live("--switch", "127.0.0.1", "--port", "x")
    assert code == 1
    assert err.startswith("strandkeeper: no credential for the switch\n")
