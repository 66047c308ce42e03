"""Keeps one child process alive: the dashboard beside the daemon."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Sequence

from strandkeeper.app.bound_child import bound

__all__ = ["KeptChild", "restart_delay_s"]

log = logging.getLogger(__name__)

_STEADY_S = 60.0
_LONGEST_S = 60.0
_END_S = 5.0


def restart_delay_s(failures: int) -> float:
    """How long to wait before the next start: 1, 2, 4 ... s, at most a minute."""
    return min(_LONGEST_S, 2.0 ** max(0, failures - 1))


class KeptChild:
    """Starts `command`, and again whenever it ends, until `stop`; it dies with this process."""

    def __init__(self, name: str, command: Sequence[str]) -> None:
        self._name = name
        self._command = tuple(bound(command))
        self._task: asyncio.Task[None] | None = None
        self._process: asyncio.subprocess.Process | None = None

    def start(self) -> None:
        """Start it and keep it; needs a running loop."""
        self._task = asyncio.create_task(self._keep(), name=f"keep {self._name}")

    async def stop(self) -> None:
        """End it: asked first, killed after five seconds."""
        if self._task is not None:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)
        process = self._process
        if process is None or process.returncode is not None:
            return
        with contextlib.suppress(ProcessLookupError):
            process.terminate()
            try:
                await asyncio.wait_for(process.wait(), _END_S)
            except TimeoutError:
                process.kill()
                await process.wait()

    async def _keep(self) -> None:
        loop = asyncio.get_running_loop()
        failures = 0
        while True:
            began = loop.time()
            self._process = await asyncio.create_subprocess_exec(*self._command)
            code = await self._process.wait()
            failures = 1 if loop.time() - began > _STEADY_S else failures + 1
            delay_s = restart_delay_s(failures)
            log.warning("child ended child=%s code=%s next_start_s=%.0f", self._name, code, delay_s)
            await asyncio.sleep(delay_s)
