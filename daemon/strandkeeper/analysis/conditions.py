"""Which findings are true now: begun once, ended once, revised in between without either."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Final

from strandkeeper.analysis.slow import HoldNote
from strandkeeper.model.block import MISSING
from strandkeeper.model.finding import FindingKind, Severity
from strandkeeper.model.names import Direction, End
from strandkeeper.model.verdict import EventKind

__all__ = ["hold"]

Active = dict[str, tuple[int, int]]  # key -> (since [ms], severity)
Tell = Callable[..., None]

_DIRECTIONS: Final = {"": None, "ab": Direction.AB, "ba": Direction.BA}
_ENDS: Final = {"": None, "A": End.A, "B": End.B}


@cache
def key_of(kind: FindingKind, direction: Direction | None = None, end: End | None = None) -> str:
    """One string that identifies a finding within its link."""
    return f"{kind.value}/{direction or ''}/{'' if end is None else end.name}"


@cache
def parts_of(key: str) -> tuple[FindingKind, Direction | None, End | None]:
    """What `key_of` put together."""
    kind, direction, end = key.split("/")
    return FindingKind(kind), _DIRECTIONS[direction], _ENDS[end]


def put(
    active: Active,
    key: str,
    severity: Severity | None,
    since_ms: int,
    now_ms: int,
    tell: Tell,
) -> None:
    """Make a finding true with that severity, or not true (None); tell what begins and ends."""
    had = active.get(key)
    if severity is None:
        if had is not None:
            del active[key]
            _announce(EventKind.FINDING_ENDED, key, now_ms, had[1], tell)
        return
    if had is None:
        active[key] = (since_ms, int(severity))
        _announce(EventKind.FINDING_BEGAN, key, now_ms, int(severity), tell)
    elif had[1] != severity:
        active[key] = (had[0], int(severity))


def _announce(what: EventKind, key: str, now_ms: int, severity: int, tell: Tell) -> None:
    kind, direction, end = parts_of(key)
    tell(now_ms, what, direction=direction, end=end, text=kind.value, value=float(severity))


def hold(
    note: HoldNote, *, above: bool, below: bool, at_ms: int, now_ms: int, on_ms: int, off_ms: int
) -> bool:
    """Whether a threshold counts as passed: on after `on_ms` above it, off after `off_ms` below.

    Parameters
    ----------
    note : HoldNote
        What is remembered [ms]; altered.
    above, below : bool
        Whether the value is past the threshold, and past the clearing one [-]; between the
        two neither holds and a spell below is broken.
    at_ms, now_ms : int
        Start and end of the window that the value comes from [ms].
    on_ms, off_ms : int
        How long it must last either way [ms].

    Returns
    -------
    bool
        [-] True while the threshold counts as passed.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> note = HoldNote()
    >>> hold(note, above=True, below=False, at_ms=0, now_ms=300, on_ms=600, off_ms=900)
    False
    >>> hold(note, above=True, below=False, at_ms=300, now_ms=600, on_ms=600, off_ms=900)
    True
    """
    note.above_ms = (at_ms if note.above_ms == MISSING else note.above_ms) if above else MISSING
    note.below_ms = (at_ms if note.below_ms == MISSING else note.below_ms) if below else MISSING
    if note.on:
        note.on = note.below_ms == MISSING or now_ms - note.below_ms < off_ms
    else:
        note.on = note.above_ms != MISSING and now_ms - note.above_ms >= on_ms
    return note.on
