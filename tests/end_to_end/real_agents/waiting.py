"""Waiting for a condition by asking for it, never by sleeping for a guessed time."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

__all__ = ["until"]

T = TypeVar("T")

_PAUSE_S = 0.2


def until(
    what: str,
    probe: Callable[[], T | None],
    *,
    timeout_s: float = 30.0,
    explain: Callable[[], str] = lambda: "",
) -> T:
    """Ask `probe` until it yields something true, and return that.

    Raises AssertionError, naming `what` was waited for and what `explain` adds, after `timeout_s`
    on the monotonic clock.
    """
    deadline = time.monotonic() + timeout_s
    while True:
        seen = probe()
        if seen:
            return seen
        if time.monotonic() >= deadline:
            raise AssertionError(f"waited {timeout_s:g} s in vain for: {what}\n{explain()}")
        time.sleep(_PAUSE_S)
