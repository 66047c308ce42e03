"""The real daemon as a process on the station's computer, and what its record and commands say."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from real_agents.configuration import LINK, METRICS_PORT
from real_agents.station import inside
from real_agents.waiting import until
from strandkeeper.errors import StoreError
from strandkeeper.model.names import LinkName
from strandkeeper.model.verdict import Event, EventKind, LinkVerdict
from strandkeeper.store import RecordReader, open_reader

__all__ = ["Watch", "command"]

T = TypeVar("T")

_FETCH = (
    "import sys, urllib.request\n"
    "sys.stdout.write(urllib.request.urlopen(sys.argv[1], timeout=5).read().decode())\n"
)


def command(
    namespace: str, *arguments: str, timeout_s: float = 60
) -> subprocess.CompletedProcess[str]:
    """Run one `strandkeeper` command on the station's computer."""
    return subprocess.run(
        inside(namespace, sys.executable, "-m", "strandkeeper", *arguments),
        capture_output=True,
        text=True,
        timeout=timeout_s,
        check=False,
    )


class Watch:
    """`strandkeeper run CONFIG --no-dashboard`; a context manager that ends the process."""

    def __init__(self, *, namespace: str, configuration: Path, record: Path) -> None:
        self.configuration = configuration
        self.record = record
        self._namespace = namespace
        self._log = configuration.with_suffix(".log")
        self._last_error = ""
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.stop()

    def start(self) -> None:
        """Start the daemon; it is not waited for."""
        run = [sys.executable, "-m", "strandkeeper", "run", str(self.configuration)]
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                inside(self._namespace, *run, "--no-dashboard"),
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                env={**os.environ, "PYTHONUNBUFFERED": "1"},
            )

    def stop(self) -> int | None:
        """End the daemon as a service manager does, and return its exit code."""
        return self._end(signal.SIGTERM)

    def kill(self) -> None:
        """kill -9: no chance to write anything."""
        self._end(signal.SIGKILL)

    def _end(self, number: signal.Signals) -> int | None:
        process, self._process = self._process, None
        if process is None:
            return None
        process.send_signal(number)
        try:
            return process.wait(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(timeout=10)
            raise

    @property
    def runs(self) -> bool:
        """Whether the process is there."""
        return self._process is not None and self._process.poll() is None

    def log(self) -> str:
        """The end of what the daemon said."""
        text = self._log.read_text(encoding="utf-8", errors="replace") if self._log.exists() else ""
        return f"the daemon said:\n{text[-6000:]}"

    def status(self, *arguments: str) -> dict[str, Any]:
        """What `strandkeeper status CONFIG --json` prints."""
        done = command(self._namespace, "status", str(self.configuration), "--json", *arguments)
        if done.returncode:
            raise AssertionError(f"status ended with {done.returncode}: {done.stderr}")
        answer = json.loads(done.stdout)
        assert isinstance(answer, dict)
        return answer

    def status_text(self) -> str:
        """What `strandkeeper status CONFIG` prints for a person."""
        done = command(self._namespace, "status", str(self.configuration))
        if done.returncode:
            raise AssertionError(f"status ended with {done.returncode}: {done.stderr}")
        return done.stdout

    def metrics(self) -> str:
        """The text of the daemon's /metrics."""
        url = f"http://127.0.0.1:{METRICS_PORT}/metrics"
        done = subprocess.run(
            inside(self._namespace, sys.executable, "-I", "-S", "-c", _FETCH, url),
            capture_output=True,
            text=True,
            timeout=20,
            check=True,
        )
        return done.stdout

    @contextmanager
    def reader(self) -> Iterator[RecordReader]:
        """The record, opened to read. Raises StoreError before the daemon has made it."""
        with closing(open_reader(self.record)) as reader:
            yield reader

    def verdict(self, link: str = LINK) -> LinkVerdict | None:
        """The newest verdict of a link in the record, None before the first."""
        try:
            with self.reader() as reader:
                self._last_error = ""
                return reader.verdict(LinkName(link))
        except StoreError as not_yet:
            self._last_error = str(not_yet)
            return None

    def events(self, *, since_ms: int = 0, link: str = LINK) -> list[Event]:
        """What happened on a link, oldest first."""
        try:
            with self.reader() as reader:
                return reader.events(LinkName(link), from_ms=since_ms)[::-1]
        except StoreError as not_yet:
            self._last_error = str(not_yet)
            return []

    def kinds(self, *, since_ms: int) -> set[EventKind]:
        """The kinds of what happened since."""
        return {e.kind for e in self.events(since_ms=since_ms)}

    def until(self, what: str, probe: Callable[[], T | None], *, timeout_s: float = 30) -> T:
        """Wait for anything that the record can show; a daemon that has ended ends the wait."""

        def living_probe() -> T | None:
            if not self.runs:
                raise AssertionError(f"the daemon ended before: {what}\n{self.explain()}")
            return probe()

        return until(what, living_probe, timeout_s=timeout_s, explain=self.explain)

    def until_verdict(
        self,
        what: str,
        holds: Callable[[LinkVerdict], bool],
        *,
        link: str = LINK,
        timeout_s: float = 30,
    ) -> LinkVerdict:
        """Wait for a verdict of which `holds` is true, and return it."""

        def probe() -> LinkVerdict | None:
            verdict = self.verdict(link)
            return verdict if verdict is not None and holds(verdict) else None

        return self.until(what, probe, timeout_s=timeout_s)

    def until_event(
        self, kind: EventKind, *, since_ms: int, link: str = LINK, timeout_s: float = 30
    ) -> Event:
        """Wait for something to have happened since, and return the first of its kind."""

        def probe() -> Event | None:
            events = self.events(since_ms=since_ms, link=link)
            return next((e for e in events if e.kind is kind), None)

        return self.until(f"event {kind}", probe, timeout_s=timeout_s)

    def explain(self) -> str:
        """What a person needs to see why something did not come."""
        events = "\n".join(map(str, self.events()[-20:]))
        return f"{self._last_error}\nverdict: {self.verdict()}\nevents:\n{events}\n{self.log()}"
