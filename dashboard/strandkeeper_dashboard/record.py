"""The door to a record that may not be there yet."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

from strandkeeper.errors import StoreError
from strandkeeper.store import RecordReader, open_reader

__all__ = ["Door", "OpenRecord", "RecordMissingError"]

OpenRecord = Callable[[], RecordReader]


class RecordMissingError(StoreError):
    """There is no record file yet: the watching program has not started."""


class Door:
    """Opens the record as soon as there is one, and keeps it; the reader serves all threads.

    A record file that was replaced by another (a restored copy) is opened anew.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()
        self._reader: RecordReader | None = None
        self._inode = 0

    def __call__(self) -> RecordReader:
        """The reader. Raises RecordMissingError before there is a file, else StoreError."""
        with self._lock:
            try:
                inode = self.path.stat().st_ino
            except FileNotFoundError:
                raise RecordMissingError(
                    f"there is no record at {self.path} yet",
                    hint="start the watching program: strandkeeper run CONFIG",
                ) from None
            except OSError as error:
                raise StoreError(
                    f"the record at {self.path} cannot be reached: {error.strerror}",
                    hint="let the dashboard's user read the file and its directory",
                ) from error
            if self._reader is None or inode != self._inode:
                self._reader = open_reader(self.path)
                self._inode = inode
            return self._reader
