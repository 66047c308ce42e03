"""A watched station whose alerts a command of the owner's keeps; its switches may send traps."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from real_agents.agent import COMMUNITY, Agent
from real_agents.configuration import (
    LinkEntry,
    Plan,
    SwitchEntry,
    community,
    write_configuration,
)
from real_agents.scene import LAB, PUMP
from real_agents.station import FAR_OUT_OF_BAND, FIBRE, NEAR, Station, inside
from real_agents.waiting import until
from real_agents.watch import Watch

__all__ = ["TRAPS", "Herald", "Post", "post", "uptime_cs"]

TRAPS: Final = '\n[traps]\nenabled = true\nhost = "0.0.0.0"\nport = 10162\n'
_HERALD: Final = Path(__file__).with_name("herald.py")
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
        """Every message so far."""
        if not self.heard_file.exists():
            return []
        lines = self.heard_file.read_text(encoding="utf-8").splitlines()
        return [json.loads(line) for line in lines if line]

    def until_heard(self, kind: str, finding: str, *, after: int = 0, timeout_s: float = 40) -> Any:
        """The first message of that kind about that finding, after the first so many."""

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

    def until_kept(self) -> None:
        """Wait until the record holds that all went out: until then a killed watch tells it again.

        Nothing is lost by a kill in between, so it is told at least once, and may be told twice.
        """

        def probe() -> bool:
            with self.watch.reader() as record:
                return not record.waiting_messages()

        until("what was told is on record", probe, timeout_s=20, explain=self.watch.explain)

    def kinds(self, after: int = 0) -> list[tuple[str, str]]:
        """What was told after the first so many messages: kind of message, kind of finding."""
        return [(m["kind"], m["facts"]["finding"]["kind"]) for m in self.heard()[after:]]

    def record_ms(self) -> int:
        """The record's own time now."""
        verdict = self.watch.verdict()
        assert verdict is not None
        return verdict.at_ms


def _told(directory: Path, heard: Path) -> str:
    script = directory / "keep.py"
    script.write_text(_KEEP, encoding="utf-8")
    command = json.dumps([sys.executable, "-I", "-S", str(script), str(heard)])
    return (
        '\n[alerts]\nquiet_from = "00:00"\nquiet_to = "00:00"\nweekly = false\n'
        f'\n[[target]]\nname = "buzzer"\ncommand = {command}\n'
    )


@contextmanager
def post(
    directory: Path,
    *,
    more: str = "",
    thresholds: str = "",
    tell_s: int = 1,
    status_s: int = 1,
    far_agent: type[Agent] = Agent,
) -> Iterator[Post]:
    """The whole of it, running; `more` and `thresholds` are added to the configuration."""
    heard = directory / "heard.jsonl"
    plan = Plan(
        directory=directory,
        switches=[
            SwitchEntry(name="lab", host=NEAR, snmp=community(directory)),
            SwitchEntry(name="pump", host=FAR_OUT_OF_BAND, snmp=community(directory)),
        ],
        links=[LinkEntry(near="a")],
        status_s=status_s,
        optics_s=2 * status_s,
    )
    with ExitStack() as ends:
        station = ends.enter_context(Station())
        near = ends.enter_context(
            Agent(namespace=station.near, directory=directory / "lab", sys_name="lab", module=LAB)
        )
        far = ends.enter_context(
            far_agent(
                namespace=station.far, directory=directory / "pump", sys_name="pump", module=PUMP
            )
        )
        configuration = write_configuration(plan)
        text = configuration.read_text(encoding="utf-8")
        text = text.replace("link_down_tell_s = 1", f"link_down_tell_s = {tell_s}\n{thresholds}")
        configuration.write_text(text + _told(directory, heard) + more, encoding="utf-8")
        watch = ends.enter_context(
            Watch(
                namespace=station.desk, configuration=configuration, record=directory / plan.store
            )
        )
        watch.until_verdict(
            "both ends answer", lambda v: bool(v.up and v.a.answers and v.b.answers)
        )
        yield Post(station, near, far, watch, heard)


def uptime_cs(namespace: str) -> int:
    """The sysUpTime of the agent in a namespace, as it says itself."""
    get = ["snmpget", "-v2c", "-c", COMMUNITY, "-Oqvt", "127.0.0.1", "1.3.6.1.2.1.1.3.0"]
    done = subprocess.run(
        inside(namespace, *get), capture_output=True, text=True, check=True, timeout=20
    )
    return int(done.stdout)


class Herald:
    """herald.py for one switch; `again` after its agent began anew."""

    def __init__(self, namespace: str, target: str) -> None:
        self._namespace = namespace
        self._target = target
        self._process: subprocess.Popen[str] | None = None

    def __enter__(self) -> Self:
        self.again()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end()

    def again(self) -> None:
        """Start it with the agent's time as it is now."""
        self._end()
        script = [sys.executable, "-I", "-S", str(_HERALD), FIBRE, self._target]
        self._process = subprocess.Popen(
            inside(self._namespace, *script, str(uptime_cs(self._namespace))),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "MIBS": ""},
        )
        assert self._process.stdout is not None
        assert self._process.stdout.readline() == "ready\n"

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.communicate(timeout=10)
