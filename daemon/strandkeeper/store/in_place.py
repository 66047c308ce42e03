"""Is the open record still the file of that name, and its log the log? If not, mend it.

A file that was deleted or moved while it is open can be written for ever without anybody ever
seeing it again. The open connection still has all of it: what was deleted is put back from there.
What somebody has put in the record's place is never touched.

Source of the danger: SQLite, "How To Corrupt An SQLite Database File", 2.4 (unlinking or renaming
a database file while in use).
"""

from __future__ import annotations

import os
import sqlite3
import stat
from enum import Enum
from pathlib import Path

from strandkeeper.errors import StoreError
from strandkeeper.store.backup import copy_pages, sync

__all__ = ["Found", "Place", "another_file", "bring_in_log", "identity", "put_back"]

Identity = tuple[int, int]


class Found(Enum):
    """What lies in the record's place."""

    THE_SAME = "the same"
    GONE = "gone"
    ANOTHER = "another"
    LOG_GONE = "log gone"
    AILING = "the same, but its connection must be made anew"


def identity(path: Path) -> Identity | None:
    """Device and inode; None if nothing has that name. Raises OSError if it cannot be told."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino


class Place:
    """Remembers which file is open under the record's name, and which is its log."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._log = path.with_name(f"{path.name}-wal")
        self._file = identity(path)
        self._log_file = identity(self._log)

    def look(self) -> Found:
        """What lies there now. Raises OSError."""
        there = identity(self._path)
        if there is None:
            return Found.GONE
        if there != self._file:
            return Found.ANOTHER
        log = identity(self._log)
        if self._log_file is None:
            self._log_file = log
        return Found.THE_SAME if log == self._log_file else Found.LOG_GONE


def put_back(connection: sqlite3.Connection, path: Path) -> None:
    """Put what `connection` still has under its old name again, and close the connection.

    Raises OSError or sqlite3.Error, the connection then being open still; StoreError if something
    has come to lie there at the last moment: the copy is kept, and named.
    """
    half = path.with_name(f".{path.name}.put-back")
    try:
        copy_pages(connection, half)
        half.chmod(0o660 if path.parent.stat().st_mode & stat.S_IWGRP else 0o600)
    except BaseException:
        half.unlink(missing_ok=True)
        raise
    connection.close()  # before the new file: the last to close the old removes its log by name
    for tail in ("-wal", "-shm"):
        path.with_name(path.name + tail).unlink(missing_ok=True)
    try:
        os.link(half, path)
    except OSError as error:
        raise StoreError(
            f"the record {path} was deleted and cannot be put back: {error.strerror}",
            hint=f"All of it is in {half}: stop the daemon, then `strandkeeper restore CONFIG "
            f"{half}`.",
        ) from error
    half.unlink()
    sync(path.parent)


def bring_in_log(connection: sqlite3.Connection, path: Path) -> None:
    """Write into the record what stands only in its log, which has lost its name; then close.

    The log goes when somebody deletes it, or closes a file that once had this name. Raises
    sqlite3.Error, or StoreError while somebody reads what the log holds.
    """
    busy, _frames, _done = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    if busy:
        raise StoreError(
            f"the log of the record {path} was deleted, and what it held is being read",
            hint="This is tried again with every batch. Readings wait in memory meanwhile.",
        )
    connection.close()


def another_file(path: Path) -> StoreError:
    """The error for a file that somebody has put in the place of the open record."""
    return StoreError(
        f"another file has come to lie in the place of the record {path} while it was open",
        hint="Readings wait in memory meanwhile. Move the old record back, or stop the daemon: "
        "it takes the file that lies there when it starts. A backup is brought back with "
        "`strandkeeper restore`, the daemon being stopped.",
    )
