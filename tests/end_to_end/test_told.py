"""The real link flaps in patterns; a command of the owner's hears of it, once, in plain words."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pytest
from real_agents.agent import COMMUNITY, Agent
from real_agents.configuration import (
    LINK,
    LinkEntry,
    Plan,
    SwitchEntry,
    community,
    write_configuration,
)
from real_agents.scene import LAB, PUMP
from real_agents.station import FAR_OUT_OF_BAND, NEAR, Station, inside
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
def post(
    directory: Path,
    *,
    more: str = "",
    tell_s: int = 1,
    status_s: int = 1,
    far_agent: type[Agent] = Agent,
) -> Iterator[Post]:
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
    with (
        Station() as station,
        Agent(
            namespace=station.near, directory=directory / "lab", sys_name="lab", module=LAB
        ) as near,
        far_agent(
            namespace=station.far, directory=directory / "pump", sys_name="pump", module=PUMP
        ) as far,
    ):
        configuration = write_configuration(plan)
        text = configuration.read_text(encoding="utf-8")
        text = text.replace("link_down_tell_s = 1", f"link_down_tell_s = {tell_s}")
        configuration.write_text(text + told(directory, heard) + more, encoding="utf-8")
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


DOWN: Final = "1.3.6.1.6.3.1.1.5.3"
UP: Final = "1.3.6.1.6.3.1.1.5.4"
TRAPS: Final = '\n[traps]\nenabled = true\nhost = "0.0.0.0"\nport = 10162\n'


def send_trap(post: Post, trap: str) -> float:
    """A trap of the far switch about its port, with the agent's own time; when it was sent."""
    get = ["snmpget", "-v2c", "-c", COMMUNITY, "-Oqvt", "127.0.0.1", "1.3.6.1.2.1.1.3.0"]
    uptime = subprocess.run(
        inside(post.station.far, *get), capture_output=True, text=True, check=True, timeout=20
    ).stdout.strip()
    index = str(post.station.if_index(post.station.far))
    send = ["snmptrap", "-v2c", "-c", COMMUNITY, "10.77.3.1:10162", uptime, trap]
    about = [f"1.3.6.1.2.1.2.2.1.1.{index}", "i", index]
    sent = time.time()
    subprocess.run(inside(post.station.far, *send, *about), check=True, timeout=20)
    return sent


def kinds_of(post: Post, after: int) -> list[tuple[str, str]]:
    return [(m["kind"], m["facts"]["finding"]["kind"]) for m in post.heard()[after:]]


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


def test_a_restarted_agent_is_no_outage(watched: Post) -> None:
    before, begun = len(watched.heard()), record_ms(watched)
    watched.pump.restart()
    watched.watch.until_event(EventKind.RESTARTED, since_ms=begun - 60_000)
    time.sleep(4)
    assert ("raised", "link-down") not in kinds_of(watched, before)
    assert EventKind.LINK_DOWN not in watched.watch.kinds(since_ms=begun)


def test_a_far_agent_that_is_gone_while_the_link_stays_up_is_told_as_that(watched: Post) -> None:
    before, begun = len(watched.heard()), record_ms(watched)
    watched.pump.freeze()
    silent = watched.until_heard("raised", "no-answer", after=before, timeout_s=60)
    assert "Pump house does not answer" in silent["title"]
    watched.pump.thaw()
    watched.until_heard("cleared", "no-answer", after=before, timeout_s=60)
    assert kinds_of(watched, before) == [("raised", "no-answer"), ("cleared", "no-answer")]
    assert EventKind.LINK_DOWN not in watched.watch.kinds(since_ms=begun)


def test_of_a_flapping_link_all_is_recorded_and_not_all_is_told(watched: Post) -> None:
    """After the long outage before: penalties of nearly 2 and 3 are told, nearly 4 is held back."""
    before, begun = len(watched.heard()), record_ms(watched)
    for _ in range(3):
        watched.station.cut_fibre()
        watched.watch.until_verdict("down", lambda v: v.up is False)
        time.sleep(3)
        watched.station.mend_fibre()
        watched.watch.until_verdict("up", lambda v: v.up is True)
        time.sleep(6)
    events = [e.kind for e in watched.watch.events(since_ms=begun)]
    assert events.count(EventKind.LINK_DOWN) == 3
    assert events.count(EventKind.LINK_UP) == 3
    told = [kind for kind, finding in kinds_of(watched, before) if finding == "link-down"]
    assert told == ["raised", "cleared"] * 2
    assert f'strandkeeper_flap_held_back{{link="{LINK}"}} 1.0' in watched.watch.metrics()


def record_ms(post: Post) -> int:
    verdict = post.watch.verdict()
    assert verdict is not None
    return verdict.at_ms


class Speaking(Agent):
    """An agent that looks at its own ports each second and says by itself when one changes."""

    def _configuration(self) -> str:
        column, oper = "1.3.6.1.2.1.2.2.1.1", "1.3.6.1.2.1.2.2.1.8"
        return super()._configuration() + (
            'createUser inside SHA "inside-only-1"\nrouser inside auth\niquerySecName inside\n'
            f"trap2sink 10.77.3.1:10162 {COMMUNITY}\n"
            f"notificationEvent wentUp {UP} {column} {oper}\n"
            f"notificationEvent wentDown {DOWN} {column} {oper}\n"
            f'monitor -r 1 -e wentUp "port is up" {oper} != 2\n'
            f'monitor -r 1 -e wentDown "port is down" {oper} == 2\n'
        )


def test_a_real_agent_says_by_itself_that_its_port_went_down(tmp_path: Path) -> None:
    """Its poll interval is a minute here: within the time waited only the agent's trap can tell."""
    with post(tmp_path, more=TRAPS, tell_s=0, far_agent=Speaking, status_s=60) as speaking:
        before = len(speaking.heard())
        cut = time.time()
        speaking.station.cut_fibre()
        down = speaking.until_heard("raised", "link-down", after=before, timeout_s=20)
        # the agent looks once a second, out of a cache of its own
        assert down["came"] - cut < 10
        assert 'strandkeeper_traps_total{outcome="taken"}' in speaking.watch.metrics()


@pytest.fixture(scope="module")
def by_trap(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Post]:
    with post(tmp_path_factory.mktemp("trapped"), more=TRAPS, tell_s=0) as built:
        yield built
        assert built.watch.runs, built.watch.log()


def test_a_trap_is_told_within_a_second_and_a_cached_poll_does_not_undo_it(by_trap: Post) -> None:
    """The link stays up in truth: every poll says so, as an agent's cache would after a cut."""
    before = len(by_trap.heard())
    sent = send_trap(by_trap, DOWN)
    down = by_trap.until_heard("raised", "link-down", after=before)
    assert down["came"] - sent < 1.0
    time.sleep(4)
    verdict = by_trap.watch.verdict()
    assert verdict is not None
    assert verdict.up is False
    begun = verdict.at_ms
    send_trap(by_trap, UP)
    by_trap.until_heard("cleared", "link-down", after=before)
    time.sleep(4)
    assert kinds_of(by_trap, before) == [("raised", "link-down"), ("cleared", "link-down")]
    assert EventKind.FLAP_BETWEEN_POLLS not in by_trap.watch.kinds(since_ms=begun - 60_000)


def test_one_outage_seen_by_trap_and_by_polls_is_one(by_trap: Post) -> None:
    begun, before = record_ms(by_trap), len(by_trap.heard())
    by_trap.station.cut_fibre()
    send_trap(by_trap, DOWN)
    by_trap.until_heard("raised", "link-down", after=before)
    time.sleep(6)
    by_trap.station.mend_fibre()
    time.sleep(0.2)
    send_trap(by_trap, UP)
    by_trap.until_heard("cleared", "link-down", after=before)
    time.sleep(6)
    events = [e.kind for e in by_trap.watch.events(since_ms=begun)]
    assert events.count(EventKind.LINK_DOWN) == 1
    assert events.count(EventKind.LINK_UP) == 1
    assert EventKind.FLAP_BETWEEN_POLLS not in events
    down = [k for k in kinds_of(by_trap, before) if k[1] == "link-down"]
    assert down == [("raised", "link-down"), ("cleared", "link-down")]


def test_a_watch_that_is_killed_goes_on_where_it_was_and_tells_nothing_twice(
    tmp_path: Path,
) -> None:
    with post(tmp_path) as killed:
        killed.station.cut_fibre()
        killed.until_heard("raised", "link-down")
        killed.watch.kill()
        killed.watch.start()
        killed.watch.until_verdict("judged again", lambda v: v.up is False and bool(v.a.answers))
        time.sleep(4)
        killed.station.mend_fibre()
        killed.until_heard("cleared", "link-down")
        assert kinds_of(killed, 0) == [("raised", "link-down"), ("cleared", "link-down")]
        assert killed.watch.runs, killed.watch.log()
