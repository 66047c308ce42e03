"""Which database errors mean 'wait and try again', and how each is said to a person."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from strandkeeper.errors import StoreError
from strandkeeper.store.database import damaged

__all__ = ["explain", "is_damage", "may_pass", "told", "wants_new_connection", "wants_room"]

_FULL: Final = ("SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_FSYNC", "SQLITE_IOERR_TRUNCATE")
_PASSING: Final = (
    *("SQLITE_FULL", "SQLITE_IOERR", "SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_PROTOCOL"),
    "SQLITE_INTERRUPT",
)
_ALSO_PASSING: Final = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")


def _name(error: sqlite3.Error) -> str:
    return str(getattr(error, "sqlite_errorname", ""))


def may_pass(error: sqlite3.Error) -> bool:
    """Whether the same write may succeed later: a full or failing disk, a lock, a lost right."""
    return isinstance(error, sqlite3.OperationalError) and _name(error).startswith(
        _PASSING + _ALSO_PASSING
    )


def wants_new_connection(error: sqlite3.Error) -> bool:
    """Whether the open connection may never recover: a lock that could not be released stays."""
    return _name(error).startswith(("SQLITE_IOERR", "SQLITE_PROTOCOL"))


def wants_room(error: sqlite3.Error) -> bool:
    """Whether giving room back may help at once."""
    return _name(error).startswith(_FULL)


def explain(error: sqlite3.Error, path: Path) -> tuple[str, str]:
    """What is wrong and what to do about it."""
    name = _name(error)
    if name.startswith("SQLITE_FULL"):
        return (
            f"the disk that holds {path} is full",
            f"Make room on it (df -h {path.parent}). Readings wait in memory meanwhile.",
        )
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return (
            f"the record {path} was locked by another process for longer than 5 s",
            "An import or a backup may be running; the readings are written when it is done.",
        )
    if name.startswith(_ALSO_PASSING):
        return (
            f"the record {path} may not be written any more ({error})",
            f"Check owner and mode of {path.parent} and of the file, and whether the disk was "
            "mounted read-only.",
        )
    return (
        f"the disk refused to write {path} ({error}, {name})",
        "Check the disk (dmesg); a memory card at its end of life does this. "
        "Readings wait in memory meanwhile.",
    )


def is_damage(error: sqlite3.Error) -> bool:
    """Whether the file's content is broken."""
    return _name(error).startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB"))


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn the errors of database and disk that a person can mend into StoreError or its kind."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        if is_damage(error):
            raise damaged(path, str(error)) from error
        if not may_pass(error):
            raise
        message, hint = explain(error, path)
        raise StoreError(message, hint=hint) from error
    except OSError as error:
        raise StoreError(
            f"the record {path} cannot be reached: {error.strerror or error}",
            hint=f"Check {path.parent} and its disk (dmesg). Readings wait in memory meanwhile.",
        ) from error
