"""Which stretch of time a trend shows: a range up to now, or any stretch by its two ends. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.times import iso_utc, ms_from_iso

__all__ = ["RANGES", "Range", "Window", "window"]

_HOUR_MS: Final = 3_600_000
_DAY_MS: Final = 24 * _HOUR_MS
_LEAST_MS: Final = 60_000
_LONGEST_MS: Final = 36_525 * _DAY_MS


@dataclass(frozen=True, slots=True)
class Range:
    """One choice of length; `span_ms` None: everything there is."""

    id: str
    label: str
    span_ms: int | None


RANGES: Final = (
    Range("1h", "1 hour", _HOUR_MS),
    Range("6h", "6 hours", 6 * _HOUR_MS),
    Range("1d", "1 day", _DAY_MS),
    Range("1w", "1 week", 7 * _DAY_MS),
    Range("1month", "1 month", 30 * _DAY_MS),
    Range("1year", "1 year", 365 * _DAY_MS),
    Range("all", "All", None),
)
DEFAULT: Final = "1d"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """From when to when; `range_id` is empty for a stretch that a person chose."""

    from_ms: int
    to_ms: int
    range_id: str

    @property
    def span_ms(self) -> int:
        """How long it is."""
        return self.to_ms - self.from_ms

    def query(self) -> dict[str, str]:
        """The same window in an address."""
        if self.range_id:
            return {"range": self.range_id}
        return {"from": iso_utc(self.from_ms), "to": iso_utc(self.to_ms)}

    def earlier(self) -> dict[str, str]:
        """As much again, just before."""
        return {"from": iso_utc(self.from_ms - self.span_ms), "to": iso_utc(self.from_ms)}

    def later(self, now_ms: int) -> dict[str, str] | None:
        """As much again, just after; None where nothing lies beyond."""
        if self.range_id or self.to_ms >= now_ms:
            return None
        return {"from": iso_utc(self.to_ms), "to": iso_utc(self.to_ms + self.span_ms)}


def window(
    range_id: str | None,
    start: str | None,
    end: str | None,
    *,
    now_ms: int,
    first_ms: int | None,
) -> Window:
    """The window an address asks for.

    `start` and `end` (ISO 8601) win over `range_id`; without any: one day. `first_ms` is where
    the record begins. Raises InputError for what cannot be read, or an end before its start.
    """
    if start and end:
        return _stretch(start, end)
    if start or end:
        raise InputError("a stretch of time needs both from and to", hint="or give range=1d")
    chosen = next((r for r in RANGES if r.id == (range_id or DEFAULT)), None)
    if chosen is None:
        known = ", ".join(r.id for r in RANGES)
        raise InputError(f"there is no range {range_id!r}", hint=f"the ranges are {known}")
    if chosen.span_ms is None:
        first = now_ms - _DAY_MS if first_ms is None else min(first_ms, now_ms - _HOUR_MS)
        return Window(from_ms=first, to_ms=now_ms, range_id=chosen.id)
    return Window(from_ms=now_ms - chosen.span_ms, to_ms=now_ms, range_id=chosen.id)


def _stretch(start: str, end: str) -> Window:
    from_ms, to_ms = ms_from_iso(start), ms_from_iso(end)
    if to_ms - from_ms < _LEAST_MS:
        raise InputError(f"from {start} to {end} is less than a minute", hint="to comes after from")
    if to_ms - from_ms > _LONGEST_MS:
        raise InputError(
            f"from {start} to {end} is longer than 100 years", hint="or give range=all"
        )
    return Window(from_ms=from_ms, to_ms=to_ms, range_id="")
