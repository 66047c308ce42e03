"""`--once`: the real switches, the real service, one round of figures, the status table."""

from __future__ import annotations

import asyncio
import json
import tempfile
import time
from contextlib import AsyncExitStack
from pathlib import Path

from strandkeeper.errors import ExitCode, OperatorError
from strandkeeper.model.names import Direction
from strandkeeper_demo.agent import StationAgents, free_udp_port
from strandkeeper_demo.config_text import Ports, config_text, write_secrets
from strandkeeper_demo.directory import DemoDirectory
from strandkeeper_demo.live import log_tail, say
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.processes import Service, answer, do
from strandkeeper_demo.scenario import STATION, Scenario, story

__all__ = ["has_all_figures", "run_once"]

LONG_ENOUGH_S = 60.0
BETWEEN_LOOKS_S = 0.3


async def run_once(*, directory: Path | None, snmp_port: int) -> int:
    """Poll the simulated switches, print the status table and return the exit code.

    Without a directory it works in one that is gone afterwards. Raises OperatorError.
    """
    if directory is not None:
        held = DemoDirectory(directory)
        with held.held():
            return await _poll_and_show(held.path, snmp_port)
    with tempfile.TemporaryDirectory(prefix="strandkeeper-demo-") as passing:
        return await _poll_and_show(Path(passing), snmp_port)


async def _poll_and_show(directory: Path, snmp_port: int) -> int:
    plant = Plant(story(now_s=time.time(), utc_offset_s=time.localtime().tm_gmtoff))
    config = _written(plant.scenario, directory, snmp_port)
    say(f"Strandkeeper demo: {STATION}, without its history")
    async with AsyncExitStack() as stack:
        agents = StationAgents(plant, port=config[1].snmp)
        agents.start()
        stack.push_async_callback(agents.closed)
        log_path = directory / "once.log"
        log = stack.enter_context(log_path.open("wb"))
        service = Service("run", config[0], "--no-dashboard", log=log)
        await service.start()
        stack.push_async_callback(service.stop)
        await _figures(service, config[0], len(plant.scenario.links), log_path)
        print(await do("status", config[0]), end="", flush=True)
    return ExitCode.DONE


def _written(scenario: Scenario, directory: Path, snmp_port: int) -> tuple[Path, Ports]:
    """A configuration with a record of its own, begun anew: it must not meet the demo's history."""
    for left in directory.glob("once.db*"):
        left.unlink()
    hosts = [switch.address for switch in scenario.switches]
    ports = Ports(dashboard=0, metrics=0, snmp=free_udp_port(hosts, snmp_port))
    write_secrets(scenario, directory)
    path = directory / "once.toml"
    path.write_text(config_text(scenario, ports, record="once.db", batch_s=1), encoding="utf-8")
    return path, ports


async def _figures(service: Service, config: Path, links: int, log: Path) -> None:
    deadline = time.monotonic() + LONG_ENOUGH_S
    while time.monotonic() < deadline and service.ended is None:
        code, text = await answer("status", config, "--json")
        if code == ExitCode.DONE and has_all_figures(text, links):
            return
        await asyncio.sleep(BETWEEN_LOOKS_S)
    why = "ended by itself" if service.ended is not None else f"had no figures in {LONG_ENOUGH_S} s"
    raise OperatorError(f"the service {why}; its last words:\n{log_tail(log)}")


def has_all_figures(status_json: str, links: int) -> bool:
    """Whether `status --json` has a receive power in both directions of that many links."""
    try:
        verdicts = json.loads(status_json)["links"]
        powers = [v["directions"][d.value]["rx_dbm"] for v in verdicts for d in Direction]
    except (ValueError, KeyError, TypeError):
        return False
    return len(powers) == 2 * links and all(isinstance(p, int | float) for p in powers)
