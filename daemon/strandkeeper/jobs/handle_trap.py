"""What a switch says by itself, taken as a row of the record; and polls that know less than it.

Agents cache: for a while after a trap a poll may still tell the state before it. A trap therefore
outranks polls until the cache time has passed, unless a poll shows a later change. Order is decided
by the switch's own clock in the trap, not by arrival.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.model.poll import LinkEnd, PortIdentity, SwitchPoll
from strandkeeper.model.reading import Deltas, EndRow, OperStatus
from strandkeeper.model.trap import Trap, TrapKind

__all__ = ["CACHE_S", "TrapDesk"]

CACHE_S: Final = 30
SLACK_CS: Final = 100  # a trap leaves a moment after the change it tells of
LATE_CS: Final = 600 * 100  # what is older by more is from before a restart, or after one

OPER: Final = {TrapKind.LINK_DOWN: OperStatus.DOWN, TrapKind.LINK_UP: OperStatus.UP}
_NOTHING: Final = Deltas(in_octets=0, out_octets=0, in_frames=0, fcs_errors=0, symbol_errors=0)


@dataclass(frozen=True, slots=True)
class _Told:
    at_ms: int
    oper: OperStatus
    uptime_cs: int | None


@dataclass(frozen=True, slots=True)
class _Polled:
    last_change_cs: int | None
    uptime_cs: int | None


class TrapDesk:
    """Knows of each end what it was told last, by trap and by poll."""

    def __init__(self, cache_s: float = CACHE_S) -> None:
        self._cache_ms = round(cache_s * 1000)
        self._told: dict[LinkEnd, _Told] = {}
        self._polled: dict[LinkEnd, _Polled] = {}

    def row_of(
        self, trap: Trap, ports: Mapping[LinkEnd, PortIdentity], now_ms: int
    ) -> tuple[LinkEnd, EndRow] | None:
        """The row that a trap makes; None: about no watched port, or overtaken by what is known."""
        oper = OPER.get(trap.kind)
        where = next((w for w, p in ports.items() if p.if_index == trap.if_index), None)
        if oper is None or where is None or self._is_old(where, trap.uptime_cs):
            return None
        self._told[where] = _Told(now_ms, oper, trap.uptime_cs)
        row = EndRow(
            time_ms=now_ms,
            end=where.end,
            oper=oper,
            uptime_cs=trap.uptime_cs,
            last_change_cs=trap.uptime_cs,
            deltas=_NOTHING,
            by_trap=True,
        )
        return where, row

    def outrank(self, poll: SwitchPoll) -> SwitchPoll:
        """The poll with the states that a trap told more recently than the agent's cache knows."""
        rows = tuple((where, self._outranked(where, row)) for where, row in poll.rows)
        for where, row in poll.rows:
            if row.answered:
                self._polled[where] = _Polled(row.last_change_cs, row.uptime_cs)
        return replace(poll, rows=rows)

    def _outranked(self, where: LinkEnd, row: EndRow) -> EndRow:
        told = self._told.get(where)
        if told is None or not row.answered or row.oper == told.oper:
            return row
        if row.time_ms - told.at_ms >= self._cache_ms or _is_later(row, told):
            del self._told[where]
            return row
        return replace(row, oper=told.oper, last_change_cs=None, by_trap=True)

    def _is_old(self, where: LinkEnd, uptime_cs: int | None) -> bool:
        """Whether the same run of the switch has told something later already."""
        told, polled = self._told.get(where), self._polled.get(where)
        if uptime_cs is None:
            return False
        if told is not None and _precedes(uptime_cs, told.uptime_cs):
            return True
        if polled is None or polled.last_change_cs is None or polled.uptime_cs is None:
            return False
        same_run = polled.uptime_cs - uptime_cs < LATE_CS
        return same_run and polled.last_change_cs > uptime_cs + SLACK_CS


def _is_later(row: EndRow, told: _Told) -> bool:
    """Whether a poll shows a change after the one that the trap told, or another run."""
    if told.uptime_cs is None:
        return False
    if row.uptime_cs is not None and row.uptime_cs < told.uptime_cs - SLACK_CS:
        return True
    return row.last_change_cs is not None and row.last_change_cs > told.uptime_cs + SLACK_CS


def _precedes(uptime_cs: int, other_cs: int | None) -> bool:
    return other_cs is not None and 0 < other_cs - uptime_cs < LATE_CS
