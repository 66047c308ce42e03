"""The one thread that may wait for the disk."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

__all__ = ["Disk"]

_T = TypeVar("_T")


class Disk:
    """One thread for everything that may wait for the disk, so that no poll ever does."""

    def __init__(self) -> None:
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="record")

    async def do(self, work: Callable[[], _T]) -> _T:
        """Run `work` after everything asked for before it."""
        return await asyncio.get_running_loop().run_in_executor(self._thread, work)

    async def close(self) -> None:
        """Wait for what was asked for."""
        await asyncio.to_thread(self._thread.shutdown)
