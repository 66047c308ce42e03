"""One daemon a record: a lock on a file beside it, which the kernel releases with its holder.

Readers, imports, entries and backups do not take it: SQLite's own locks keep those apart. Two
daemons would both judge, tell and count the same links, each from half of the rows.

Source: flock(2): a lock lives as long as the open file, so that also SIGKILL releases it.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import stat
from pathlib import Path

from strandkeeper.errors import StoreError
from strandkeeper.store.database import cannot_write, check_place

__all__ = ["KeeperLock", "hold_record"]


class KeeperLock:
    """Held until `close`, or until the process ends however it may."""

    def __init__(self, handle: int) -> None:
        self._handle = handle

    def close(self) -> None:
        """Let the next daemon have the record. The file stays: removing it would race with it."""
        os.close(self._handle)


def hold_record(record: str | Path) -> KeeperLock:
    """Take `<record>.lock`. Raises StoreError if another daemon has it, or it cannot be made."""
    path = Path(record).resolve()  # two names of one file must meet at one lock
    check_place(path)
    place = path.with_name(f"{path.name}.lock")
    try:
        handle = _open(place)
    except OSError as error:
        raise cannot_write(path, f"{place} cannot be opened: {error.strerror}") from error
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        holder = os.pread(handle, 32, 0).decode(errors="replace").strip()
        os.close(handle)
        if error.errno in (errno.EWOULDBLOCK, errno.EACCES):
            raise _taken(path, holder) from error
        raise cannot_write(path, f"{place} cannot be locked: {error.strerror}") from error
    with contextlib.suppress(OSError):  # a full disk: the lock holds, only its name is missing
        os.ftruncate(handle, 0)
        os.pwrite(handle, f"{os.getpid()}\n".encode(), 0)
    return KeeperLock(handle)


def _open(place: Path) -> int:
    """The lock file, as open to the group as its directory; never followed elsewhere."""
    mode = 0o660 if place.parent.stat().st_mode & stat.S_IWGRP else 0o600
    handle = os.open(place, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, mode)
    if os.fstat(handle).st_uid == os.geteuid():
        os.fchmod(handle, mode)  # whatever the umask
    return handle


def _taken(record: Path, holder: str) -> StoreError:
    known = holder.isascii() and holder.isdigit()
    who = f"pid {holder}" if known else "pid not known"
    look = f"ps -p {holder}" if known else "ps -C strandkeeper"
    return StoreError(
        f"the record {record} is kept by another daemon already ({who})",
        hint=f"Look at it with `systemctl status strandkeeper` or `{look}`. Stop that one first, "
        "or set another [store] path in this configuration.",
    )
