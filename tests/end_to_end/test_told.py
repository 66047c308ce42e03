"""The real link flaps in patterns; a command of the owner's hears of it, once, in plain words."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pytest
from real_agents.agent import Agent
from real_agents.configuration import (
    LINK,
    LinkEntry,
    Plan,
    SwitchEntry,
    community,
    write_configuration,
)
from real_agents.scene import agents
from real_agents.station import FAR_OUT_OF_BAND, NEAR, Station
from real_agents.waiting import until
from real_agents.watch import Watch

from strandkeeper.model.verdict import EventKind

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(300)]

_KEEP: Final = (
    "import json, sys, time\n"
    "message = json.load(sys.stdin)\n"
    "message['came'] = time.time()\n"
    "with open(sys.argv[1], 'a', encoding='utf-8') as heard:\n"
    "    heard.write(json.dumps(message) + '\\n')\n"
)


@dataclass(frozen=True, slots=True)
class Post:
    """The station, its watch, and what the owner's command was given."""

    station: Station
    lab: Agent
    pump: Agent
    watch: Watch
    heard_file: Path

    def heard(self) -> list[dict[str, Any]]:
        if not self.heard_file.exists():
            return []
        lines = self.heard_file.read_text(encoding="utf-8").splitlines()
        return [json.loads(line) for line in lines if line]

    def until_heard(self, kind: str, finding: str, *, after: int = 0, timeout_s: float = 40) -> Any:
        def probe() -> Any:
            for message in self.heard()[after:]:
                said = message["facts"].get("finding", {}).get("kind")
                if message["kind"] == kind and said == finding:
                    return message
            return None

        return until(
            f"{kind} of {finding}",
            probe,
            timeout_s=timeout_s,
            explain=lambda: f"heard: {self.heard()}\n{self.watch.explain()}",
        )


def told(directory: Path, heard: Path) -> str:
    script = directory / "keep.py"
    script.write_text(_KEEP, encoding="utf-8")
    command = json.dumps([sys.executable, "-I", "-S", str(script), str(heard)])
    return (
        '\n[alerts]\nquiet_from = "00:00"\nquiet_to = "00:00"\nweekly = false\n'
        f'\n[[target]]\nname = "buzzer"\ncommand = {command}\n'
    )


@contextmanager
def post(directory: Path, *, far_host: str = FAR_OUT_OF_BAND, more: str = "") -> Iterator[Post]:
    heard = directory / "heard.jsonl"
    plan = Plan(
        directory=directory,
        switches=[
            SwitchEntry(name="lab", host=NEAR, snmp=community(directory)),
            SwitchEntry(name="pump", host=far_host, snmp=community(directory)),
        ],
        links=[LinkEntry(near="a")],
    )
    with agents(directory) as (station, near, far):
        configuration = write_configuration(plan)
        with configuration.open("a", encoding="utf-8") as file:
            file.write(told(directory, heard) + more)
        watch = Watch(
            namespace=station.desk, configuration=configuration, record=directory / plan.store
        )
        with watch:
            watch.until_verdict(
                "both ends answer", lambda v: bool(v.up and v.a.answers and v.b.answers)
            )
            yield Post(station, near, far, watch, heard)


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Post]:
    with post(tmp_path_factory.mktemp("told")) as built:
        yield built
        assert built.watch.runs, built.watch.log()


def test_one_long_outage_is_told_once_and_so_is_its_end(watched: Post) -> None:
    before = len(watched.heard())
    watched.station.cut_fibre()
    down = watched.until_heard("raised", "link-down", after=before)
    assert down["title"].startswith(f"{LINK}: The link is down")
    assert down["severity"] == "urgent"
    time.sleep(6)
    watched.station.mend_fibre()
    over = watched.until_heard("cleared", "link-down", after=before)
    assert over["title"].startswith(f"Over: {LINK}: the link is down")
    said = [m for m in watched.heard()[before:] if m["facts"]["finding"]["kind"] == "link-down"]
    assert [m["kind"] for m in said] == ["raised", "cleared"]
    assert len({m["key"] for m in said}) == 2
    assert EventKind.RESTARTED not in watched.watch.kinds(since_ms=0)
