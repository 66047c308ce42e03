"""Open the record file: pragmas, permissions, and every way it can be refused, in words."""

from __future__ import annotations

import os
import sqlite3
import stat
from pathlib import Path
from typing import Final

from strandkeeper.errors import StoreDamagedError, StoreError

__all__ = [
    "APPLICATION_ID",
    "BUSY_MS",
    "MOST_POINTS",
    "POINTS",
    "cannot_write",
    "check_place",
    "connect_reader",
    "connect_writer",
    "damaged",
    "refuse_foreign_file",
    "transaction",
]

APPLICATION_ID: Final = 0x536B7231  # "Skr1", own design: tells our file from any other
BUSY_MS: Final = 5000
CHECKED_UP_TO_BYTES: Final = 256 * 1024 * 1024  # beyond it the check takes seconds at every start
CHECKPOINT_PAGES: Final = 1000
POINTS: Final = "temp.series_point"  # the numbers 0, 1, 2 ..., in order, beside each reader
MOST_POINTS: Final = 4096


def damaged(path: Path, why: str) -> StoreDamagedError:
    """The error for a file whose content cannot be trusted, with the ways out."""
    return StoreDamagedError(
        f"the record {path} is damaged: {why}",
        hint=(
            "Bring back the newest backup with `strandkeeper restore CONFIG FILE`, or move the "
            f"file away (mv {path} {path}.damaged): a new record is begun at the next start."
        ),
    )


def check_place(path: Path) -> None:
    """Make the record's directory if only that is missing. Raises StoreError in words."""
    folder = path.parent
    if not folder.exists() and folder.parent.is_dir():
        try:
            folder.mkdir(mode=0o750)
        except OSError as error:
            raise cannot_write(path, f"{folder} cannot be made: {error.strerror}") from error
    if not folder.is_dir():
        raise StoreError(
            f"the record cannot be kept at {path}: there is no directory {folder}",
            hint=f"Make it (mkdir -p {folder}), or set another [store] path in the configuration.",
        )
    if path.is_dir():
        raise StoreError(
            f"the record cannot be kept at {path}: that is a directory",
            hint=f"Set [store] path to a file, for example {path / 'strandkeeper.db'}.",
        )


def cannot_write(path: Path, why: str) -> StoreError:
    """The error for a record that may not be written, with whom to give the right."""
    return StoreError(
        f"the record {path} cannot be written: {why}",
        hint=(
            f"Let the user that runs the daemon (uid {os.geteuid()}) write to {path.parent}, or "
            "set another [store] path in the configuration."
        ),
    )


def _create(path: Path) -> None:
    """Make the empty file with the folder's own openness: a shared folder gives a shared file."""
    shared = bool(path.parent.stat().st_mode & stat.S_IWGRP)
    mode = 0o660 if shared else 0o600
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, mode)
    except OSError as error:
        raise cannot_write(path, str(error.strerror)) from error
    try:
        if os.fstat(handle).st_size == 0 and os.fstat(handle).st_uid == os.geteuid():
            os.fchmod(handle, mode)
    finally:
        os.close(handle)
    if not os.access(path.parent, os.W_OK):
        raise cannot_write(path, f"no right to make files in {path.parent}")


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode=rw",
        uri=True,
        isolation_level=None,
        check_same_thread=False,
        cached_statements=256,
    )
    try:
        connection.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    except BaseException:
        connection.close()
        raise
    return connection


def connect_writer(path: Path) -> sqlite3.Connection:
    """The one writing connection: WAL, every commit synced, foreign keys on.

    Raises StoreError (place, permissions) or StoreDamagedError.
    """
    check_place(path)
    _create(path)
    connection = None
    try:
        connection = _connect(path)
        refuse_foreign_file(connection, path)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute(f"PRAGMA wal_autocheckpoint = {CHECKPOINT_PAGES}")
        connection.execute("PRAGMA journal_size_limit = 16777216")
        _check_content(connection, path)
    except sqlite3.OperationalError as error:
        _close(connection)
        raise cannot_write(path, str(error)) from error
    except sqlite3.DatabaseError as error:
        _close(connection)
        raise damaged(path, str(error)) from error
    except StoreError:
        _close(connection)
        raise
    return connection


def refuse_foreign_file(connection: sqlite3.Connection, path: Path) -> None:
    """Raises StoreError for a database that another program made."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if tables and application != APPLICATION_ID:
        raise StoreError(
            f"{path} is a database of another program, not a record of Strandkeeper",
            hint="Set [store] path in the configuration to a file of its own.",
        )


def _check_content(connection: sqlite3.Connection, path: Path) -> None:
    if path.stat().st_size > CHECKED_UP_TO_BYTES:
        return
    answer = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if answer != "ok":
        raise damaged(path, str(answer))


def _check_there(path: Path) -> None:
    if not path.exists():
        raise StoreError(
            f"there is no record at {path} yet",
            hint="Start the daemon first: `strandkeeper run CONFIG`.",
        )


def connect_reader(path: Path) -> sqlite3.Connection:
    """A connection that cannot change anything. Never makes the file.

    It opens the file for writing all the same, and then forbids itself to (query_only): after the
    writer has closed, a reader under another user must be able to make the WAL index anew.
    """
    connection = None
    try:
        _check_there(path)
        connection = _connect(path)
        _number_points(connection)
        connection.execute("PRAGMA query_only = ON")
        refuse_foreign_file(connection, path)
    except (OSError, sqlite3.OperationalError) as error:
        _close(connection)
        raise StoreError(
            f"the record {path} cannot be read: {getattr(error, 'strerror', error)}",
            hint=(
                f"The reader (uid {os.geteuid()}) needs the group of {path.parent}, and that "
                "directory the mode 2770 (chmod 2770), the file 660."
            ),
        ) from error
    except sqlite3.DatabaseError as error:
        _close(connection)
        raise damaged(path, str(error)) from error
    except StoreError:
        _close(connection)
        raise
    return connection


def _number_points(connection: sqlite3.Connection) -> None:
    """A table in memory for series.py: what is joined to its rows comes in their order."""
    connection.execute("PRAGMA temp_store = MEMORY")
    connection.execute(f"CREATE TABLE {POINTS} (number INTEGER PRIMARY KEY)")
    connection.execute(
        f"""
        WITH RECURSIVE point(number) AS (
          SELECT 0 UNION ALL SELECT number + 1 FROM point WHERE number < {MOST_POINTS}
        ) INSERT INTO {POINTS} SELECT number FROM point
        """
    )


def _close(connection: sqlite3.Connection | None) -> None:
    if connection is not None:
        connection.close()


class transaction:
    """BEGIN IMMEDIATE now, COMMIT at the end, ROLLBACK on any error."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def __enter__(self) -> sqlite3.Connection:
        try:
            self._connection.execute("BEGIN IMMEDIATE")
        except sqlite3.Error:
            self._roll_back()
            raise
        return self._connection

    def __exit__(self, kind: type[BaseException] | None, *_rest: object) -> None:
        if kind is None:
            try:
                self._connection.execute("COMMIT")
            except sqlite3.Error:
                self._roll_back()
                raise
        else:
            self._roll_back()

    def _roll_back(self) -> None:
        if self._connection.in_transaction:
            self._connection.execute("ROLLBACK")
