"""Bring a record file to this release's schema, or refuse it.

Steps are files schema/NNNN_name.sql, applied in order, all of them and the new version number in
one transaction, after a copy of the file was put beside it. If any statement fails, the file is as
it was. Forward only.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from strandkeeper.errors import StoreError, StoreTooNewError
from strandkeeper.store.database import APPLICATION_ID, transaction

__all__ = [
    "Step",
    "backup_path",
    "known_steps",
    "migrate",
    "refuse_newer",
    "refuse_other_version",
    "statements",
]


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered change of the schema."""

    version: int
    name: str
    sql: str


def known_steps() -> tuple[Step, ...]:
    """Every step of this release, in order."""
    folder = resources.files("strandkeeper.store") / "schema"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".sql"))
    return tuple(
        Step(int(name[:4]), name, (folder / name).read_text(encoding="utf-8")) for name in names
    )


def statements(sql: str) -> Iterator[str]:
    """The statements of a script one by one; a semicolon inside a trigger or text ends none."""
    pending = ""
    for line in sql.splitlines(keepends=True):
        pending += line
        if sqlite3.complete_statement(pending):
            yield pending.strip()
            pending = ""
    if pending.strip():
        raise ValueError(f"unfinished statement: {pending.strip()[:60]!r}")


def backup_path(path: Path, version: int) -> Path:
    """Where the copy of a file of that version is put before it is changed."""
    return path.with_name(f"{path.name}.before-upgrade-from-{version}")


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def refuse_newer(connection: sqlite3.Connection, path: Path) -> bool:
    """Whether the file has this release's format. Raises StoreTooNewError for a later one."""
    found, known = _version(connection), known_steps()[-1].version
    _refuse_newer(path, found, known)
    return found == known


def _refuse_newer(path: Path, found: int, known: int) -> None:
    if found > known:
        raise StoreTooNewError(
            f"the record {path} was written by a later release: its format is {found}, this "
            f"release knows formats up to {known}",
            hint=(
                "Install the release that wrote it, or bring back the copy made before the upgrade "
                f"({backup_path(path, known).name}, in the same directory)."
            ),
        )


def refuse_other_version(connection: sqlite3.Connection, path: Path) -> None:
    """For readers. Raises StoreTooNewError, or StoreError for a file not yet upgraded."""
    found, known = _version(connection), known_steps()[-1].version
    _refuse_newer(path, found, known)
    if found < known:
        raise StoreError(
            f"the record {path} has format {found}, this release reads format {known}",
            hint="Start the daemon of this release once: `strandkeeper run CONFIG` upgrades it.",
        )


def _copy(connection: sqlite3.Connection, target: Path) -> None:
    copy = sqlite3.connect(target)
    try:
        connection.backup(copy)
    finally:
        copy.close()


def migrate(
    connection: sqlite3.Connection, path: Path, steps: Sequence[Step] | None = None
) -> tuple[int, int]:
    """Apply what is missing; returns the version before and after.

    Raises StoreTooNewError; sqlite3.Error if a statement failed, the file then being untouched.
    """
    wanted = known_steps() if steps is None else tuple(steps)
    before = _version(connection)
    _refuse_newer(path, before, wanted[-1].version)
    missing = [step for step in wanted if step.version > before]
    if not missing:
        return before, before
    if before:
        _copy(connection, backup_path(path, before))
    with transaction(connection):
        if _version(connection) != before:
            raise StoreError(f"the record {path} was upgraded by another process just now")
        for step in missing:
            for statement in statements(step.sql):
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {missing[-1].version}")
    return before, missing[-1].version
