"""The link as its rows tell it, one row at a time: up or down, answering, lit, restarted.

`touch` takes over plain values; `handle` draws conclusions from what changed. In bulk only the
rows in which something changed are handled: for all others `handle` does what `touch` does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from strandkeeper.analysis import times_down
from strandkeeper.analysis.state import EndLive, LinkLive, OutageNote
from strandkeeper.model.block import MISSING, Col, Ints, PowerCode
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.module import another_module
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import AdminStatus, OperStatus
from strandkeeper.model.verdict import EventKind

Tell = Callable[..., None]  # (time_ms, EventKind, end=, direction=, value=, text=, uncertainty_ms=)

RESTART_MS: Final = 60_000  # a boot time that jumps by less may be the agent's own clock
BACK_MS: Final = 1_000  # an uptime that runs back by more has begun anew
UPTIME_WRAP_MS: Final = (1 << 32) * 10  # RFC 3418: sysUpTime is TimeTicks, 32 bits of 0.01 s
DARK_MS: Final = 20_000  # one dark reading on a link that stays up is a dropout, not lost light
SAME_FLAP_MS: Final = 60_000
KEPT: Final = 64

_WATCHED: Final = [
    Col.ANSWERED,
    Col.RX_CODE,
    Col.TX_CODE,
    Col.OPER,
    Col.ADMIN,
    Col.LAST_CHANGE,
    Col.MEDIA,
    Col.MODULE,
    Col.BY_TRAP,
]
_DOWN: Final = (OperStatus.DOWN, OperStatus.LOWER_LAYER_DOWN, OperStatus.NOT_PRESENT)


def eventful(data: Ints) -> Ints:
    """Numbers of the rows that `handle` must see; the first row of each end always."""
    keep = (data[Col.ANSWERED] == 0) | (data[Col.RX_CODE] == PowerCode.NO_LIGHT)
    for end in (0, 1):
        mine = np.flatnonzero(data[Col.END] == end)
        if not len(mine):
            continue
        cells = data[:, mine]
        watched = cells[_WATCHED]
        changed = np.any(watched[:, 1:] != watched[:, :-1], axis=0)
        up = cells[Col.UPTIME]
        boot = cells[Col.TIME] - 10 * up
        known = up != MISSING
        changed |= known[1:] != known[:-1]
        moved = (np.abs(boot[1:] - boot[:-1]) > RESTART_MS // 2) | (up[1:] < up[:-1])
        changed |= known[1:] & known[:-1] & moved
        keep[mine[0]] = True
        keep[mine[1:][changed]] = True
    return np.flatnonzero(keep)


_OPTICS: Final = slice(Col.RX_CODE, Col.VCC + 1)


def _optics_of(end: EndLive) -> list[int]:
    return [end.rx_code, end.rx, end.tx_code, end.tx, end.bias, end.temp, end.vcc]


def moved_by(end: EndLive, row: Sequence[int]) -> int:
    """The row's time if a cell of its optics differs from the end's last, else MISSING.

    An agent caches: a table counts as refreshed when any cell of it moved.
    """
    if row[Col.RX_CODE] == PowerCode.NOT_ASKED or end.rx_code == PowerCode.NOT_ASKED:
        return MISSING
    return row[Col.TIME] if list(row[_OPTICS]) != _optics_of(end) else MISSING


def optics_moved(data: Ints, live: LinkLive) -> Ints:
    """Per row: when the optics of its end were last seen to move within these rows.

    The same as the newest `moved_by` up to that row; MISSING where there was none.
    """
    moved = np.full(data.shape[1], MISSING, dtype=np.int64)
    for number, end in enumerate(live.ends):
        asked = (data[Col.END] == number) & (data[Col.RX_CODE] != PowerCode.NOT_ASKED)
        mine = np.flatnonzero(asked)
        if not len(mine):
            continue
        cells = data[_OPTICS, mine]
        times = np.full(len(mine), MISSING, dtype=np.int64)
        changed = np.any(cells[:, 1:] != cells[:, :-1], axis=0)
        times[1:][changed] = data[Col.TIME, mine[1:]][changed]
        times[0] = moved_by(end, data[:, mine[0]].tolist())
        moved[mine] = np.maximum.accumulate(times)
    return moved


def touch(end: EndLive, row: Sequence[int], moved_ms: int) -> None:
    """Take over the plain values of one row.

    A trap's time is not the switch's own of the change: the next poll brings that one.
    """
    time = row[Col.TIME]
    end.asked_ms = time
    if not row[Col.ANSWERED]:
        return
    end.heard_ms = time
    end.uptime = row[Col.UPTIME]
    if row[Col.LAST_CHANGE] != MISSING and not row[Col.BY_TRAP]:
        end.last_change = row[Col.LAST_CHANGE]
    if row[Col.MEDIA] != MISSING:
        end.media = row[Col.MEDIA]
    if row[Col.RX_CODE] != PowerCode.NOT_ASKED:
        _touch_optics(end, row, moved_ms)


def _touch_optics(end: EndLive, row: Sequence[int], moved_ms: int) -> None:
    end.moved_ms = max(end.moved_ms, moved_ms)
    end.optics_ms = row[Col.TIME]
    end.rx_code, end.rx = row[Col.RX_CODE], row[Col.RX]
    end.tx_code, end.tx = row[Col.TX_CODE], row[Col.TX]
    end.bias, end.temp, end.vcc = row[Col.BIAS], row[Col.TEMP], row[Col.VCC]
    if end.rx_code == PowerCode.MEASURED:
        end.lit_ever = True


def handle(
    live: LinkLive,
    facts: LinkFacts,
    row: Sequence[int],
    modules: Sequence[str],
    moved_ms: int,
    tell: Tell,
) -> bool:
    """Draw every conclusion from one row; `tell` is called for each event.

    True if the end has another module than before.
    """
    changed = False
    which = End(row[Col.END])
    end = live.ends[which]
    time = row[Col.TIME]
    witnesses: list[str] = []
    if not row[Col.ANSWERED]:
        _missed(end, which, time, tell)
    else:
        _answered(end, which, time, tell)
        restarted = _restart(end, which, row, tell)
        witnesses = _witnesses(end, which, row)
        flap_at = _between_polls(live, end, row, restarted=restarted)
        _admin(end, which, row, tell)
        changed = _module(end, which, row, modules, tell)
        _light(end, which, row, tell)
        _oper(end, row)
        if flap_at is not None:
            _note_flap(live, which, flap_at, witnesses[-1:], tell)
    touch(end, row, moved_ms)
    _link(live, facts, which, time, witnesses, tell)
    for each in (End.A, End.B):
        _dark(live.ends[each], each, time, tell, down=live.up is False)
    return changed


def _witnesses(end: EndLive, which: End, row: Sequence[int]) -> list[str]:
    """Who says what the row says of the port: a trap, or a poll and the time it found with it."""
    if row[Col.OPER] == MISSING:
        return []
    if row[Col.BY_TRAP]:
        return [f"trap of {which.name}"]
    own = row[Col.LAST_CHANGE] not in (MISSING, end.last_change) and end.last_change != MISSING
    return [f"poll of {which.name}", *([f"last change of {which.name}"] if own else [])]


def _witnessed(note: OutageNote, witnesses: Sequence[str]) -> OutageNote:
    new = [name for name in witnesses if name not in note.seen_by]
    return replace(note, seen_by=[*note.seen_by, *new]) if new else note


def _missed(end: EndLive, which: End, time: int, tell: Tell) -> None:
    if end.misses == 0:
        end.miss_since_ms = time
    end.misses += 1
    if end.misses == 3:
        tell(time, EventKind.NO_ANSWER, end=which, uncertainty_ms=time - end.miss_since_ms)


def _answered(end: EndLive, which: End, time: int, tell: Tell) -> None:
    if end.misses >= 3:
        tell(time, EventKind.ANSWERS_AGAIN, end=which, value=(time - end.miss_since_ms) / 1000)
    end.misses = 0
    end.miss_since_ms = MISSING


def _restart(end: EndLive, which: End, row: Sequence[int], tell: Tell) -> bool:
    old, up = end.boot_ms, row[Col.UPTIME]
    if MISSING in (old, up):
        return False
    boot = row[Col.TIME] - 10 * up
    if abs(boot - old - UPTIME_WRAP_MS) < 2 * RESTART_MS:
        return False
    # Nothing but a restart turns sysUpTime back. Where it grew, the switch began anew only if that
    # was after we last heard of it: else the record's own clock was set ahead.
    if 10 * (end.uptime - up) <= BACK_MS and boot <= max(end.heard_ms, old + RESTART_MS):
        return False
    end.boots = [*end.boots, boot][-KEPT:]
    end.last_change = MISSING
    uncertainty = max(0, row[Col.TIME] - max(end.heard_ms, boot))
    tell(boot, EventKind.RESTARTED, end=which, value=up / 100, uncertainty_ms=uncertainty)
    return True


def _between_polls(
    live: LinkLive, end: EndLive, row: Sequence[int], *, restarted: bool
) -> int | None:
    """When the port changed state although it is up now as it was before, else None."""
    change, up = row[Col.LAST_CHANGE], row[Col.UPTIME]
    still_up = end.oper == row[Col.OPER] == OperStatus.UP
    if restarted or not still_up or MISSING in (change, end.last_change, up):
        return None
    if change == end.last_change or change > up or live.up is not True:
        return None
    return row[Col.TIME] - 10 * (up - change)


def _admin(end: EndLive, which: End, row: Sequence[int], tell: Tell) -> None:
    new, old = row[Col.ADMIN], end.admin
    if new in (MISSING, old):
        return
    end.admin = new
    if new == AdminStatus.DOWN and old != MISSING:
        tell(row[Col.TIME], EventKind.PORT_OFF, end=which)
    elif old == AdminStatus.DOWN:
        tell(row[Col.TIME], EventKind.PORT_ON, end=which)


def _module(
    end: EndLive, which: End, row: Sequence[int], modules: Sequence[str], tell: Tell
) -> bool:
    index, time = row[Col.MODULE], row[Col.TIME]
    gone = row[Col.OPER] == OperStatus.NOT_PRESENT
    if gone and not end.module_gone:
        tell(time, EventKind.MODULE_REMOVED, end=which, text=end.module)
    elif end.module_gone and row[Col.OPER] != MISSING and not gone:
        tell(time, EventKind.MODULE_INSERTED, end=which)
    if row[Col.OPER] != MISSING:
        end.module_gone = gone
    name = modules[index] if index != MISSING else ""
    if not name or name == end.module:
        return False
    if not another_module(end.module, name):
        end.module = max(end.module, name, key=len)
        return False
    tell(time, EventKind.MODULE_CHANGED, end=which, text=name)
    end.module = name
    return True


def _light(end: EndLive, which: End, row: Sequence[int], tell: Tell) -> None:
    code = row[Col.RX_CODE]
    if code == PowerCode.NO_LIGHT and end.dark_since_ms == MISSING:
        end.dark_since_ms = row[Col.TIME]
    elif code == PowerCode.MEASURED and end.dark_since_ms != MISSING:
        if end.dark_told:
            lasted = (row[Col.TIME] - end.dark_since_ms) / 1000
            direction = Direction.seen_by(which)
            tell(row[Col.TIME], EventKind.LIGHT_BACK, end=which, direction=direction, value=lasted)
        end.dark_since_ms, end.dark_told = MISSING, False


def _dark(end: EndLive, which: End, time: int, tell: Tell, *, down: bool) -> None:
    """Light counts as lost with the link down, or when it has stayed away for two readings."""
    if end.dark_since_ms == MISSING or end.dark_told:
        return
    if down or end.optics_ms - end.dark_since_ms >= DARK_MS:
        end.dark_told = True
        if end.lit_ever:
            direction = Direction.seen_by(which)
            late = time - end.dark_since_ms
            tell(
                end.dark_since_ms,
                EventKind.LIGHT_LOST,
                end=which,
                direction=direction,
                uncertainty_ms=late,
            )


def _oper(end: EndLive, row: Sequence[int]) -> None:
    new = row[Col.OPER]
    if new not in (MISSING, end.oper):
        end.oper, end.oper_since_ms = new, row[Col.TIME]


def _opinion(end: EndLive) -> bool | None:
    if end.answers is not True or end.oper == MISSING:
        return None
    if end.oper == OperStatus.UP:
        return True
    return False if end.oper in _DOWN else None


def _link(
    live: LinkLive,
    facts: LinkFacts,
    which: End,
    time: int,
    witnesses: Sequence[str],
    tell: Tell,
) -> None:
    """Up if an end says so and none says down; an end that is silent has no vote."""
    votes = [
        _opinion(end) for end, managed in zip(live.ends, facts.managed, strict=True) if managed
    ]
    known = [vote for vote in votes if vote is not None]
    if not known:
        return
    up = all(known)
    if up is live.up:
        if live.down_now is not None and facts.managed[which] and _says_down(live.ends[which]):
            live.down_now = _witnessed(live.down_now, witnesses)
        return
    before = live.up
    live.up = up
    live.up_ever |= up
    own = f"last change of {which.name}" in witnesses
    start = _refined(live.ends[which], time, live.last_ms) if own else time
    if before is None:
        live.up_since_ms = time
        if not up:
            live.down_now = OutageNote(time, MISSING, 0, list(witnesses))
        return
    live.up_since_ms = start
    if up:
        _came_up(live, which, start, witnesses, tell)
    else:
        by_trap = witnesses == [f"trap of {which.name}"]
        late = 0 if start != time or by_trap else time - live.last_ms
        live.down_now = OutageNote(start, MISSING, late, list(witnesses))
        live.down_hours = times_down.counted(live.down_hours, start)
        tell(start, EventKind.LINK_DOWN, end=which, uncertainty_ms=late)


def _says_down(end: EndLive) -> bool:
    return _opinion(end) is False


def _refined(end: EndLive, time: int, last_ms: int) -> int:
    """The switch's own time of the change that this row brought, if it can be the one seen."""
    if MISSING in (end.last_change, end.uptime) or end.last_change > end.uptime:
        return time
    own = end.heard_ms - 10 * (end.uptime - end.last_change)
    return own if last_ms - SAME_FLAP_MS <= own <= time and end.oper_since_ms == time else time


def _came_up(live: LinkLive, which: End, start: int, witnesses: Sequence[str], tell: Tell) -> None:
    down = live.down_now
    live.down_now = None
    if down is None:
        return
    over = replace(_witnessed(down, witnesses), to_ms=max(start, down.from_ms))
    live.outages = [*live.outages, over][-KEPT:]
    tell(start, EventKind.LINK_UP, end=which, value=(over.to_ms - over.from_ms) / 1000)


def _note_flap(
    live: LinkLive, which: End, at_ms: int, witnesses: Sequence[str], tell: Tell
) -> None:
    """A flap that no poll saw; the same one seen from both ends or twice is one.

    The switch remembers when the port came up; it went down at some time after the poll before.
    """
    for notes in (live.outages, live.flaps):
        for place in range(max(0, len(notes) - 2), len(notes)):
            if _same_flap(notes[place], at_ms):
                notes[place] = _witnessed(notes[place], witnesses)
                return
    late = max(0, at_ms - live.ends[which].heard_ms)
    live.flaps = [*live.flaps, OutageNote(at_ms, at_ms, late, list(witnesses))][-KEPT:]
    live.down_hours = times_down.counted(live.down_hours, at_ms)
    tell(at_ms, EventKind.FLAP_BETWEEN_POLLS, end=which, uncertainty_ms=late)


def _same_flap(note: OutageNote, at_ms: int) -> bool:
    return note.from_ms - SAME_FLAP_MS <= at_ms <= note.to_ms + SAME_FLAP_MS
