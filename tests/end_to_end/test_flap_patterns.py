"""A real link flapped in patterns, watched with traps and by polls alone: exactly that is recorded.

With traps, each switch says at the kernel's own event that its port changed (real_agents/herald).
By polls alone a change shorter than the status interval and the agent's cache may go unseen; what
is longer may not. Damping is set aside here (test_told has it), so that everything told shows.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from typing import Final

import pytest
from real_agents.agent import COMMUNITY, Agent
from real_agents.post import TRAPS, Herald, Post, post

from strandkeeper.model.verdict import Event, EventKind, LinkVerdict

pytestmark = [pytest.mark.root, pytest.mark.slow, pytest.mark.timeout(400)]

CACHE_S: Final = 4.0  # snmpd looks at its interfaces anew after 3 s; one more for its own work
STATUS_S: Final = 1
SEEN_BY_POLL_S: Final = STATUS_S + CACHE_S
STEADY_S: Final = 6.0  # longer than the clearing time of 2 s, a poll and the cache
NEAR_TARGET, FAR_TARGET = "10.77.1.1:10162", "10.77.3.1:10162"
RAISED_AND_CLEARED: Final = [("raised", "link-down"), ("cleared", "link-down")]


class Announcing(Agent):
    """Says coldStart when it begins anew, as snmpd does by itself once it has a target."""

    def _configuration(self) -> str:
        return super()._configuration() + f"trap2sink {FAR_TARGET} {COMMUNITY}\n"


@dataclass
class Course:
    """One way of watching, and what has happened on the link since `mark`."""

    post: Post
    traps: bool
    heralds: list[Herald] = field(default_factory=list)
    since_ms: int = 0
    heard: int = 0
    counted: int = 0

    def mark(self) -> None:
        self.post.watch.until_verdict(
            "all is well", lambda v: bool(v.up and v.a.answers and v.b.answers), timeout_s=60
        )
        verdict = self.verdict()
        self.since_ms, self.counted = verdict.at_ms, verdict.downs_14d
        self.heard = len(self.post.heard())

    def flap(self, down_s: float, up_s: float) -> tuple[float, float]:
        """Cut and mend; when each was [s]."""
        cut = time.time()
        self.post.station.cut_fibre()
        time.sleep(max(0.0, down_s - (time.time() - cut)))
        mended = time.time()
        self.post.station.mend_fibre()
        time.sleep(max(0.0, up_s - (time.time() - mended)))
        return cut, mended

    def verdict(self) -> LinkVerdict:
        found = self.post.watch.verdict()
        assert found is not None
        return found

    def settled(self, cleared: int) -> LinkVerdict:
        """Once so many ends were told and nothing is left to come."""
        self.post.watch.until(
            f"{cleared} ends told",
            lambda: self.told().count(("cleared", "link-down")) >= cleared,
            timeout_s=40,
        )
        time.sleep(SEEN_BY_POLL_S + 3)
        return self.verdict()

    def told(self) -> list[tuple[str, str]]:
        return self.post.kinds(self.heard)

    def events(self, *kinds: EventKind) -> list[Event]:
        found = self.post.watch.events(since_ms=self.since_ms)
        return [e for e in found if e.kind in kinds]

    def seen_by(self, verdict: LinkVerdict) -> set[str]:
        """Who saw the times down since the mark."""
        downs = (*verdict.flaps, *verdict.outages)
        return {name for d in downs if d.from_ms >= self.since_ms for name in d.seen_by}


@pytest.fixture(scope="module", params=["by polls alone", "with traps"])
def course(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Course]:
    traps = request.param == "with traps"
    with ExitStack() as ends:
        built = ends.enter_context(
            post(
                tmp_path_factory.mktemp("course"),
                more=TRAPS if traps else "",
                thresholds="flap_hold_back = 1000\nflaps_day = 100000\nflaps_days_of_14 = 14\n"
                "restarts = 1000",
                tell_s=0,
                status_s=STATUS_S,
                far_agent=Announcing if traps else Agent,
            )
        )
        course = Course(built, traps)
        if traps:
            station = built.station
            for where, target in ((station.near, NEAR_TARGET), (station.far, FAR_TARGET)):
                course.heralds.append(ends.enter_context(Herald(where, target)))
        yield course
        assert built.watch.runs, built.watch.log()


def test_slow_flapping_is_recorded_and_told_time_for_time(course: Course) -> None:
    course.mark()
    times = [course.flap(8, STEADY_S + SEEN_BY_POLL_S) for _ in range(3)]
    verdict = course.settled(3)
    assert course.told() == RAISED_AND_CLEARED * 3
    downs, ups = course.events(EventKind.LINK_DOWN), course.events(EventKind.LINK_UP)
    assert (len(downs), len(ups)) == (3, 3)
    assert course.events(EventKind.FLAP_BETWEEN_POLLS, EventKind.RESTARTED) == []
    late_s = 1.0 if course.traps else SEEN_BY_POLL_S
    for (cut, mended), down, up in zip(times, downs, ups, strict=True):
        assert -0.5 <= down.time_ms / 1000 - cut <= late_s
        assert -0.5 <= up.time_ms / 1000 - mended <= SEEN_BY_POLL_S
    assert verdict.downs_14d - course.counted == 3
    assert any(n.startswith("poll of") for n in course.seen_by(verdict))
    assert any(n.startswith("trap of") for n in course.seen_by(verdict)) is course.traps


def test_fast_flapping_is_one_alert_and_nothing_is_invented(course: Course) -> None:
    """0.4 s down, 0.8 s up, six times: by polls alone some or all of it may go unseen."""
    course.mark()
    began_ms = time.time() * 1000
    for _ in range(6):
        course.flap(0.4, 0.8)
    ended_ms = time.time() * 1000
    if course.traps:
        course.settled(1)
    time.sleep(SEEN_BY_POLL_S + STEADY_S)
    verdict = course.verdict()
    downs = course.events(EventKind.LINK_DOWN, EventKind.FLAP_BETWEEN_POLLS)
    recorded = verdict.downs_14d - course.counted
    assert verdict.up is True
    assert recorded == len(downs) <= 6
    assert all(began_ms - 500 <= e.time_ms <= ended_ms + 1000 * SEEN_BY_POLL_S for e in downs)
    if course.traps:
        assert recorded == 6
        assert course.told() == RAISED_AND_CLEARED
    else:
        assert course.told() in ([], RAISED_AND_CLEARED, RAISED_AND_CLEARED * 2)


def test_one_long_outage_is_one_and_its_length_is_known(course: Course) -> None:
    course.mark()
    cut, mended = course.flap(25, 1)
    verdict = course.settled(1)
    assert course.told() == RAISED_AND_CLEARED
    (outage,) = [o for o in verdict.outages if o.from_ms >= course.since_ms]
    assert outage.to_ms is not None
    off_s = 1.0 if course.traps else SEEN_BY_POLL_S
    assert abs(outage.from_ms / 1000 - cut) <= off_s
    assert abs(outage.to_ms / 1000 - mended) <= SEEN_BY_POLL_S
    assert verdict.downs_14d - course.counted == 1


def test_a_restart_of_the_far_agent_is_a_restart_and_no_outage(course: Course) -> None:
    course.mark()
    course.post.pump.restart()
    for herald in course.heralds[1:]:
        herald.again()
    course.post.watch.until_event(EventKind.RESTARTED, since_ms=course.since_ms - 60_000)
    time.sleep(SEEN_BY_POLL_S + 3)
    assert course.events(EventKind.LINK_DOWN, EventKind.FLAP_BETWEEN_POLLS) == []
    assert course.told() == []
    assert course.verdict().downs_14d == course.counted


def test_a_far_agent_gone_while_the_link_stays_up_is_that_and_no_outage(course: Course) -> None:
    course.mark()
    course.post.pump.freeze()
    try:
        course.post.until_heard("raised", "no-answer", after=course.heard, timeout_s=60)
    finally:
        course.post.pump.thaw()
    course.post.until_heard("cleared", "no-answer", after=course.heard, timeout_s=60)
    assert course.told() == [("raised", "no-answer"), ("cleared", "no-answer")]
    assert course.events(EventKind.LINK_DOWN, EventKind.FLAP_BETWEEN_POLLS) == []
    assert course.verdict().downs_14d == course.counted
