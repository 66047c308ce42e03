"""One short-lived process with a deadline: text in on stdin, exit code and text out."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from asyncio.subprocess import Process
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["MOST_BYTES", "Finished", "run_to_deadline"]

MOST_BYTES = 64 * 1024
_CHUNK = 64 * 1024


class _TooMuchError(Exception):
    """One of its outputs was longer than it may be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """`code` None: it was killed, at the deadline or, with `too_much`, for all that it wrote."""

    code: int | None
    out: str
    err: str
    too_much: bool = False


async def run_to_deadline(
    command: Sequence[str], text: str, deadline_s: float, *, most_bytes: int = MOST_BYTES
) -> Finished:
    """Run a command in a session of its own; at the deadline it is killed with all it started.

    So it is as soon as it has written more than `most_bytes` to stdout or to stderr; no more than
    that is ever held. Raises OSError if it cannot be started. If the caller is cancelled the
    command is killed too.
    """
    process = await asyncio.create_subprocess_exec(
        *command,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
    )
    try:
        async with asyncio.timeout(deadline_s):
            out, err = await _talk(process, text.encode(), most_bytes)
    except TimeoutError:
        await _end(process)
        return Finished(code=None, out="", err="")
    except _TooMuchError:
        await _end(process)
        return Finished(code=None, out="", err="", too_much=True)
    except asyncio.CancelledError:
        await _end(process)
        raise
    return Finished(code=process.returncode, out=_text(out), err=_text(err))


async def _talk(process: Process, text: bytes, most_bytes: int) -> tuple[bytes, bytes]:
    """All three pipes at once, until both outputs are closed and the process has ended."""
    feeding = asyncio.ensure_future(_feed(process, text))
    out = asyncio.ensure_future(_read(process.stdout, most_bytes))
    err = asyncio.ensure_future(_read(process.stderr, most_bytes))
    tasks = (feeding, out, err)
    try:
        await asyncio.gather(*tasks)
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    await process.wait()
    return out.result(), err.result()


async def _feed(process: Process, text: bytes) -> None:
    stdin = process.stdin
    if stdin is None:
        return
    with contextlib.suppress(BrokenPipeError, ConnectionResetError):  # it need not read
        stdin.write(text)
        await stdin.drain()
    stdin.close()


async def _read(stream: asyncio.StreamReader | None, most_bytes: int) -> bytes:
    got = bytearray()
    while stream is not None and (chunk := await stream.read(_CHUNK)):
        got += chunk
        if len(got) > most_bytes:
            raise _TooMuchError
    return bytes(got)


async def _end(process: Process) -> None:
    """Kill the session that we made for it (its number is the process's own) and collect it."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(process.pid, signal.SIGKILL)
    with contextlib.suppress(TimeoutError, OSError):
        await asyncio.wait_for(_drained(process), 5.0)


async def _drained(process: Process) -> None:
    """Read what is left of it, to the end of both pipes; without that the wait would not end."""
    for stream in (process.stdout, process.stderr):
        while stream is not None and await stream.read(_CHUNK):
            pass
    await process.wait()


def _text(data: bytes) -> str:
    return data.decode("utf-8", errors="replace").strip()
