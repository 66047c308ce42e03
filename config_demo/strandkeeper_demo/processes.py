"""The programs that the demo starts: the same commands that a person would type."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from asyncio.subprocess import Process
from pathlib import Path
from typing import IO

from strandkeeper.errors import OperatorError

__all__ = ["Service", "answer", "command", "do"]

PATIENCE_S = 15.0


def command(*arguments: str | Path) -> list[str]:
    """The command line of one `strandkeeper` command, run by this same Python."""
    return [sys.executable, "-m", "strandkeeper", *map(str, arguments)]


async def do(*arguments: str | Path) -> str:
    """Run a command to its end and return what it wrote to stdout.

    Raises OperatorError with everything it said when it fails.
    """
    code, out, talk = await _ran(arguments)
    if code == 0:
        return out
    shown = " ".join(["strandkeeper", *map(str, arguments)])
    said = "".join(f"    {line}\n" for line in (out + talk).splitlines())
    raise OperatorError(
        f"this step of the demo failed (exit code {code}): {shown}\n{said}".rstrip(),
        hint="start the demo again; --fresh begins with an empty record",
    )


async def answer(*arguments: str | Path) -> tuple[int, str]:
    """Run a command to its end and return its exit code and what it wrote to stdout."""
    code, out, _ = await _ran(arguments)
    return code, out


async def _ran(arguments: tuple[str | Path, ...]) -> tuple[int, str, str]:
    child = await asyncio.create_subprocess_exec(
        *command(*arguments),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
    )
    try:
        out, talk = await child.communicate()
    finally:
        await _end(child)
    return child.returncode or 0, out.decode(errors="replace"), talk.decode(errors="replace")


class Service:
    """A command that runs until it is told to end. It stands in a session of its own, so that
    Ctrl-C reaches the demo alone, which then ends its children in order.
    """

    def __init__(self, *arguments: str | Path, log: IO[bytes]) -> None:
        self._command = command(*arguments)
        self._log = log
        self._child: Process | None = None

    async def start(self) -> None:
        """Start it; what it says goes to the log."""
        self._child = await asyncio.create_subprocess_exec(
            *self._command,
            stdin=asyncio.subprocess.DEVNULL,
            stdout=self._log,
            stderr=self._log,
            start_new_session=True,
        )

    async def wait(self) -> int:
        """Wait for its end and return the exit code."""
        if self._child is None:
            raise RuntimeError("it was never started")
        return await self._child.wait()

    @property
    def ended(self) -> int | None:
        """Its exit code if it has ended by itself."""
        return self._child.returncode if self._child else None

    async def stop(self) -> None:
        """End it: ask first, insist after some seconds."""
        if self._child is not None:
            await _end(self._child)


async def _end(child: Process) -> None:
    if child.returncode is None:
        child.terminate()
        try:
            await asyncio.wait_for(child.wait(), PATIENCE_S)
        except TimeoutError:
            child.kill()
            await child.wait()
    # What it may have left behind is in the group that start_new_session made for it.
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGTERM)
