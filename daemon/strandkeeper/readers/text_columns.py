"""Cells of plain comma-separated text, a column at a time: numbers, words and times.

Only the plain forms are read here; for everything else UnusualError is raised and nothing is
said about whether it is right: the caller has a reader for that.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from strandkeeper.model.block import Ints

__all__ = ["Cells", "UnusualError"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
COMMA, NEWLINE, MINUS, DOT, ZERO, COLON, T, Z = b",\n-.0:TZ"
EXACT_DIGITS: Final = 15  # of an integer that a float holds exactly
COUNT_DIGITS: Final = 18  # of an integer that 64 bits hold
LONGEST: Final = 64
POWERS: Final = 10.0 ** np.arange(EXACT_DIGITS + 1)
DAY_MS: Final = 86_400_000
SECOND: Final = 20  # characters of 2026-03-01T12:00:00Z
MILLISECOND: Final = 24  # and of 2026-03-01T12:00:00.250Z


class UnusualError(ValueError):
    """The text is not of the plain form; it may be right all the same."""


def _plain(*, so: bool | np.bool_) -> None:
    if not so:
        raise UnusualError


class Cells:
    """The cells of whole lines, each ended by a line feed. Raises UnusualError."""

    def __init__(self, text: bytes, columns: int) -> None:
        data = np.frombuffer(text + bytes(LONGEST), dtype=np.uint8)
        held = data[: len(text)]
        stops = np.flatnonzero((held == COMMA) | (held == NEWLINE))
        _plain(so=len(stops) > 0 and len(stops) % columns == 0 and bool(held.all()))
        table = stops.reshape(-1, columns)
        _plain(so=bool((held[table[:, -1]] == NEWLINE).all()))
        _plain(so=bool((held[table[:, :-1]] == COMMA).all()))
        starts = np.concatenate(([0], stops[:-1] + 1))
        self._data = data
        self._starts = np.ascontiguousarray(starts.reshape(-1, columns).T)
        self.lengths = np.ascontiguousarray((stops - starts).reshape(-1, columns).T)
        _plain(so=bool(self.lengths.max() <= LONGEST))

    def __len__(self) -> int:
        return int(self.lengths.shape[1])

    def words(self, place: int) -> NDArray[np.bytes_]:
        """The column as bytes."""
        lengths = self.lengths[place]
        width = max(1, int(lengths.max()))
        reach = np.arange(width)
        held = self._data[self._starts[place][:, None] + reach]
        held = np.where(reach < lengths[:, None], held, 0).astype(np.uint8)
        return held.view(f"S{width}").ravel()

    def codes(self, place: int, most: int = 32) -> tuple[Ints, list[str]]:
        """The column's distinct words in the order they come in, and which one each cell is.

        Empty cells are -1. Raises UnusualError past `most` words.
        """
        cells, left = self.words(place), self.lengths[place] > 0
        which = np.full(len(self), -1, dtype=np.int64)
        words: list[str] = []
        while left.any():
            _plain(so=len(words) < most)
            word = cells[int(np.argmax(left))]
            same = cells == word
            which[same] = len(words)
            words.append(word.decode())
            left &= ~same
        return which, words

    def counts(self, place: int) -> tuple[Flags, Ints]:
        """Which cells hold a whole count, the others being empty, and the counts."""
        lengths = self.lengths[place]
        _plain(so=bool(lengths.max() <= COUNT_DIGITS))
        total = np.zeros(len(self), dtype=np.int64)
        for k in range(int(lengths.max())):
            digit = self._data[self._starts[place] + k].astype(np.int64) - ZERO
            inside = lengths > k
            _plain(so=not (inside & ((digit < 0) | (digit > 9))).any())
            total = np.where(inside, total * 10 + digit, total)
        return lengths > 0, total

    def numbers(self, place: int, without: Flags | None = None) -> tuple[Flags, Floats]:
        """Which cells hold a number, the others being empty, and the numbers as `float` reads them.

        Cells that are so `without` count as empty. A quotient of two integers that are exact as
        floats is rounded correctly, as `float(text)` is.
        """
        lengths = self.lengths[place]
        if without is not None:
            lengths = np.where(without, 0, lengths)
        total, decimals, digits, dots = np.zeros((4, len(self)), dtype=np.int64)
        starts = self._starts[place]
        minus = (self._data[starts] == MINUS) & (lengths > 0)
        for k in range(int(lengths.max(initial=0))):
            sign = self._data[starts + k]
            inside = lengths > k
            digit = inside & (sign >= ZERO) & (sign <= ZERO + 9)
            dot = inside & (sign == DOT)
            _plain(so=not (inside & ~digit & ~dot & ~(minus if k == 0 else np.False_)).any())
            total = np.where(digit, total * 10 + sign - ZERO, total)
            decimals += digit & (dots > 0)
            digits += digit
            dots += dot
        known = lengths > 0
        _plain(so=not (dots > 1).any() and not (known & (digits == 0)).any())
        _plain(so=bool(digits.max(initial=0) <= EXACT_DIGITS))
        value = total / POWERS[decimals]
        return known, np.where(minus, -value, value)

    def times(self, place: int) -> Ints:
        """Every cell as ISO 8601 in UTC by whole seconds or milliseconds, to ms since 1970."""
        lengths = self.lengths[place]
        fine = lengths == MILLISECOND
        _plain(so=bool((fine | (lengths == SECOND)).all()))
        self._marks(place, ((4, MINUS), (7, MINUS), (10, T), (13, COLON), (16, COLON)))
        last = self._data[self._starts[place] + lengths - 1]
        dot = self._data[self._starts[place] + SECOND - 1]
        _plain(so=bool((last == Z).all()) and bool((dot[fine] == DOT).all()))
        year, month, day = (self._fixed(place, at, n) for at, n in ((0, 4), (5, 2), (8, 2)))
        hour, minute, second = (self._fixed(place, at, 2) for at in (11, 14, 17))
        ms = self._fixed(place, SECOND, 3, only=fine)
        _plain(so=bool((year > 0).all() and (month > 0).all() and (month <= 12).all()))
        months = 12 * (year - 1970) + month - 1
        first, after = _day_of(months), _day_of(months + 1)
        _plain(so=bool((day > 0).all() and (day <= after - first).all()))
        _plain(so=bool(hour.max() < 24 and minute.max() < 60 and second.max() < 60))
        clock = ((hour * 60 + minute) * 60 + second) * 1000 + ms
        return (first + day - 1) * DAY_MS + clock

    def _marks(self, place: int, marks: tuple[tuple[int, int], ...]) -> None:
        for at, mark in marks:
            _plain(so=bool((self._data[self._starts[place] + at] == mark).all()))

    def _fixed(self, place: int, at: int, digits: int, only: Flags | None = None) -> Ints:
        """Digits at fixed places of every cell, or of those that are so (0 in the others)."""
        asked = np.ones(len(self), dtype=np.bool_) if only is None else only
        total = np.zeros(len(self), dtype=np.int64)
        for k in range(at, at + digits):
            digit = self._data[self._starts[place] + k].astype(np.int64) - ZERO
            _plain(so=not (asked & ((digit < 0) | (digit > 9))).any())
            total = total * 10 + digit
        return np.where(asked, total, 0)


def _day_of(months: Ints) -> Ints:
    """Days from 1970 to the first of each month, counted in months from 1970."""
    days: Ints = months.astype("M8[M]").astype("M8[D]").astype(np.int64)
    return days
