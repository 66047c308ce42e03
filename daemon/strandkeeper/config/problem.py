"""One thing wrong with the configuration, as one sentence for the person who wrote it."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Problem", "nearest", "one_of", "place", "value_text"]

_ARROW = " › "


@dataclass(frozen=True, slots=True)
class Problem:
    """Where (by the names of the things), what is wrong, and the line to write instead."""

    where: str
    what: str
    write: str = ""

    def __str__(self) -> str:
        line = f"; write: {self.write}" if self.write else ""
        return f"{self.where}: {self.what}{line}"


def place(*parts: str) -> str:
    """A path of names, as in `switch "lab" › snmp › auth`."""
    return _ARROW.join(parts)


def value_text(value: object) -> str:
    """A value as it would stand in the file; tables and lists only by their kind."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    return "a table" if isinstance(value, dict) else f"a {type(value).__name__}"


def one_of(words: Iterable[str]) -> str:
    """`a, b or c`."""
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


def nearest(word: str, words: Iterable[str]) -> str | None:
    """The known word that a misspelt one most likely means, or None."""
    folded = {w.lower(): w for w in words}
    close = difflib.get_close_matches(word.lower(), folded, n=1, cutoff=0.6)
    return folded[close[0]] if close else None
