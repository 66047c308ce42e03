"""The demo's agents as a process of their own: `python station_process.py DIRECTORY PORT`.

Prints `ready` once they listen and the configuration is written; ends with its standard input.
"""

from __future__ import annotations

import asyncio
import sys
import time
from pathlib import Path

from strandkeeper_demo.agent import StationAgents
from strandkeeper_demo.config_text import Ports, config_text, write_secrets
from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import story


async def main(directory: Path, port: int) -> None:
    plant = Plant(story(now_s=time.time(), utc_offset_s=0))
    agents = StationAgents(plant, port=port)
    agents.start()
    write_secrets(plant.scenario, directory)
    text = config_text(plant.scenario, Ports(dashboard=0, metrics=0, snmp=port), record="record.db")
    (directory / "station.toml").write_text(text, encoding="utf-8")
    print("ready", flush=True)
    await asyncio.to_thread(sys.stdin.read)


if __name__ == "__main__":
    asyncio.run(main(Path(sys.argv[1]), int(sys.argv[2])))
