"""Start the invented station: its switches, its history, the service, the pages."""

from __future__ import annotations

import argparse
import asyncio
import sys
import time
from collections.abc import Sequence

from strandkeeper.errors import ExitCode, OperatorError
from strandkeeper_demo.agent import StationAgents, free_udp_port
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import STATION, story
from strandkeeper_demo.station import Community

__all__ = ["main"]

SNMP_PORT = 16161


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="strandkeeper demo",
        description=f"Run an invented station on this computer: {STATION}. Nothing to configure.",
        epilog="example: strandkeeper demo --port 8090",
    )
    parser.add_argument(
        "--snmp-port",
        type=int,
        default=SNMP_PORT,
        metavar="UDP",
        help=f"UDP port of the simulated switches (default {SNMP_PORT}, or a free one)",
    )
    parser.add_argument(
        "--agents-only", action="store_true", help="start the simulated switches and nothing else"
    )
    return parser


async def _agents_only(snmp_port: int) -> int:
    offset_s = time.localtime().tm_gmtoff
    plant = Plant(story(now_s=time.time(), utc_offset_s=offset_s))
    port = free_udp_port([s.address for s in plant.scenario.switches], snmp_port)
    agents = StationAgents(plant, port=port)
    agents.start()
    for agent in agents.agents.values():
        access = agent.switch.access
        how = (
            f"v2c, community {access.text}"
            if isinstance(access, Community)
            else f"v3, user {access.name}, SHA-256 {access.auth_key}, AES-128 {access.priv_key}"
        )
        print(f"{agent.switch.name:<12} {agent.address[0]}:{agent.port}  {how}", flush=True)
    try:
        await asyncio.Event().wait()
    finally:
        await agents.closed()
    return ExitCode.DONE


def main(argv: Sequence[str] | None = None) -> int:
    """Run the demo and return the exit code (errors.ExitCode)."""
    arguments = _parser().parse_args(argv)
    try:
        return asyncio.run(_agents_only(arguments.snmp_port))
    except KeyboardInterrupt:
        return ExitCode.INTERRUPTED
    except OperatorError as error:
        print(f"strandkeeper demo: {error}", file=sys.stderr)
        return ExitCode.OPERATOR
