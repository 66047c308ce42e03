"""A file that only takes up room, given back when the disk is full: the record can go on."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

__all__ = ["RESERVE_BYTES", "Reserve"]

RESERVE_BYTES: Final = 8 * 1024 * 1024
KEEP_FREE: Final = 3  # it is taken back only when so many times its size is free


class Reserve:
    """`<record>.reserve`, RESERVE_BYTES long."""

    def __init__(self, record: Path, size: int = RESERVE_BYTES) -> None:
        self.path = record.with_name(f"{record.name}.reserve")
        self._size = size

    def free(self) -> bool:
        """Give the room back; whether there was any to give."""
        try:
            self.path.unlink()
        except FileNotFoundError:
            return False
        return True

    def take(self) -> bool:
        """Take the room if there is plenty; whether it is held now. Never raises for lack of it."""
        try:
            if self.path.exists() and self.path.stat().st_size >= self._size:
                return True
            room = os.statvfs(self.path.parent)
            if room.f_bavail * room.f_frsize < KEEP_FREE * self._size:
                return False
            self._fill()
        except OSError:
            self.path.unlink(missing_ok=True)
            return False
        return True

    def _fill(self) -> None:
        handle = os.open(self.path, os.O_WRONLY | os.O_CREAT, 0o600)
        try:
            os.posix_fallocate(handle, 0, self._size)
        finally:
            os.close(handle)
