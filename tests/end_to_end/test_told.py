"""The real link flaps in patterns; a command of the owner's hears of it, once, in plain words."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from real_agents.agent import COMMUNITY, Agent
from real_agents.configuration import LINK
from real_agents.post import TRAPS, Post, post, uptime_cs
from real_agents.station import inside

from strandkeeper.model.verdict import EventKind

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(300)]


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Post]:
    with post(tmp_path_factory.mktemp("told")) as built:
        yield built
        assert built.watch.runs, built.watch.log()


DOWN: Final = "1.3.6.1.6.3.1.1.5.3"
UP: Final = "1.3.6.1.6.3.1.1.5.4"


def send_trap(post: Post, trap: str) -> float:
    """A trap of the far switch about its port, with the agent's own time; when it was sent."""
    uptime = str(uptime_cs(post.station.far))
    index = str(post.station.if_index(post.station.far))
    send = ["snmptrap", "-v2c", "-c", COMMUNITY, "10.77.3.1:10162", uptime, trap]
    about = [f"1.3.6.1.2.1.2.2.1.1.{index}", "i", index]
    sent = time.time()
    subprocess.run(inside(post.station.far, *send, *about), check=True, timeout=20)
    return sent


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
    before, begun = len(watched.heard()), watched.record_ms()
    watched.pump.restart()
    watched.watch.until_event(EventKind.RESTARTED, since_ms=begun - 60_000)
    time.sleep(4)
    assert ("raised", "link-down") not in watched.kinds(before)
    assert EventKind.LINK_DOWN not in watched.watch.kinds(since_ms=begun)


def test_a_far_agent_that_is_gone_while_the_link_stays_up_is_told_as_that(watched: Post) -> None:
    before, begun = len(watched.heard()), watched.record_ms()
    watched.pump.freeze()
    silent = watched.until_heard("raised", "no-answer", after=before, timeout_s=60)
    assert "Pump house does not answer" in silent["title"]
    watched.pump.thaw()
    watched.until_heard("cleared", "no-answer", after=before, timeout_s=60)
    assert watched.kinds(before) == [("raised", "no-answer"), ("cleared", "no-answer")]
    assert EventKind.LINK_DOWN not in watched.watch.kinds(since_ms=begun)


def test_of_a_flapping_link_all_is_recorded_and_not_all_is_told(watched: Post) -> None:
    """After the long outage before: penalties of nearly 2 and 3 are told, nearly 4 is held back."""
    before, begun = len(watched.heard()), watched.record_ms()
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
    told = [kind for kind, finding in watched.kinds(before) if finding == "link-down"]
    assert told == ["raised", "cleared"] * 2
    assert f'strandkeeper_flap_held_back{{link="{LINK}"}} 1.0' in watched.watch.metrics()


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
    assert by_trap.kinds(before) == [("raised", "link-down"), ("cleared", "link-down")]
    assert EventKind.FLAP_BETWEEN_POLLS not in by_trap.watch.kinds(since_ms=begun - 60_000)


def test_one_outage_seen_by_trap_and_by_polls_is_one(by_trap: Post) -> None:
    begun, before = by_trap.record_ms(), len(by_trap.heard())
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
    down = [k for k in by_trap.kinds(before) if k[1] == "link-down"]
    assert down == [("raised", "link-down"), ("cleared", "link-down")]


def test_a_watch_that_is_killed_goes_on_where_it_was_and_tells_nothing_twice(
    tmp_path: Path,
) -> None:
    with post(tmp_path) as killed:
        killed.station.cut_fibre()
        killed.until_heard("raised", "link-down")
        killed.until_kept()
        killed.watch.kill()
        killed.watch.start()
        killed.watch.until_verdict("judged again", lambda v: v.up is False and bool(v.a.answers))
        time.sleep(4)
        killed.station.mend_fibre()
        killed.until_heard("cleared", "link-down")
        assert killed.kinds(0) == [("raised", "link-down"), ("cleared", "link-down")]
        assert killed.watch.runs, killed.watch.log()
