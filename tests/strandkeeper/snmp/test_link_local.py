"""A switch at an address that is one of each network (RFC 4291, 2.5.6), by its interface.

The network is one of its own, made by `unshare`.
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
from pathlib import Path

import pytest
from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.agents import Agent
from tests.strandkeeper.snmp.conftest import QUAY, target

from strandkeeper.errors import NoAnswerError
from strandkeeper.snmp.credentials import Community
from strandkeeper.snmp.session import SnmpClient

ROOT = Path(__file__).parents[3]
NETWORK = """set -e
ip link set lo up
ip link add quay type veth peer name far
ip link set far up
ip link set quay up
ip addr add fe80::77/64 dev quay nodad
"""
UPTIME = (1, 3, 6, 1, 2, 1, 1, 3, 0)
HOST = "fe80::77%quay"


async def ask(host: str) -> object:
    """The clock of the switch at `host`, whose agent is at HOST."""
    async with Agent({UPTIME: ber.ticks(7)}, host=HOST) as agent:
        there = target((host, agent.address[1]), timeout_s=2.0)
        client = SnmpClient([(there, Community(version="2c", text="look"))])
        await client.start()
        try:
            return (await client.get(QUAY, [UPTIME])).values[UPTIME]
        except NoAnswerError as error:
            return str(error)
        finally:
            await client.close()


@pytest.mark.root
@pytest.mark.parametrize(
    ("host", "said"), [(HOST, "7"), ("fe80::77%jetty", "has the interface after the %")]
)
def test_a_switch_is_asked_through_the_interface_that_is_named(host: str, said: str) -> None:
    command = f'{NETWORK}exec "$0" -m tests.strandkeeper.snmp.test_link_local {host}'
    done = subprocess.run(
        ["unshare", "--net", "sh", "-c", command, sys.executable],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert said in done.stdout, done.stderr


if __name__ == "__main__":
    print(asyncio.run(ask(sys.argv[1])))
