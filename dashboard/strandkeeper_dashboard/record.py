"""What the pages ask of the record, and the door to a record that may not be there yet."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from strandkeeper.errors import StoreError
from strandkeeper.model.names import LinkName
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["Door", "OpenRecord", "Record", "RecordMissingError"]


class Record(Protocol):
    """The part of the store's reader that pages use."""

    def verdicts(self) -> Sequence[LinkVerdict]:
        """The newest verdict of every link that has one."""

    def verdict(self, link: LinkName) -> LinkVerdict | None:
        """The newest verdict of one link."""


OpenRecord = Callable[[], Record]


class RecordMissingError(StoreError):
    """There is no record file yet: the watching program has not started."""


class Door:
    """Opens the record once a thread, as soon as there is one.

    SQLite connections stay with their thread; a reader that failed is opened anew next time.
    """

    def __init__(self, path: Path, open_reader: Callable[[Path], Record]) -> None:
        self.path = path
        self._open = open_reader
        self._own = threading.local()

    def __call__(self) -> Record:
        """The reader of this thread. Raises RecordMissingError before there is a file."""
        reader: Record | None = getattr(self._own, "reader", None)
        if reader is None:
            if not self.path.exists():
                raise RecordMissingError(
                    f"there is no record at {self.path} yet",
                    hint="start the watching program: strandkeeper run CONFIG",
                )
            reader = self._open(self.path)
            self._own.reader = reader
        return reader
