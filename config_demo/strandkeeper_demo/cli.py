"""`strandkeeper demo`: arguments in, exit code out."""

from __future__ import annotations

import argparse
import asyncio
import signal
import sys
import time
from collections.abc import Coroutine, Sequence
from pathlib import Path
from typing import Any

from strandkeeper.errors import ExitCode, OperatorError
from strandkeeper_demo.agent import Agent, StationAgents, free_udp_port
from strandkeeper_demo.directory import usual_directory
from strandkeeper_demo.live import Wishes, run_demo
from strandkeeper_demo.once import run_once
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import STATION, story
from strandkeeper_demo.station import Community

__all__ = ["main"]

DASHBOARD_PORT = 8080
SNMP_PORT = 16161


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="strandkeeper demo",
        description=f"Run a simulated station on this computer: {STATION}. Nothing to configure.",
        epilog="example: strandkeeper demo --port 8090",
    )
    parser.add_argument(
        "--port",
        type=_port,
        default=DASHBOARD_PORT,
        metavar="TCP",
        help=f"port of the dashboard on this computer (default {DASHBOARD_PORT})",
    )
    parser.add_argument(
        "--dir",
        type=Path,
        default=None,
        metavar="DIRECTORY",
        help=f"where its files go (default {usual_directory()})",
    )
    parser.add_argument(
        "--fresh", action="store_true", help="forget the last start and tell the story anew"
    )
    parser.add_argument(
        "--snmp-port",
        type=_port,
        default=SNMP_PORT,
        metavar="UDP",
        help=f"port of the simulated switches (default {SNMP_PORT}; a free one if that is taken)",
    )
    only = parser.add_mutually_exclusive_group()
    only.add_argument(
        "--once",
        action="store_true",
        help="without history: poll the simulated switches, print the status table, end",
    )
    only.add_argument(
        "--agents-only", action="store_true", help="run the simulated switches and nothing else"
    )
    return parser


def _port(text: str) -> int:
    number = int(text)
    if not 1 <= number <= 65535:
        raise argparse.ArgumentTypeError(f"{number} is not a port: 1 to 65535")
    return number


def main(argv: Sequence[str] | None = None) -> int:
    """Run the demo and return the exit code (errors.ExitCode)."""
    arguments = _parser().parse_args(argv)
    try:
        return asyncio.run(_until_signalled(_wanted(arguments)))
    except (KeyboardInterrupt, asyncio.CancelledError):
        return ExitCode.INTERRUPTED
    except OperatorError as error:
        print(f"strandkeeper demo: {error}", file=sys.stderr)
        return ExitCode.OPERATOR


def _wanted(arguments: argparse.Namespace) -> Coroutine[Any, Any, int]:
    if arguments.agents_only:
        return _agents_only(arguments.snmp_port)
    if arguments.once:
        return run_once(directory=arguments.dir, snmp_port=arguments.snmp_port)
    wishes = Wishes(
        directory=arguments.dir or usual_directory(),
        port=arguments.port,
        snmp_port=arguments.snmp_port,
        fresh=arguments.fresh,
    )
    return run_demo(wishes)


async def _until_signalled(work: Coroutine[Any, Any, int]) -> int:
    """Do the work; the first signal ends it in good order, further ones change nothing."""
    task = asyncio.ensure_future(work)

    def end() -> None:
        if not task.cancelling():
            task.cancel()

    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, end)
    return await task


async def _agents_only(snmp_port: int) -> int:
    plant = Plant(story(now_s=time.time(), utc_offset_s=time.localtime().tm_gmtoff))
    port = free_udp_port([switch.address for switch in plant.scenario.switches], snmp_port)
    agents = StationAgents(plant, port=port)
    agents.start()
    for agent in agents.agents.values():
        print(_introduced(agent), flush=True)
    try:
        await asyncio.Event().wait()
    finally:
        await agents.closed()
    return ExitCode.DONE


def _introduced(agent: Agent) -> str:
    access = agent.switch.access
    how = (
        f"v2c, community {access.text}"
        if isinstance(access, Community)
        else f"v3, user {access.name}, SHA-256 {access.auth_key}, AES-128 {access.priv_key}"
    )
    host, port = agent.address
    return f"{agent.switch.name:<12} {host}:{port}  {how}"
