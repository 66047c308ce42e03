"""Alerts put together: look once a second, write at once, deliver beside it; signs of life."""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

from strandkeeper.alerts.calm import calm_of
from strandkeeper.alerts.wording_digest import heartbeat_message
from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.app.disk import Disk
from strandkeeper.app.live_clock import LiveClock
from strandkeeper.app.secrets import resolve
from strandkeeper.errors import SecretError
from strandkeeper.jobs.deliver_outbox import Deliverer
from strandkeeper.jobs.entries import Asked
from strandkeeper.jobs.tell import Teller
from strandkeeper.jobs.watch_over import (
    ReadingsWatch,
    clock_untrusted,
    record_trouble,
    watch_was_off,
)
from strandkeeper.jobs.week import Week
from strandkeeper.metrics.alert_families import AlertSnapshot
from strandkeeper.model.finding import Finding
from strandkeeper.model.message import Message, Outgoing, OutgoingState, Target
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.notify.child import call_url
from strandkeeper.notify.delivery import Delivery, failed
from strandkeeper.notify.send import send
from strandkeeper.store import RecordWriter
from strandkeeper.store.batch import Outcome
from strandkeeper.store.care import Beat
from strandkeeper.store.telling import Telling, TellingBatch, TellingState

__all__ = ["Alerting", "start_alerting"]

log = logging.getLogger(__name__)

_ALIVE_EVERY_MS = 600_000
_TROUBLE_MS = 60_000


async def start_alerting(
    settings: Settings, writer: RecordWriter, disk: Disk, clock: LiveClock
) -> Alerting:
    """What the run before left, taken up; a message that waited is tried again at once."""
    newest_ms = await disk.do(writer.newest_ms)
    telling, state = await disk.do(writer.telling)
    return Alerting(settings, telling, state, disk, clock, newest_ms)


class Alerting:
    """`look` is called once a second and after a trap; everything else follows from it."""

    def __init__(
        self,
        settings: Settings,
        telling: Telling,
        state: TellingState,
        disk: Disk,
        clock: LiveClock,
        newest_ms: int | None,
    ) -> None:
        self._settings = settings
        self._telling = telling
        self._disk = disk
        self._clock = clock
        self._teller = Teller(settings, state)
        self._readings = ReadingsWatch(settings.telling.no_readings_s, state.lights)
        self._week = Week(settings, state.weekly_done_ms)
        self._deliverer = Deliverer(
            settings.telling.targets,
            self._send,
            self._save,
            self.setting,
            settings.telling.give_up_s,
        )
        self._lock = asyncio.Lock()
        at_once = [replace(item, next_ms=0) for item in state.waiting]
        self._strangers = self._deliverer.take(at_once)
        self._off = watch_was_off(
            max(filter(None, (newest_ms, state.watched_until_ms)), default=None),
            clock.now_ms(),
            settings.telling.watch_off_s,
        )
        self._unwritten = False
        self._trouble_ms: int | None = None
        self._untrusted_ms: int | None = None
        self._alive_ms = 0
        self._beat_s = time.monotonic()
        self._beats: set[asyncio.Task[None]] = set()
        self.beats_failed = 0
        self.traps: Callable[[], Mapping[str, int]] | None = None
        self.write_rows: Callable[[], Awaitable[None]] | None = None

    def setting(self) -> Setting:
        """When and for whom it is said, now."""
        return self._teller.setting(self._clock.now_ms(), time.localtime().tm_gmtoff)

    async def look(self, verdicts: Sequence[LinkVerdict], *, trouble: bool) -> None:
        """Look at what is true now, write what follows from it, start what is due.

        The rows go into the record before the steps that rest on them: after a kill between, an
        alert that ended would be seen anew, for the rows of its end would be nowhere.
        """
        async with self._lock:
            setting = self.setting()
            others = [*self._readings.look(verdicts, setting.now_ms), *self._own(setting, trouble)]
            batch = self._teller.look(setting.now_ms, setting.offset_s, verdicts, others)
            week = self._weekly(verdicts, setting)
            if batch.steps and self.write_rows is not None:
                await self.write_rows()
            await self._enter(batch)
            if week:
                await self._enter(week)
            await self._enter(self._housekeeping(setting.now_ms))
        self._deliverer.start_due()
        self._beat(verdicts, setting)

    async def apply(self, asked: Asked, now_ms: int) -> str:
        """Do what a person asked; a sentence says why not, empty if it was done."""
        async with self._lock:
            outcome = self._asked(asked, now_ms)
            if isinstance(outcome, str):
                return outcome
            await self._enter(outcome)
            return ""

    def snapshot(self, verdicts: Sequence[LinkVerdict]) -> AlertSnapshot:
        """What a scrape reads."""
        now_ms = self._clock.now_ms()
        return AlertSnapshot(
            alerts=self._teller.alerts,
            calm={v.link: calm_of(v, self._settings.thresholds, now_ms) for v in verdicts},
            waiting=self._deliverer.waiting(),
            targets=self._deliverer.counts(),
            heartbeats_failed=self.beats_failed,
            traps=None if self.traps is None else self.traps(),
        )

    async def stop(self) -> None:
        """End what is under way; it is tried again after the next start."""
        for task in tuple(self._beats):
            task.cancel()
        await asyncio.gather(*self._beats, return_exceptions=True)
        await self._deliverer.stop()
        await self._enter(TellingBatch(watched_until_ms=self._clock.now_ms()))

    def _asked(self, asked: Asked, now_ms: int) -> TellingBatch | str:
        teller, until_ms = self._teller, asked.until_ms
        if asked.alert is not None and until_ms is None:
            return teller.acknowledge(asked.alert, asked.who, now_ms)
        if asked.alert is not None and until_ms is not None:
            return teller.mute(asked.alert, asked.who, now_ms, until_ms)
        if asked.link is None or until_ms is None:
            return "say which alert or which link, and until when"
        if until_ms <= now_ms:
            return teller.speak(LinkName(asked.link), now_ms)
        return teller.silence(LinkName(asked.link), asked.who, now_ms, until_ms, asked.why)

    def _own(self, setting: Setting, trouble: bool) -> list[Finding]:
        """What is true of the watch itself."""
        now_ms, found = setting.now_ms, []
        self._trouble_ms = (self._trouble_ms or now_ms) if trouble else None
        self._untrusted_ms = None if self._clock.trusted else (self._untrusted_ms or now_ms)
        if self._trouble_ms is not None and now_ms - self._trouble_ms >= _TROUBLE_MS:
            found.append(record_trouble(self._trouble_ms))
        if self._untrusted_ms is not None:
            found.append(clock_untrusted(self._untrusted_ms))
        if self._off is not None and self._clock.trusted:
            found.append(self._off)
            self._off = None
        return found

    def _weekly(self, verdicts: Sequence[LinkVerdict], setting: Setting) -> TellingBatch | None:
        message = self._week.due(verdicts, setting)
        if message is None:
            return None
        messages = self._teller.to_targets(message, setting, weekly=True)
        return TellingBatch(messages=messages, weekly_done_ms=setting.now_ms)

    def _housekeeping(self, now_ms: int) -> TellingBatch:
        """Messages to targets no longer configured are given up; a sign that the watch runs."""
        gone = [
            replace(
                item,
                state=OutgoingState.GIVEN_UP,
                done_ms=now_ms,
                error="this target is no longer configured",
            )
            for item in self._strangers
        ]
        self._strangers = []
        if now_ms - self._alive_ms < _ALIVE_EVERY_MS:
            return TellingBatch(fates=gone)
        self._alive_ms = now_ms
        return TellingBatch(fates=gone, watched_until_ms=now_ms)

    async def _enter(self, batch: TellingBatch) -> None:
        """Write first, deliver then; if nothing can be written, deliver all the same."""
        if not (batch or self._telling.holds):
            return
        outcome = await self._disk.do(partial(self._telling.write, batch))
        self._note_writing(outcome)
        self._deliverer.take(batch.messages)

    def _note_writing(self, outcome: Outcome) -> None:
        """Log when it stops and when it goes on, not each try between."""
        if not outcome.written and not self._unwritten:
            log.error("alerts not written yet: %s. %s", outcome.trouble, outcome.hint)
        elif outcome.written and self._unwritten:
            log.info("alerts written again lost=%d", self._telling.lost)
        self._unwritten = not outcome.written

    async def _save(self, fates: Sequence[Outgoing]) -> None:
        async with self._lock:
            await self._disk.do(partial(self._telling.write, TellingBatch(fates=fates)))

    async def _send(self, target: Target, message: Message) -> Delivery:
        return await send(target, message, resolve)

    def _beat(self, verdicts: Sequence[LinkVerdict], setting: Setting) -> None:
        """A sign of life when one is due; it is not tried again: the next one comes soon."""
        heartbeat = self._settings.telling.heartbeat
        if heartbeat is None or time.monotonic() < self._beat_s:
            return
        self._beat_s = time.monotonic() + heartbeat.every_s
        message = heartbeat_message(verdicts, setting, heartbeat.every_s)
        task = asyncio.create_task(self._send_beat(message), name="heartbeat")
        self._beats.add(task)
        task.add_done_callback(self._beats.discard)

    async def _send_beat(self, message: Message) -> None:
        result = await self._try_beat(message)
        if not result.ok:
            self.beats_failed += 1
            log.warning("heartbeat not delivered why=%s", result.why)
        beat = Beat(at_ms=self._clock.now_ms(), why=result.why if not result.ok else "")
        async with self._lock:
            await self._enter(TellingBatch(beat=beat))

    async def _try_beat(self, message: Message) -> Delivery:
        heartbeat = self._settings.telling.heartbeat
        if heartbeat is None:
            return failed("there is no heartbeat")
        if heartbeat.url is not None:
            try:
                return await call_url(resolve(heartbeat.url), 60.0)
            except SecretError as error:
                return failed(error.message)
        target = self._settings.telling.target(heartbeat.target or "")
        return failed("its target is gone") if target is None else await self._send(target, message)
