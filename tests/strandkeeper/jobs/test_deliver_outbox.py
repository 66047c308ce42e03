"""Delivery in order, at least once, with one digest when the way out is back."""

from __future__ import annotations

import asyncio
import importlib.util
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.bench import alerts_ways

from strandkeeper.alerts.bundle import after_failure, bundle
from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.jobs.deliver_outbox import Deliverer
from strandkeeper.model.finding import Severity
from strandkeeper.model.message import (
    CommandWay,
    Message,
    MessageKind,
    Outgoing,
    OutgoingState,
    Target,
)

TARGET = Target(name="phone", way=CommandWay(command=("/bin/true",)))
BENCH = Path(__file__).parents[2] / "bench"


@dataclass(frozen=True)
class Said:
    ok: bool
    why: str = "down"


def message(n: int, time_ms: int = 0) -> Message:
    return Message(
        key=f"k{n}",
        kind=MessageKind.RAISED,
        time_ms=time_ms,
        severity=Severity.WARNING,
        title=f"message {n}",
        text=f"message {n}\nmore",
    )


def outgoing(n: int, *, time_ms: int = 0, not_before_ms: int = 0, **more: int) -> Outgoing:
    return Outgoing(
        order=n,
        target="phone",
        message=message(n, time_ms),
        not_before_ms=not_before_ms,
        **more,
    )


class Way:
    """A way out that is up or down as told, and a clock moved by hand."""

    def __init__(self, up: Callable[[int], bool]) -> None:
        self.now_ms = 1_000
        self.sent: list[Message] = []
        self.saved: dict[int, Outgoing] = {}
        self._up = up
        self.deliverer = Deliverer([TARGET], self.send, self.save, self.setting, 3_600)

    def setting(self) -> Setting:
        return Setting(now_ms=self.now_ms)

    async def send(self, target: Target, message: Message) -> Said:
        ok = self._up(self.now_ms)
        if ok:
            self.sent.append(message)
        return Said(ok)

    async def save(self, fates: Sequence[Outgoing]) -> None:
        self.saved.update({f.order: f for f in fates})

    async def run(self, until_ms: int, step_ms: int = 1000) -> None:
        while self.now_ms < until_ms:
            self.deliverer.start_due()
            for _ in range(10):
                await asyncio.sleep(0)
            self.now_ms += step_ms


async def test_messages_go_one_by_one_in_order_while_the_way_is_up() -> None:
    way = Way(lambda _: True)
    way.deliverer.take([outgoing(n) for n in range(5)])
    await way.run(3_000)
    assert [m.key for m in way.sent] == [f"k{n}" for n in range(5)]
    assert {f.state for f in way.saved.values()} == {OutgoingState.DELIVERED}


async def test_after_an_outage_of_the_way_one_digest_comes_and_no_storm() -> None:
    way = Way(lambda now: now > 100_000)
    way.deliverer.take([outgoing(0, time_ms=1_000)])
    await way.run(20_000)
    way.deliverer.take([outgoing(n, time_ms=way.now_ms) for n in range(1, 9)])
    await way.run(400_000)
    (digest,) = way.sent
    assert digest.kind is MessageKind.DIGEST
    assert digest.title == "While the way out was down: 9 messages"
    assert digest.facts["keys"] == [f"k{n}" for n in range(9)]
    assert "message 3" in digest.text
    assert way.deliverer.waiting() == {"phone": 0}


async def test_a_single_message_that_had_to_wait_is_sent_as_itself() -> None:
    way = Way(lambda now: now > 50_000)
    way.deliverer.take([outgoing(0, time_ms=1_000)])
    await way.run(200_000)
    assert [m.key for m in way.sent] == ["k0"]


async def test_a_way_that_never_comes_back_is_given_up_and_said() -> None:
    way = Way(lambda _: False)
    way.deliverer.take([outgoing(0, time_ms=1_000)])
    await way.run(5_400_000, step_ms=10_000)
    fate = way.saved[0]
    assert (fate.state, fate.error) == (OutgoingState.GIVEN_UP, "down")
    assert way.deliverer.counts()["phone"].given_up == 1


async def test_a_message_to_an_unknown_target_comes_back() -> None:
    way = Way(lambda _: True)
    stray = replace(outgoing(0), target="gone")
    assert way.deliverer.take([stray]) == [stray]


def test_what_quiet_hours_hold_back_goes_as_one_in_the_morning() -> None:
    night = [outgoing(n, time_ms=n, not_before_ms=7_000) for n in range(3)]
    assert bundle(night, 6_999) is None
    morning = bundle(night, 7_000)
    assert morning is not None
    assert (len(morning.parts), morning.failed) == (3, False)


def test_what_may_wake_overtakes_only_what_is_held_for_the_morning() -> None:
    waiting = [outgoing(0, not_before_ms=7_000), outgoing(1), outgoing(2)]
    found = bundle(waiting, 1_000)
    assert found is not None
    assert [p.order for p in found.parts] == [1]


@given(
    attempts=st.lists(st.integers(0, 3), min_size=1, max_size=6),
    now=st.integers(0, 10**9),
)
def test_nothing_overtakes_a_message_that_waits_for_its_next_try(
    attempts: list[int], now: int
) -> None:
    waiting = [outgoing(n, attempts=a) for n, a in enumerate(attempts)]
    failed = after_failure(waiting[:1], now, "down")
    assert failed[0].next_ms > now or failed[0].state is OutgoingState.GIVEN_UP
    if failed[0].state is OutgoingState.WAITING:
        assert bundle([*failed, *waiting[1:]], now) is None


@pytest.mark.slow
def test_a_teller_that_is_killed_loses_doubles_and_invents_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spec = importlib.util.spec_from_file_location("alerts_kill", BENCH / "alerts_kill.py")
    assert spec is not None
    assert spec.loader is not None
    bench = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "alerts_kill", bench)
    spec.loader.exec_module(bench)
    tally = bench.kill_often(tmp_path, 8, 3)
    assert tally.entered > 20
    assert (tally.missing, tally.invented, tally.out_of_order, tally.untold) == (0, 0, 0, 0)


@pytest.mark.slow
@pytest.mark.timeout(400)
def test_mail_and_web_hook_in_every_mood_get_everything_in_order_across_kills(
    tmp_path: Path,
) -> None:
    """They refuse, are slow, drop the connection, are gone; meanwhile the teller is killed."""
    for tally in alerts_ways.kill_often(tmp_path, 6, 5):
        assert tally.entered > 5
        assert (tally.missing, tally.invented, tally.out_of_order) == (0, 0, 0), tally
