"""The hours in which only what cannot wait is told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.model.telling import TellingSettings

__all__ = ["QuietHours", "is_quiet", "is_quiet_now", "minute_of_day", "quiet_until_ms"]

DAY_MIN: Final = 24 * 60
MINUTE_MS: Final = 60_000


@dataclass(frozen=True, slots=True, kw_only=True)
class QuietHours:
    """From one minute of the local day to another; over midnight where from is the later.

    Both the same: none.
    """

    from_min: int = 22 * 60
    to_min: int = 7 * 60


def is_quiet_now(telling: TellingSettings, now_ms: int, offset_s: int) -> bool:
    """Whether it is a quiet hour by the owner's configuration."""
    hours = QuietHours(from_min=telling.quiet_from_min, to_min=telling.quiet_to_min)
    return is_quiet(hours, now_ms, offset_s)


def minute_of_day(now_ms: int, offset_s: int) -> int:
    """The minute of the local day; `offset_s` is local time less UTC.

    >>> minute_of_day(0, 0), minute_of_day(0, -3600)
    (0, 1380)
    """
    return (now_ms // 1000 + offset_s) // 60 % DAY_MIN


def is_quiet(hours: QuietHours, now_ms: int, offset_s: int) -> bool:
    """Whether it is a quiet hour now.

    >>> is_quiet(QuietHours(), 23 * 3_600_000, 0), is_quiet(QuietHours(), 12 * 3_600_000, 0)
    (True, False)
    """
    return _left_min(hours, minute_of_day(now_ms, offset_s)) > 0


def quiet_until_ms(hours: QuietHours, now_ms: int, offset_s: int) -> int:
    """When the quiet hours end that it is in now; `now_ms` itself outside them.

    A change of the clock in that night is not foreseen: the message is then an hour early or late.

    >>> quiet_until_ms(QuietHours(), 23 * 3_600_000 + 7, 0) == 31 * 3_600_000
    True
    """
    left = _left_min(hours, minute_of_day(now_ms, offset_s))
    if not left:
        return now_ms
    shift_ms = offset_s * 1000
    return ((now_ms + shift_ms) // MINUTE_MS + left) * MINUTE_MS - shift_ms


def _left_min(hours: QuietHours, minute: int) -> int:
    """Minutes that are left of the quiet hours, 0 outside."""
    span = (hours.to_min - hours.from_min) % DAY_MIN
    into = (minute - hours.from_min) % DAY_MIN
    return span - into if into < span else 0
