"""The demo from start to end: history first, then the switches, the service and the pages."""

from __future__ import annotations

import asyncio
import sys
import time
from collections import deque
from contextlib import AsyncExitStack
from dataclasses import dataclass, replace
from pathlib import Path

from strandkeeper.errors import OperatorError
from strandkeeper.model.link import Link
from strandkeeper_demo.agent import StationAgents
from strandkeeper_demo.config_text import config_text, write_secrets
from strandkeeper_demo.directory import DemoDirectory, Told
from strandkeeper_demo.history import write_history
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.ports import HOST, choose_ports
from strandkeeper_demo.processes import Service, do
from strandkeeper_demo.scenario import DAYS, STATION, story

__all__ = ["Wishes", "log_tail", "run_demo", "say"]

LOG_LINES = 15
READY_S = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What was asked for on the command line."""

    directory: Path
    port: int
    snmp_port: int
    fresh: bool = False


def say(text: str) -> None:
    """Tell the person at the terminal; stdout is kept for answers."""
    print(text, file=sys.stderr, flush=True)


def log_tail(log: Path) -> str:
    """The last lines of the service's log."""
    with log.open(encoding="utf-8", errors="replace") as file:
        return "".join(f"    {line}" for line in deque(file, LOG_LINES)).rstrip()


async def run_demo(wishes: Wishes) -> int:
    """Run until somebody ends it. Raises OperatorError for what a person can mend."""
    directory = DemoDirectory(wishes.directory)
    with directory.held():
        if wishes.fresh:
            directory.forget()
        say(f"Strandkeeper demo: {STATION}")
        say(f"Its files: {directory.path}")
        told = directory.told()
        return await _tell(wishes, directory, told or _a_new_story(directory))


def _a_new_story(directory: DemoDirectory) -> Told:
    directory.forget()
    return Told(now_s=int(time.time()), utc_offset_s=time.localtime().tm_gmtoff)


async def _tell(wishes: Wishes, directory: DemoDirectory, told: Told) -> int:
    plant = Plant(story(now_s=told.now_s, utc_offset_s=told.utc_offset_s))
    ports = choose_ports(plant.scenario, dashboard=wishes.port, snmp=wishes.snmp_port)
    async with AsyncExitStack() as stack:
        agents = StationAgents(plant, port=ports.snmp)
        agents.start()
        stack.push_async_callback(agents.closed)
        write_secrets(plant.scenario, directory.path)
        text = config_text(plant.scenario, ports, record=directory.record.name)
        directory.config.write_text(text, encoding="utf-8")
        if not told.imported:
            await _bring_in_history(directory, plant)
            directory.remember(replace(told, imported=True))
        log = stack.enter_context(directory.log.open("wb"))
        service = Service("run", directory.config, log=log)
        await service.start()
        stack.push_async_callback(service.stop)
        stack.callback(say, "Stopping.")
        if await _is_ready(service, ports.dashboard, directory.log):
            say(f"\nOpen http://{HOST}:{ports.dashboard}/ in a browser. Ctrl-C ends the demo.")
            say(f"Its configuration, to read and to copy: {directory.config}")
        code = await service.wait()
    raise OperatorError(
        f"the service ended by itself (exit code {code}); its last words:\n"
        + log_tail(directory.log),
        hint="start the demo again; --fresh begins with an empty record",
    )


async def _bring_in_history(directory: DemoDirectory, plant: Plant) -> None:
    """Write each link's history, the next one while the one before it is being read in."""
    say(f"Inventing {DAYS} days of history and reading them in; this is done once.")
    reading: asyncio.Task[None] | None = None
    try:
        for link in plant.scenario.links:
            path = directory.history(link.name)
            await _write(plant, link, path)
            if reading is not None:
                await reading
            reading = asyncio.create_task(_read_in(directory, link, path))
        if reading is not None:
            await reading
    finally:
        if reading is not None and not reading.done():
            reading.cancel()
            await asyncio.gather(reading, return_exceptions=True)


async def _write(plant: Plant, link: Link, path: Path) -> None:
    for _ in write_history(plant, link, path):
        await asyncio.sleep(0)


async def _read_in(directory: DemoDirectory, link: Link, path: Path) -> None:
    say(f"  {link.name}: reading in {path.name}, judging every reading on the way")
    await do("history", directory.config, link.name, "--import", path)


async def _is_ready(service: Service, port: int, log: Path) -> bool:
    """Wait until the pages are served; False if the service ends instead.

    Raises OperatorError if the pages never come.
    """
    deadline = time.monotonic() + READY_S
    while time.monotonic() < deadline:
        if service.ended is not None:
            return False
        if await _serves(port):
            return True
        await asyncio.sleep(0.2)
    raise OperatorError(
        f"the dashboard did not come up on port {port} within {READY_S:.0f} s; "
        f"the service's last words:\n{log_tail(log)}",
        hint="the machine may be too busy: try again",
    )


async def _serves(port: int) -> bool:
    try:
        reader, writer = await asyncio.open_connection(HOST, port)
    except OSError:
        return False
    try:
        writer.write(b"GET / HTTP/1.0\r\nHost: localhost\r\n\r\n")
        status = await asyncio.wait_for(reader.readline(), 10)
    except (OSError, TimeoutError):
        return False
    finally:
        writer.close()
    return b" 200 " in status or b" 302 " in status
