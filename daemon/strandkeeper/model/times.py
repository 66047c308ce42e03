"""Record time as text: ISO 8601 in UTC, whole milliseconds, nothing lost either way."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from strandkeeper.errors import InputError

__all__ = ["iso_utc", "ms_from_iso"]

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)


def iso_utc(time_ms: int) -> str:
    """Record time [ms since 1970, UTC] as text; the milliseconds appear only when there are any.

    >>> iso_utc(0), iso_utc(1_700_000_000_250)
    ('1970-01-01T00:00:00Z', '2023-11-14T22:13:20.250Z')
    """
    moment = (_EPOCH + time_ms * _MS).isoformat(timespec="milliseconds")
    return moment.removesuffix("+00:00").removesuffix(".000") + "Z"


def ms_from_iso(text: str) -> int:
    """The record time [ms] of an ISO 8601 text. Raises InputError without a zone or if unreadable.

    >>> ms_from_iso("2023-11-14T22:13:20.250Z"), ms_from_iso("1970-01-01T01:00:00+01:00")
    (1700000000250, 0)
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(
            f"{text!r} is not a time", hint="write it like 2026-03-01T12:00:00Z"
        ) from error
    if moment.tzinfo is None:
        raise InputError(f"{text!r} does not say its time zone", hint="end it with Z if it is UTC")
    return (moment - _EPOCH) // _MS
