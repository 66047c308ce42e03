"""The record's file system is really full: alerts go out all the same, and are entered later."""

from __future__ import annotations

import asyncio
import ctypes
import json
import os
from collections import Counter
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from strandkeeper.app.alerting import Alerting, start_alerting
from strandkeeper.app.disk import Disk
from strandkeeper.app.live_clock import LiveClock
from strandkeeper.model.alert import AlertEvent
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.link import Link, PortEnd, Thresholds
from strandkeeper.model.message import CommandWay, OutgoingState, Target
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.telling import TellingSettings
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.store import RecordWriter, open_reader, open_writer
from strandkeeper.store.alerts import transitions_of

LINKS = [LinkName(f"link {n:03d}") for n in range(200)]
AT = 1_795_000_000_000


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 8 MiB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.mount(b"tmpfs", str(folder).encode(), b"tmpfs", 0, b"size=8m"):
        pytest.skip("NOT RUN: a small disk of its own needs root (mount)")
    yield folder
    libc.umount2(str(folder).encode(), 2)


def settings(record: Path, heard: Path) -> Settings:
    command = ("/bin/sh", "-c", 'cat >> "$0"; echo >> "$0"', str(heard))
    return Settings(
        station="Station",
        switches=(),
        links=tuple(Link(name=n, a=PortEnd(name="A"), b=PortEnd(name="B")) for n in LINKS),
        store=StoreSettings(path=str(record)),
        thresholds=Thresholds(link_down_tell_s=0),
        telling=TellingSettings(
            targets=(Target(name="buzzer", way=CommandWay(command=command), quiet=False),),
            weekly_day=None,
        ),
    )


def verdict(link: LinkName, *, up: bool) -> LinkVerdict:
    down = Finding(link=link, kind=FindingKind.LINK_DOWN, severity=Severity.URGENT, since_ms=AT)
    return LinkVerdict(
        link=link,
        at_ms=AT,
        a=EndState(end=End.A, answers=True),
        b=EndState(end=End.B, answers=True),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
        up=up,
        findings=() if up else (down,),
    )


@dataclass
class Watch:
    """The alerts of a daemon over a real record, and what its target was given."""

    settings: Settings
    writer: RecordWriter
    disk: Disk
    alerting: Alerting
    heard_file: Path

    async def look(self, down: int) -> None:
        """The first so many links are down."""
        verdicts = [verdict(name, up=n >= down) for n, name in enumerate(LINKS)]
        await self.alerting.look(verdicts, trouble=False)

    async def until_heard(self, count: int) -> list[str]:
        """Its target has so many messages, and the delivery knows it."""
        for _ in range(600):
            if len(self.heard()) >= count and not self.alerting.snapshot([]).waiting["buzzer"]:
                break
            await asyncio.sleep(0.05)
        return self.heard()

    def heard(self) -> list[str]:
        if not self.heard_file.exists():
            return []
        keys: list[str] = []
        for line in self.heard_file.read_text(encoding="utf-8").splitlines():
            message = json.loads(line) if line else {"key": None, "facts": {}}
            keys += message["facts"].get("keys", [message["key"]])
        return [key for key in keys if key]

    @property
    def holds(self) -> bool:
        return self.alerting._telling.holds


async def started(record: Path, heard: Path) -> Watch:
    known = settings(record, heard)
    writer, disk = open_writer(record, reserve=False), Disk()
    alerting = await start_alerting(known, writer, disk, LiveClock(writer.newest_ms()))
    return Watch(known, writer, disk, alerting, heard)


async def ended(watch: Watch) -> None:
    await watch.alerting.stop()
    await watch.disk.close()
    watch.writer.close()


@pytest.fixture
async def watch(small_disk: Path, tmp_path: Path) -> AsyncIterator[Watch]:
    built = await started(small_disk / "record.db", tmp_path / "heard.jsonl")
    yield built
    await ended(built)


def fill(folder: Path) -> Path:
    """Not a byte is left."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        try:
            while file.write(b"x" * 4096):
                pass
        except OSError as error:
            assert os.strerror(error.errno or 0) == "No space left on device"  # noqa: PT017
    return ballast


def entered(record: Path) -> tuple[dict[str, OutgoingState], Counter[AlertEvent]]:
    reader = open_reader(record)
    messages = reader.messages(1000)
    steps = Counter(
        step.event
        for alert in reader.alerts(1000)
        for step in reader.ask(partial(transitions_of, number=alert.number))
    )
    reader.close()
    assert len({m.message.key for m in messages}) == len(messages)
    return {m.message.key: m.state for m in messages}, steps


async def full(watch: Watch, folder: Path) -> tuple[Path, int]:
    """Fill the disk, then let links fail until a step cannot be entered; how many are down."""
    ballast, down = fill(folder), 1
    while not watch.holds:
        down += 1
        assert down < 100, "something goes on being written to a full disk"
        await watch.look(down)
    return ballast, down


async def test_alerts_go_out_of_memory_and_are_entered_when_there_is_room(
    watch: Watch, small_disk: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO", "strandkeeper.app.alerting")
    await watch.look(1)
    await watch.until_heard(1)
    ballast, before = await full(watch, small_disk)
    for down in range(before + 1, before + 21):
        await watch.look(down)
        assert watch.holds
    heard = await watch.until_heard(before + 20)
    assert len(heard) == len(set(heard)) == before + 20
    record = small_disk / "record.db"
    assert len(entered(record)[0]) < before
    ballast.unlink()
    await watch.look(before + 20)
    assert not watch.holds
    assert [r.levelname for r in caplog.records] == ["ERROR", "INFO"]  # once, and when it is over
    messages, steps = entered(record)
    assert set(messages) == set(heard)
    assert set(messages.values()) == {OutgoingState.DELIVERED}
    assert steps == {AlertEvent.SEEN: before + 20, AlertEvent.HELD: before + 20}


async def test_what_was_told_while_it_was_full_comes_under_the_same_key_after_a_crash(
    small_disk: Path, tmp_path: Path
) -> None:
    """Nothing of it was entered, so it is told again: a person can see that it is the same."""
    record, heard_file = small_disk / "record.db", tmp_path / "heard.jsonl"
    first = await started(record, heard_file)
    await first.look(1)
    ballast, down = await full(first, small_disk)
    before = await first.until_heard(down)
    await first.disk.close()  # a crash: what was in memory alone is gone
    first.writer.close()
    ballast.unlink()
    again = await started(record, heard_file)
    await again.look(down)
    total = await again.until_heard(down + 1)
    await ended(again)
    assert set(total) == set(before)
    assert Counter(total).most_common(1)[0][1] <= 2  # at least once, and here twice at most
    assert set(entered(record)[0]) == set(before)
