"""The daemon: everything is put together here, started in a list and stopped in reverse."""

from __future__ import annotations

import asyncio
import logging
import signal
import sys
import time
from collections import deque
from collections.abc import Callable
from contextlib import AsyncExitStack, closing
from functools import partial
from pathlib import Path

from strandkeeper import __version__
from strandkeeper.app.alerting import Alerting, start_alerting
from strandkeeper.app.child import KeptChild
from strandkeeper.app.disk import Disk
from strandkeeper.app.live_clock import LiveClock
from strandkeeper.app.notify_systemd import ServiceManager, is_alive
from strandkeeper.app.proof import ProofDesk
from strandkeeper.app.scheduler import Clockwork
from strandkeeper.app.secrets import resolve
from strandkeeper.app.trapping import start_traps
from strandkeeper.errors import ExitCode, StoreError
from strandkeeper.jobs.entries import Asked, decide
from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.handle_trap import TrapDesk
from strandkeeper.jobs.poll_slots import Due, PollTable
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.jobs.prove import KINDS
from strandkeeper.jobs.record import Recorder
from strandkeeper.jobs.states import Remembered, stored_states
from strandkeeper.jobs.walk_turns import WalkTurns
from strandkeeper.metrics.families import DaemonCounts, Snapshot
from strandkeeper.metrics.server import MetricsServer
from strandkeeper.model.entry import StoredEntry
from strandkeeper.model.health import SwitchHealth
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd
from strandkeeper.model.settings import Settings
from strandkeeper.model.trap import Trap
from strandkeeper.snmp.credentials import credential
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.store import RecordWriter, open_reader, open_writer
from strandkeeper.store.keeper_lock import hold_record
from strandkeeper.store.record_time import Change
from strandkeeper.store.trouble import told

__all__ = ["run_daemon"]

log = logging.getLogger(__name__)

_TICK_S = 1.0
_EXPIRE_EVERY_S = 3600.0


async def run_daemon(settings: Settings, config: Path, *, with_dashboard: bool) -> int:
    """Poll, judge, keep and serve until SIGINT or SIGTERM. Returns the exit code."""
    stop = asyncio.Event()
    for name in (signal.SIGINT, signal.SIGTERM):
        asyncio.get_running_loop().add_signal_handler(name, stop.set)
    manager = ServiceManager()
    async with AsyncExitStack() as running:
        await _start(settings, config, running, manager, with_dashboard=with_dashboard)
        log.info("started switches=%d links=%d", len(settings.switches), len(settings.links))
        manager.ready()
        await stop.wait()
        log.info("stopping")
        manager.stopping()
    return ExitCode.DONE


async def _start(
    settings: Settings,
    config: Path,
    running: AsyncExitStack,
    manager: ServiceManager,
    *,
    with_dashboard: bool,
) -> None:
    """Start each part and put its end on the stack; the record closes last but for its thread."""
    disk = Disk()
    running.push_async_callback(disk.close)
    lock = await disk.do(partial(hold_record, settings.store.path))
    running.callback(lock.close)
    writer = await disk.do(partial(open_writer, settings.store.path))
    running.push_async_callback(disk.do, writer.close)

    client = SnmpClient((t, credential(t.credentials, resolve)) for t in settings.switches)
    await client.start()
    running.push_async_callback(client.close)

    recorder = Recorder(settings, await disk.do(partial(_states, settings)))
    recorder.remember(await disk.do(partial(_switches, settings)))
    clock = LiveClock(await disk.do(writer.newest_ms))
    alerting = await start_alerting(settings, writer, disk, clock)
    running.push_async_callback(alerting.stop)
    daemon = Daemon(settings, writer, disk, client, recorder, clock, alerting)
    daemon.on_tick = lambda: manager.beat(time.monotonic(), alive=daemon.healthy())
    running.push_async_callback(daemon.finish)
    traps = await start_traps(settings, daemon.heard)
    if traps is not None:
        running.callback(traps.close)
        alerting.traps = traps.totals
    await daemon.begin()
    if settings.metrics is not None:
        metrics = MetricsServer(settings.metrics, daemon.snapshot, daemon.healthy)
        metrics.start()
        running.callback(metrics.stop)
    clockwork = Clockwork()
    clockwork.every(_TICK_S, "tick", daemon.tick)
    clockwork.every(_TICK_S, "keep", daemon.keep)
    clockwork.every(_TICK_S, "tell", daemon.tell)
    clockwork.every(_EXPIRE_EVERY_S, "expire", daemon.expire)
    clockwork.start()
    running.push_async_callback(clockwork.stop)
    if with_dashboard:
        child = KeptChild(
            "dashboard", [sys.executable, "-m", "strandkeeper_dashboard", str(config)]
        )
        child.start()
        running.push_async_callback(child.stop)


def _switches(settings: Settings) -> list[SwitchHealth]:
    """Every switch as the record left it."""
    with closing(open_reader(settings.store.path)) as record:
        return record.switches()


def _states(settings: Settings) -> dict[LinkName, Remembered]:
    """Every link's state as the record left it, brought up to its newest row."""
    record = open_reader(settings.store.path)
    try:
        facts = [link_facts(link, settings) for link in settings.links]
        with told(Path(settings.store.path)):
            return stored_states(record, facts, settings.intervals.optics_s)
    finally:
        record.close()


class Daemon:
    """The tick: start the polls that are due, write what has come, apply what people asked."""

    def __init__(
        self,
        settings: Settings,
        writer: RecordWriter,
        disk: Disk,
        client: SnmpClient,
        recorder: Recorder,
        clock: LiveClock,
        alerting: Alerting,
    ) -> None:
        self._settings = settings
        self._writer = writer
        self._disk = disk
        self._recorder = recorder
        self._clock = clock
        self._alerting = alerting
        alerting.write_rows = self.write
        self._trap_desk = TrapDesk()
        self._proof = ProofDesk(settings, writer, disk, recorder)
        self._ports = _ports(settings)
        turns = WalkTurns()
        self._pollers = {
            name: SwitchPoller(client, name, ports, turns=turns)
            for name, ports in self._ports.items()
        }
        self._table = PollTable(
            tuple(self._ports),
            _pairs(settings),
            status_s=settings.intervals.status_s,
            optics_s=settings.intervals.optics_s,
            now_s=time.monotonic(),
        )
        self._clock_changes: deque[Change] = deque([self._clock.first])
        self._polls: set[asyncio.Task[None]] = set()
        self._counts = DaemonCounts()
        self._ticked_s = time.monotonic()
        self._poll_ended_s = time.monotonic()
        self.on_tick: Callable[[], None] = lambda: None
        self._written_s = 0.0
        self._last_batch_s: float | None = None
        self._troubles: dict[str, str] = {}
        self._lost_rows = 0
        self._hurried: frozenset[SwitchName] = frozenset()

    async def begin(self) -> None:
        """Take up what people had under way when the run before ended."""
        await self._proof.begin()

    async def tick(self) -> None:
        """Once a second: follow the clock, start what is due. Never waits for the disk."""
        change = self._clock.look()
        if change.epoch is not None:
            self._counts.clock_steps += 1
            log.warning("clock: %s shift_ms=%d", change.epoch.reason, change.epoch.shift_ms)
            self._clock_changes.append(change)
        self._set_rates()
        for due in self._table.due(time.monotonic()):
            task = asyncio.create_task(self._poll(due), name=f"poll {due.switch}")
            self._polls.add(task)
            task.add_done_callback(self._polls.discard)
        self._counts.skipped_slots = sum(self._table.skipped.values())
        self._ticked_s = time.monotonic()
        if not self._polls:
            self._poll_ended_s = self._ticked_s
        self.on_tick()

    async def keep(self) -> None:
        """Once a second: what concerns the record; may wait for the disk as long as it takes.

        Rows are written whatever becomes of the rest: what fails is tried again in a second.
        """
        try:
            with told(Path(self._settings.store.path)):
                await self._follow_clock_and_people()
        except StoreError as error:
            self._note("work with the record", error.message, error.hint)
        else:
            self._note("work with the record")
        age_s = time.monotonic() - self._written_s
        if self._recorder.has_news or self._proof.live or age_s >= self._settings.store.batch_s:
            await self.write()

    async def _follow_clock_and_people(self) -> None:
        while self._clock_changes:
            await self._record_clock_change(self._clock_changes[0])
            self._clock_changes.popleft()
        await self._apply_entries()
        refresh = {name: poller.optics_refresh_s for name, poller in self._pollers.items()}
        await self._proof.look(self._clock.now_ms(), refresh)

    def heard(self, trap: Trap) -> None:
        """A switch has said something by itself: take it, ask it for more, tell at once."""
        self._table.hasten(trap.switch, time.monotonic())
        poll = self._recorder.switches.get(trap.switch)
        if poll is None:
            return
        taken = self._trap_desk.row_of(trap, poll.ports, self._clock.now_ms())
        if taken is not None:
            self._recorder.take_row(*taken)
            task = asyncio.create_task(self.tell(), name="tell of a trap")
            self._polls.add(task)
            task.add_done_callback(self._polls.discard)

    async def tell(self) -> None:
        """Once a second: let people hear of what is true now."""
        await self._alerting.look(self._recorder.verdicts(), trouble=bool(self._troubles))

    async def write(self, *, last: bool = False) -> None:
        """Write everything that waits, in one transaction."""
        self._written_s = time.monotonic()
        batch = self._recorder.take_batch(last=last)
        outcome = await self._disk.do(partial(self._writer.append, batch))
        if outcome.written:
            self._counts.rows_written += len(batch.rows)
            self._last_batch_s = self._clock.now_ms() / 1000
        else:
            self._counts.writes_failed += 1
        self._note("record", outcome.trouble, outcome.hint)
        if outcome.lost_rows > self._lost_rows and not self._lost_rows:
            log.error("memory is full of readings: the oldest are given up until it is written")
        if outcome.written and outcome.lost_rows > self._lost_rows:
            log.error("readings were given up lost_rows=%d", outcome.lost_rows - self._lost_rows)
        self._lost_rows = outcome.lost_rows
        if last and not outcome.written:
            log.error("readings are lost with the end of the daemon rows=%d", outcome.held_rows)

    def _note(self, what: str, trouble: str = "", hint: str = "") -> None:
        """Remember what is wrong with the record and say it once; an empty text is its end."""
        before = self._troubles.get(what, "")
        if trouble == before:
            return
        if trouble:
            self._troubles[what] = trouble
            log.error("%s not written: %s. %s", what, trouble, hint)
        else:
            del self._troubles[what]
            log.info("%s written again", what)

    async def expire(self) -> None:
        """Delete what is past its time, a little at a time."""
        retention = self._settings.store.retention
        now_ms, trusted = self._clock.now_ms(), self._clock.trusted
        gone = 1
        while gone:
            gone = await self._disk.do(
                partial(self._writer.expire, now_ms, retention, trusted=trusted)
            )

    async def finish(self) -> None:
        """End the polls under way and write what has come."""
        for task in tuple(self._polls):
            task.cancel()
        await asyncio.gather(*self._polls, return_exceptions=True)
        await self.write(last=True)
        await self._disk.do(self._proof.close)

    def healthy(self) -> bool:
        """Whether the tick runs and polls come to an end; called from the metrics thread, too."""
        return is_alive(time.monotonic(), self._ticked_s, self._poll_ended_s)

    def snapshot(self) -> Snapshot:
        """What a scrape reads; called from the metrics thread."""
        verdicts = self._recorder.verdicts()
        return Snapshot(
            version=__version__,
            verdicts=verdicts,
            alerts=self._alerting.snapshot(verdicts),
            switches=dict(self._recorder.switches),
            counts=self._counts,
            last_batch_s=self._last_batch_s,
        )

    async def _poll(self, due: Due) -> None:
        """One poll. The guard: a failure of ours in one switch's poll must not end the others."""
        answered = False
        try:
            poll = await self._pollers[due.switch].poll(self._clock.now_ms(), optics=due.optics)
            answered = poll.answered
            key = (due.switch, answered)
            self._counts.polls[key] = self._counts.polls.get(key, 0) + 1
            self._recorder.take(self._trap_desk.outrank(poll), optics_due=due.optics)
        except Exception:
            log.exception("poll failed switch=%s", due.switch)
        finally:
            self._poll_ended_s = time.monotonic()
            self._table.finished(due.switch, self._poll_ended_s, answered=answered)
        if due.switch in self._proof.rates():  # somebody looks: what it said is shown at once
            await self.write()

    async def _record_clock_change(self, change: Change) -> None:
        if change.date_from_ms is not None:
            await self.write()
            moved = (change.date_from_ms, change.date_by_ms, change.date_until_ms)
            await self._disk.do(partial(self._writer.date_rows, *moved))
            self._recorder.adopt(await self._disk.do(partial(_states, self._settings)))
        if change.epoch is not None:
            await self._disk.do(partial(self._writer.begin_epoch, change.epoch))

    async def _apply_entries(self) -> None:
        for stored in await self._disk.do(self._writer.waiting_entries):
            now_ms = self._clock.now_ms()
            if stored.entry.kind in KINDS:
                await self._apply_proof(stored, now_ms)
                continue
            links = frozenset(link.name for link in self._settings.links)
            decision = decide(stored, links, now_ms)
            refusal = decision.refusal
            if decision.asked is not None:
                refusal = await self._alerting.apply(decision.asked, now_ms)
            if refusal:
                await self._disk.do(partial(self._writer.refuse_entry, stored.id, refusal))
                continue
            if decision.link is not None and decision.mark is not None:
                self._recorder.mark(decision.link, decision.mark)
            await self._disk.do(partial(self._writer.apply_entry, stored.id, now_ms))

    async def _apply_proof(self, stored: StoredEntry, now_ms: int) -> None:
        """What somebody did at the fibre is decided on all that has been read up to now."""
        await self.write()
        quiet = await self._proof.apply(stored, now_ms)
        if quiet is not None:
            asked = Asked(who=quiet.who, link=quiet.link, until_ms=quiet.until_ms, why="rework")
            await self._alerting.apply(asked, now_ms)

    def _set_rates(self) -> None:
        """Ask the switches that somebody looks at more often, and as usual when nobody does."""
        usual, rates = self._settings.intervals, self._proof.rates()
        early_s = time.monotonic() - _TICK_S / 3  # due well before a tick, or every other is missed
        for name in {*rates, *self._hurried}:
            live_s = rates.get(name)
            self._table.set_intervals(
                name,
                early_s,
                status_s=usual.status_s if live_s is None else min(live_s, usual.status_s),
                optics_s=usual.optics_s if live_s is None else min(live_s, usual.optics_s),
            )
        self._hurried = frozenset(rates)


def _ports(settings: Settings) -> dict[SwitchName, dict[LinkEnd, PortName]]:
    """The ports to be read, by switch; a switch without a link is still asked how it is."""
    ports: dict[SwitchName, dict[LinkEnd, PortName]] = {s.name: {} for s in settings.switches}
    for link in settings.links:
        for which in End:
            end = link.end(which)
            if end.switch is not None and end.port is not None:
                ports[end.switch][LinkEnd(link.name, which)] = end.port
    return ports


def _pairs(settings: Settings) -> list[tuple[SwitchName, SwitchName]]:
    return [
        (link.a.switch, link.b.switch)
        for link in settings.links
        if link.a.switch is not None and link.b.switch is not None
    ]
