"""Look through a whole file: is it a record, is it sound, does this release know its format."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from strandkeeper.errors import StoreDamagedError
from strandkeeper.store.database import refuse_foreign_file
from strandkeeper.store.info import RecordInfo, read_info
from strandkeeper.store.migrate import refuse_newer

__all__ = ["check_whole"]


def check_whole(path: Path, *, called: Path | None = None) -> RecordInfo | None:
    """Check every page, every index and every reference of a file that nobody writes.

    `called` is the name to use in errors. Returns what is in it, None for a format before this
    release's (it is upgraded at the next start). Raises StoreDamagedError, StoreTooNewError, or
    StoreError for a database of another program.
    """
    name = called or path
    try:
        connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        try:
            refuse_foreign_file(connection, name)
            _check_content(connection, name)
            return read_info(connection, path) if refuse_newer(connection, name) else None
        finally:
            connection.close()
    except sqlite3.DatabaseError as error:
        raise _broken(name, str(error)) from error


def _check_content(connection: sqlite3.Connection, name: Path) -> None:
    answers = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(3)")]
    if answers != ["ok"]:
        raise _broken(name, "; ".join(answers))
    astray = connection.execute("PRAGMA foreign_key_check").fetchone()
    if astray is not None:
        raise _broken(name, f"a row of {astray[0]} belongs to nothing")
    if not connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
        raise _broken(name, "it is empty")


def _broken(name: Path, why: str) -> StoreDamagedError:
    return StoreDamagedError(
        f"{name} is damaged: {' '.join(why.split())}",
        hint=(
            "If this is a backup, take an older one. If it is the record itself, stop the daemon "
            "and bring back the newest sound backup with `strandkeeper restore CONFIG FILE`."
        ),
    )
