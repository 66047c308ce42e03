"""The demo's directory: its configuration, its record, and what it remembers of the last start."""

from __future__ import annotations

import fcntl
import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from strandkeeper.errors import OperatorError

__all__ = ["DemoDirectory", "Told", "usual_directory"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """When the story was told from, so that a later start goes on with the same one.

    `imported` becomes true once the whole history is in the record.
    """

    now_s: int
    utc_offset_s: int
    imported: bool = False


def usual_directory() -> Path:
    """A place of this user's own for what can be made again (XDG Base Directory, cache)."""
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    return Path(home) / "strandkeeper-demo"


class DemoDirectory:
    """The files of one demo."""

    def __init__(self, path: Path) -> None:
        self.path = path.expanduser().absolute()

    @property
    def config(self) -> Path:
        """The configuration, for the service and for reading."""
        return self.path / "demo.toml"

    @property
    def record(self) -> Path:
        """The record file."""
        return self.path / "record.db"

    @property
    def log(self) -> Path:
        """What the service said."""
        return self.path / "service.log"

    def history(self, link: str) -> Path:
        """The invented history of a link."""
        return self.path / f"history-{link.lower().replace(' ', '-')}.csv"

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold the directory, so that two demos do not write into one record.

        Raises OperatorError when it cannot be made, is somebody else's, or another demo has it.
        """
        try:
            self.path.mkdir(parents=True, exist_ok=True)
            self._refuse_what_is_not_ours()
            lock = self._lock.open("w")
        except OSError as error:
            raise OperatorError(
                f"the demo's directory {self.path} cannot be used: {error.strerror}",
                hint="choose another: --dir DIRECTORY",
            ) from error
        with lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as error:
                raise OperatorError(
                    f"a demo is already running in {self.path}",
                    hint="end it with Ctrl-C, or start another with --dir DIRECTORY --port NUMBER",
                ) from error
            yield

    def told(self) -> Told | None:
        """What the last start told, None if there is nothing that can be gone on with."""
        try:
            told = Told(**json.loads(self._memory.read_text(encoding="utf-8")))
        except (OSError, ValueError, TypeError):
            return None
        return told if told.imported and self.record.exists() else None

    def remember(self, told: Told) -> None:
        """Keep it for the next start; the file is never half written."""
        with tempfile.NamedTemporaryFile(
            "w", dir=self.path, delete=False, encoding="utf-8"
        ) as file:
            json.dump(asdict(told), file)
        os.replace(file.name, self._memory)

    def forget(self) -> None:
        """Remove the record and the memory of it: the next history needs an empty one."""
        self._memory.unlink(missing_ok=True)
        for left in self.path.glob(f"{self.record.name}*"):
            left.unlink()

    def _refuse_what_is_not_ours(self) -> None:
        """The demo writes over files and deletes its record: never among anybody's own."""
        if not self._lock.exists() and any(self.path.iterdir()):
            raise OperatorError(
                f"{self.path} has files in it that no demo made",
                hint="give an empty or a new directory: --dir DIRECTORY",
            )

    @property
    def _lock(self) -> Path:
        return self.path / "demo.lock"

    @property
    def _memory(self) -> Path:
        return self.path / "demo.json"
