"""Copy the record while it is being written."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

from strandkeeper.errors import StoreError
from strandkeeper.store.database import connect_reader

__all__ = ["copy_record"]


def copy_record(path: Path, target: Path) -> None:
    """A consistent copy of `path` at `target`, synced before it gets its name.

    Raises StoreError if the target exists or cannot be written.
    """
    if target.exists():
        raise StoreError(
            f"{target} exists already; a backup never writes over a file",
            hint="Give a new name, or move that file away first.",
        )
    half = target.with_name(f".{target.name}.half")
    source = connect_reader(path)
    try:
        _copy(source, half)
        os.replace(half, target)
        _sync(target.parent)
    except (OSError, sqlite3.Error) as error:
        half.unlink(missing_ok=True)
        raise StoreError(
            f"the backup {target} cannot be written: {error}",
            hint="Check that its directory exists, may be written to and has room.",
        ) from error
    finally:
        source.close()


def _copy(source: sqlite3.Connection, half: Path) -> None:
    half.unlink(missing_ok=True)
    copy = sqlite3.connect(half)
    try:
        source.backup(copy, pages=1024)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
    finally:
        copy.close()
    _sync(half)


def _sync(place: Path) -> None:
    handle = os.open(place, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
