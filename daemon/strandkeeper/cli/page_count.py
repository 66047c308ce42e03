"""Progress of copying a record, on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["page_count"]


@contextmanager
def page_count(verb: str) -> Iterator[Callable[[int, int], None]]:
    """Show per cent on a terminal; silent elsewhere."""
    terminal = sys.stderr.isatty()

    def show(done: int, total: int) -> None:
        if terminal and total:
            print(f"\r{100 * done // total} % {verb}", end="", file=sys.stderr, flush=True)

    try:
        yield show
    finally:
        if terminal:
            print(file=sys.stderr)
