"""The door to a record that may not be there yet, and may be replaced by another."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Final

from strandkeeper.errors import StoreError
from strandkeeper.store import RecordReader, open_reader

__all__ = ["Door", "RecordMissingError"]

_PATIENCE_S: Final = 5.0


class RecordMissingError(StoreError):
    """There is no record file yet: the watching program has not started."""


class Door:
    """Opens the record as soon as there is one and lends it to requests; one reader for all.

    A file that was replaced by another (a restored copy) is opened anew, but never while the old
    one is open: the last connection to close a file removes the log of that name, which would be
    the new one's. So the old reader is closed first, once every request gave it back.
    """

    def __init__(self, path: Path, *, patience_s: float = _PATIENCE_S) -> None:
        self.path = path
        self._patience_s = patience_s
        self._given_back = threading.Condition()
        self._reader: RecordReader | None = None
        self._inode = 0
        self._lent = 0

    def lend(self) -> RecordReader:
        """The reader, to be given back with `take_back`; a request borrows it once.

        Raises RecordMissingError before there is a file, else StoreError.
        """
        with self._given_back:
            inode = self._look()
            if self._reader is not None and inode != self._inode:
                self._close_old()
            if self._reader is None:
                self._reader = open_reader(self.path)
                self._inode = inode
            self._lent += 1
            return self._reader

    def take_back(self) -> None:
        """A request is done with what was lent to it."""
        with self._given_back:
            self._lent -= 1
            self._given_back.notify_all()

    def _look(self) -> int:
        try:
            return self.path.stat().st_ino
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

    def _close_old(self) -> None:
        """Close the reader of the replaced file. Raises StoreError while it is still in use."""
        old = self._reader
        free = self._given_back.wait_for(
            lambda: self._lent == 0 or self._reader is not old, self._patience_s
        )
        if self._reader is not old or old is None:  # another request closed it meanwhile
            return
        if not free:
            raise StoreError(
                f"the record at {self.path} was replaced while it was being read",
                hint="load the page again in some seconds",
            )
        old.close()
        self._reader = None
