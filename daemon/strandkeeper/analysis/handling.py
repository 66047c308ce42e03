"""Whether somebody had a hand in it: the link was down around a jump, and no switch restarted."""

from __future__ import annotations

from typing import Final

from strandkeeper.analysis.slow import StepNote
from strandkeeper.analysis.state import LinkLive, OutageNote
from strandkeeper.model.block import MISSING

__all__ = ["near"]

AROUND_MS: Final = 5 * 60_000
BOOT_MS: Final = 5 * 60_000  # a switch is this long about it before its port is up again


def near(live: LinkLive, step: StepNote) -> bool:
    """Whether the link was down at the time of a step without a restart that explains it.

    Parameters
    ----------
    live : LinkLive
        The link's outages and restarts so far [ms].
    step : StepNote
        Its time with its interval [ms].

    Returns
    -------
    bool
        [-] True for a plug or module that was pulled, as far as can be told.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> pulled = OutageNote(100_000, 160_000, 0, ["poll of A"])
    >>> step = StepNote(150_000, 90_000, 170_000, 200, 150, 250, 500_000)
    >>> near(LinkLive(outages=[pulled]), step), near(LinkLive(), step)
    (True, False)
    """
    notes = [*live.outages, *live.flaps]
    if live.down_now is not None:
        notes.append(live.down_now)
    low, high = step.low_ms - AROUND_MS, step.high_ms + AROUND_MS
    return any(
        note.from_ms <= high and (note.to_ms == MISSING or note.to_ms >= low)
        for note in notes
        if not _restarted(live, note, high)
    )


def _restarted(live: LinkLive, note: OutageNote, now_ms: int) -> bool:
    end_ms = now_ms if note.to_ms == MISSING else note.to_ms
    boots = [boot for end in live.ends for boot in end.boots]
    return any(note.from_ms - BOOT_MS <= boot <= end_ms + BOOT_MS for boot in boots)
