"""Put a backup in the place of the record; what was there before is kept beside it."""

from __future__ import annotations

import contextlib
import fcntl
import os
import sqlite3
import stat
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from strandkeeper.errors import StoreError
from strandkeeper.store.backup import Progress, copy_pages, sync
from strandkeeper.store.checking import check_whole
from strandkeeper.store.info import RecordInfo

__all__ = ["Restored", "restore_record"]

# Source: SQLite database file format, 1.3 "The Lock-Byte Page", and os.h: every open connection to
# a file in WAL mode holds a read lock in this range until it is closed.
SHARED_FIRST: Final = 0x40000000 + 2
SHARED_SIZE: Final = 510


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """`info` None: of an older format, upgraded at the next start. `kept`: what was there."""

    info: RecordInfo | None
    kept: Path | None


def restore_record(record: Path, backup: Path, progress: Progress | None = None) -> Restored:
    """Check `backup`, then put a copy of it in the place of `record`.

    Raises StoreError if anyone has the record open or nothing can be written, StoreDamagedError or
    StoreTooNewError for the backup; the record is then as it was.
    """
    _check_given(record, backup)
    half = record.with_name(f".{record.name}.restored")
    try:
        with _nobody_else(record):
            _copy(backup, half, progress)
            info = check_whole(half, called=backup)
            _own_alike(record, half)
            kept = _put_in_place(half, record)
    except OSError as error:
        raise StoreError(
            f"the record {record} cannot be put in place: {error.strerror}",
            hint=f"Run this as the user of the daemon or as root; look for room (df -h "
            f"{record.parent}).",
        ) from error
    finally:
        half.unlink(missing_ok=True)
    return Restored(info=info, kept=kept)


def _check_given(record: Path, backup: Path) -> None:
    if not backup.is_file():
        raise StoreError(
            f"there is no backup {backup}", hint="Name a file that `strandkeeper backup` has made."
        )
    if record.exists() and backup.samefile(record):
        raise StoreError(
            f"{backup} is the record itself", hint="Name a backup of it, not the record."
        )
    if not record.parent.is_dir():
        raise StoreError(
            f"there is no directory {record.parent} for the record",
            hint=f"Make it first, owned by the user of the daemon: mkdir -p {record.parent}",
        )


@contextlib.contextmanager
def _nobody_else(record: Path) -> Iterator[None]:
    """Hold off everyone. A process that has the old file open would go on writing into nowhere."""
    if not record.exists():
        yield
        return
    with record.open("r+b") as handle:  # while open here, no SQLite connection of ours to it
        try:
            fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, SHARED_SIZE, SHARED_FIRST)
        except (BlockingIOError, PermissionError) as error:
            raise StoreError(
                f"the record {record} is in use: the daemon or the dashboard is running",
                hint="Stop both first: systemctl stop strandkeeper strandkeeper-dashboard "
                "(or end `strandkeeper run`), restore, start them again.",
            ) from error
        yield


def _copy(backup: Path, half: Path, progress: Progress | None) -> None:
    try:
        source = sqlite3.connect(f"{backup.absolute().as_uri()}?mode=ro", uri=True)
        source.isolation_level = None
        try:
            copy_pages(source, half, progress)
        finally:
            source.close()
    except sqlite3.OperationalError as error:
        raise StoreError(
            f"the backup {backup} cannot be copied: {error}",
            hint=f"Look for room on the disk (df -h {half.parent}) and for the right to read it.",
        ) from error
    except sqlite3.DatabaseError:
        check_whole(backup)  # says what is wrong with it
        raise


def _own_alike(record: Path, half: Path) -> None:
    """Give the new file the owner and mode of the old, or those its directory asks for."""
    folder = record.parent.stat()
    old = record.stat() if record.exists() else None
    shared = 0o660 if folder.st_mode & stat.S_IWGRP else 0o600
    half.chmod(stat.S_IMODE(old.st_mode) if old else shared)
    if os.geteuid() == 0:
        owner = old or folder
        os.chown(half, owner.st_uid, owner.st_gid)


def _put_in_place(half: Path, record: Path) -> Path | None:
    """At every instant there is a whole record under the old name or under the kept one."""
    kept = _free_name(record) if record.exists() else None
    log = record.with_name(f"{record.name}-wal")
    if kept is not None:
        os.link(record, kept)
        if log.exists():
            os.replace(log, kept.with_name(f"{kept.name}-wal"))
    log.unlink(missing_ok=True)
    record.with_name(f"{record.name}-shm").unlink(missing_ok=True)
    os.replace(half, record)
    sync(record.parent)
    return kept


def _free_name(record: Path) -> Path:
    stamp = time.strftime("%Y%m%dT%H%M%SZ", time.gmtime())
    name = f"{record.name}.before-restore-{stamp}"
    taken = [record.with_name(f"{name}{n}") for n in ("", *(f"-{i}" for i in range(2, 100)))]
    return next(path for path in taken if not path.exists())
