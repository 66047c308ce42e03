"""Why the link was down: judged from what answers while it lasts, revised when the rest answers.

The far switch is mostly reached through the link itself, so while that is down its silence says
nothing. Once it answers, its start time tells: started during the outage, it was off; running
since before, it was not, and the dark was the cable's.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from strandkeeper.analysis.state import EndLive, LinkLive, OutageNote
from strandkeeper.model.block import MISSING, PowerCode
from strandkeeper.model.finding import Cause
from strandkeeper.model.reading import AdminStatus

LASER_ON_MDBM: Final = -20_000
BOOT_MS: Final = 10 * 60_000  # the longest that a switch takes from its start to lighting a port
REVISED_FOR_MS: Final = 30 * 60_000


def judge_outage(live: LinkLive) -> None:
    """Judge the outage that lasts, from whoever answers now."""
    note = live.down_now
    if note is None:
        return
    silent = any(end.misses > 0 for end in live.ends)
    cause = _cause(live, note.from_ms)
    known = cause is not Cause.UNKNOWN or note.cause == Cause.UNKNOWN
    live.down_now = replace(
        note,
        cause=cause.value if known else note.cause,
        far_silent=note.far_silent or silent,
        was_dark=note.was_dark or any(_dark(end) for end in live.ends),
    )


def _dark(end: EndLive) -> bool:
    return end.misses == 0 and end.rx_code == PowerCode.NO_LIGHT


def _cause(live: LinkLive, from_ms: int) -> Cause:
    """What the ends say that were heard since it began; what one said before is no evidence."""
    ends = [end for end in live.ends if end.misses == 0 and end.heard_ms >= from_ms]
    if any(end.admin == AdminStatus.DOWN for end in ends):
        return Cause.SWITCHED_OFF_BY_A_PERSON
    if any(end.module_gone for end in ends):
        return Cause.MODULE_REMOVED
    if len(ends) < 2 or min(end.optics_ms for end in live.ends) < from_ms:
        return Cause.UNKNOWN
    dark = [number for number, end in enumerate(live.ends) if _dark(end)]
    lit = [end.tx_code == PowerCode.MEASURED and end.tx > LASER_ON_MDBM for end in live.ends]
    if len(dark) == 2 and all(lit):
        return Cause.CABLE
    if len(dark) == 1:
        return Cause.STRAND if lit[1 - dark[0]] else Cause.TRANSMITTER
    return Cause.UNKNOWN


def revise_outage(live: LinkLive, time_ms: int) -> None:
    """Revise the newest outage by what an end says that was silent during it."""
    if not live.outages:
        return
    note = live.outages[-1]
    if note.revised or not note.far_silent or time_ms - note.to_ms > REVISED_FOR_MS:
        return
    if any(end.misses > 0 for end in live.ends):
        return
    boots = [boot for end in live.ends for boot in end.boots[-3:]]
    if any(note.from_ms - BOOT_MS <= boot <= note.to_ms for boot in boots):
        revised = Cause.FAR_END_OFF_OR_RESTARTED
    elif note.cause == Cause.UNKNOWN and _dark_then(live, note):
        revised = Cause.CABLE
    else:
        revised = Cause(note.cause)
    live.outages[-1] = replace(note, cause=revised.value, revised=True)


def _dark_then(live: LinkLive, note: OutageNote) -> bool:
    """Whether the end that answered was without light, and the other kept running."""
    running = all(MISSING != end.boot_ms < note.from_ms for end in live.ends)
    return running and note.was_dark
