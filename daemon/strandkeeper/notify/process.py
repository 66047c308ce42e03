"""One short-lived process with a deadline: text in on stdin, exit code and text out."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Finished", "run_to_deadline"]

_MOST_BYTES = 64 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """`code` None: it was killed at the deadline."""

    code: int | None
    out: str
    err: str


async def run_to_deadline(command: Sequence[str], text: str, deadline_s: float) -> Finished:
    """Run a command in a session of its own; at the deadline it is killed with all it started.

    Raises OSError if it cannot be started. If the caller is cancelled the command is killed too.
    """
    process = await asyncio.create_subprocess_exec(
        *command,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
        limit=_MOST_BYTES,
    )
    talk = asyncio.ensure_future(process.communicate(text.encode()))
    try:
        out, err = await asyncio.wait_for(asyncio.shield(talk), deadline_s)
    except TimeoutError:
        await _end(process.pid, talk)
        return Finished(code=None, out="", err="")
    except asyncio.CancelledError:
        await _end(process.pid, talk)
        raise
    return Finished(code=process.returncode, out=_text(out), err=_text(err))


async def _end(group: int, talk: asyncio.Future[tuple[bytes, bytes]]) -> None:
    """Kill the session that we made for it (its number is the process's own) and collect it."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(group, signal.SIGKILL)
    with contextlib.suppress(TimeoutError, OSError):
        await asyncio.wait_for(talk, 5.0)


def _text(data: bytes) -> str:
    return data[-_MOST_BYTES:].decode("utf-8", errors="replace").strip()
