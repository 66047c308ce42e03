"""What becomes of a sign of life is kept in the record, so that a page can tell."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from strandkeeper.app.alerting import start_alerting
from strandkeeper.app.disk import Disk
from strandkeeper.app.live_clock import LiveClock
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.switch import SecretKind, SecretRef
from strandkeeper.model.telling import Heartbeat, TellingSettings
from strandkeeper.store import open_reader, open_writer
from strandkeeper.store.care import Care, read_care


class Listener(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        self.send_response(200 if self.server.takes else 503)  # type: ignore[attr-defined]
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Nothing on stderr."""


@contextmanager
def listener() -> Iterator[Any]:
    server: Any = ThreadingHTTPServer(("127.0.0.1", 0), Listener)
    server.takes = True
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def settings(folder: Path, address: str) -> Settings:
    secret = folder / "heartbeat.url"
    secret.write_text(address)
    secret.chmod(0o600)
    beat = Heartbeat(every_s=3600, url=SecretRef(kind=SecretKind.FILE, where=str(secret)))
    return Settings(
        station="Shore",
        switches=(),
        links=(),
        store=StoreSettings(path=str(folder / "record.db")),
        telling=TellingSettings(heartbeat=beat),
    )


async def after_a_look(chosen: Settings, known: Callable[[Care], bool]) -> Care:
    """The record's word once one alerting looked, as a daemon's start makes it."""
    disk, path = Disk(), chosen.store.path
    writer = await disk.do(partial(open_writer, path, reserve=False))
    alerting = await start_alerting(chosen, writer, disk, LiveClock(None))
    try:
        await alerting.look([], trouble=False)
        ends = time.monotonic() + 60
        while time.monotonic() < ends:
            with closing(open_reader(path)) as reader:
                care = reader.ask(read_care)
            if known(care):
                return care
            await asyncio.sleep(0.05)
        raise AssertionError("the record heard nothing of it")
    finally:
        await alerting.stop()
        await disk.do(writer.close)
        await disk.close()


async def test_a_sign_of_life_that_arrived_and_one_that_did_not_are_both_kept(
    tmp_path: Path,
) -> None:
    with listener() as server:
        chosen = settings(tmp_path, f"http://127.0.0.1:{server.server_port}/tide-secret-7")
        before_ms = time.time_ns() // 1_000_000
        arrived = await after_a_look(chosen, lambda care: care.beat is not None)
        assert arrived.refused is None
        assert arrived.beat is not None
        assert before_ms - 1000 <= arrived.beat.at_ms <= before_ms + 120_000
        server.takes = False
        both = await after_a_look(chosen, lambda care: care.refused is not None)
    assert both.beat == arrived.beat
    assert both.refused is not None
    assert both.refused.at_ms >= arrived.beat.at_ms
    assert "503" in both.refused.why
    assert "tide-secret-7" not in both.refused.why
