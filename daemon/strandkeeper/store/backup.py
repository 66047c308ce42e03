"""Copy the record while it is being written."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Final

from strandkeeper.errors import StoreError
from strandkeeper.store.checking import check_whole
from strandkeeper.store.database import connect_reader, damaged
from strandkeeper.store.trouble import is_damage

__all__ = ["copy_pages", "copy_record", "sync"]

PAGES_AT_ONCE: Final = 1024

Progress = Callable[[int, int], None]


def copy_record(path: Path, target: Path, progress: Progress | None = None) -> None:
    """A consistent copy of `path` at `target`, checked and synced before it gets its name.

    `progress` is called with pages done and pages in all. Raises StoreError if the target exists
    or cannot be written, StoreDamagedError if the record is damaged: a damaged copy is not kept.
    """
    if target.exists():
        raise StoreError(
            f"{target} exists already; a backup never writes over a file",
            hint="Give a new name, or move that file away first.",
        )
    half = target.with_name(f".{target.name}.half")
    source = connect_reader(path)
    try:
        copy_pages(source, half, progress)
        check_whole(half, called=path)
        os.replace(half, target)
        sync(target.parent)
    except (OSError, sqlite3.Error) as error:
        if isinstance(error, sqlite3.DatabaseError) and is_damage(error):
            raise damaged(path, str(error)) from error
        raise StoreError(
            f"the backup {target} cannot be written: {error}",
            hint="Check that its directory exists, may be written to and has room.",
        ) from error
    finally:
        half.unlink(missing_ok=True)
        source.close()


def copy_pages(source: sqlite3.Connection, half: Path, progress: Progress | None = None) -> None:
    """Copy what `source` shows now to the new file `half`, mode 0600, and sync it.

    One read transaction is held throughout: without it every batch written meanwhile would make the
    copy begin again, and on a slow card it would never end. Nobody who writes is held up by it.
    """
    half.unlink(missing_ok=True)
    os.close(os.open(half, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    source.execute("BEGIN")
    source.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    copy = sqlite3.connect(half)
    try:
        source.backup(copy, pages=PAGES_AT_ONCE, progress=_told(progress))
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
    finally:
        copy.close()
        source.execute("ROLLBACK")
    sync(half)


def _told(progress: Progress | None) -> Callable[[int, int, int], object] | None:
    if progress is None:
        return None
    return lambda _status, left, total: progress(total - left, total)


def sync(place: Path) -> None:
    """Wait until the disk has a file, or the names in a directory."""
    handle = os.open(place, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
