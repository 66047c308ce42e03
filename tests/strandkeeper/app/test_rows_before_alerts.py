"""What an alert rests on is on record before the alert: whenever a kill comes, the next start does
not see an alert anew whose end is in no row."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest
from tests.bench.crowd import Ways, config_text, write_config

from strandkeeper.app.alerting import start_alerting
from strandkeeper.app.daemon import Daemon
from strandkeeper.app.disk import Disk
from strandkeeper.app.live_clock import LiveClock
from strandkeeper.app.secrets import resolve
from strandkeeper.config.load import load
from strandkeeper.jobs.record import Recorder
from strandkeeper.model.alert import AlertState
from strandkeeper.model.finding import FindingKind
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.poll import LinkEnd
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.snmp.credentials import credential
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.store import open_reader, open_writer

LINK = LinkName("l0-1")
DOWN = FindingKind.LINK_DOWN


@dataclass
class Watch:
    """A daemon over a real record that writes every five minutes; the test brings the rows."""

    path: str
    daemon: Daemon
    recorder: Recorder
    clock: LiveClock

    async def sees(self, oper: OperStatus) -> int:
        """Both ends say so, and people are told what follows from it; the rows' time in ms."""
        now_ms = self.clock.now_ms()
        for end in End:
            self.recorder.take_row(LinkEnd(LINK, end), EndRow(time_ms=now_ms, end=end, oper=oper))
        await self.daemon.tell()
        return now_ms

    def on_record(self) -> tuple[AlertState | None, int]:
        """What became of the alert that the link is down, and the newest row's time in ms."""
        with closing(open_reader(self.path)) as reader:
            states = [a.state for a in reader.alerts() if a.finding.kind is DOWN]
            times = [row.time_ms for row in reader.rows(LINK, 0, 1 << 46)]
        return (states[0] if states else None), max(times, default=0)


@pytest.fixture
async def watch(tmp_path: Path) -> AsyncIterator[Watch]:
    text = config_text(Ways(2), 16614, status_s=1, optics_s=1, batch_s=300)
    settings = load(write_config(tmp_path, text))
    async with AsyncExitStack() as ends:
        disk = Disk()
        ends.push_async_callback(disk.close)
        writer = await disk.do(partial(open_writer, settings.store.path, reserve=False))
        ends.push_async_callback(disk.do, writer.close)
        client = SnmpClient((t, credential(t.credentials, resolve)) for t in settings.switches)
        await client.start()
        ends.push_async_callback(client.close)
        recorder, clock = Recorder(settings, {}), LiveClock(None)
        alerting = await start_alerting(settings, writer, disk, clock)
        ends.push_async_callback(alerting.stop)
        daemon = Daemon(settings, writer, disk, client, recorder, clock, alerting)
        yield Watch(settings.store.path, daemon, recorder, clock)


async def test_the_rows_are_written_before_the_alert_begins_and_before_it_ends(
    watch: Watch,
) -> None:
    await watch.sees(OperStatus.UP)
    assert watch.on_record() == (None, 0)
    down_ms = await watch.sees(OperStatus.DOWN)
    state, newest_ms = watch.on_record()
    assert state is AlertState.PENDING
    assert newest_ms >= down_ms
    up_ms = await watch.sees(OperStatus.UP)
    state, newest_ms = watch.on_record()
    assert state is None  # it ended without a word
    assert newest_ms >= up_ms
