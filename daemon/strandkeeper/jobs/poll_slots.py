"""When which switch is asked: a table on the monotonic clock, without a clock of its own.

Use, once a second:

    table = PollTable([...switches...], [(switch at A, switch at B), ...], status_s=10,
                      optics_s=30, now_s=monotonic())
    for due in table.due(monotonic()):        # each is now counted as being polled
        poll = await poller.poll(record_ms, optics=due.optics)
        table.finished(due.switch, monotonic(), answered=poll.answered)

Rules:
- the switches are spread over one status interval; both ends of a link share a slot, except where
  so many switches hang together that they would all be asked in one second;
- the light is read at the first poll, and from then on by groups in turn over the optics interval;
- a poll that is late is made once, at once, and never dropped; the rhythm stays as it was;
- a switch still being polled when it is due again is skipped and counted;
- a silent switch is asked as usual three times, then at doubling intervals up to `back_off_s`, so
  that its return is noticed within that; what is asked of it then includes the optics.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from strandkeeper.model.names import SwitchName

__all__ = ["BACK_OFF_S", "Due", "PollTable", "back_off", "slots"]

BACK_OFF_S = 30.0
_PATIENT_MISSES = 3


@dataclass(frozen=True, slots=True)
class Due:
    """Ask this switch now; `optics` with its light readings, else state and counters only."""

    switch: SwitchName
    optics: bool


@dataclass(slots=True)
class _Entry:
    status_s: float
    optics_s: float
    due_s: float
    optics_due_s: float
    started_s: float = 0.0
    busy: bool = False
    misses: int = 0
    skipped: int = 0


def back_off(status_s: float, misses: int, longest_s: float = BACK_OFF_S) -> float:
    """Seconds until the next poll after `misses` silent ones in a row."""
    doublings = min(30, max(0, misses - _PATIENT_MISSES + 1))
    return float(min(max(longest_s, status_s), status_s * 2**doublings))


def slots(
    switches: Sequence[SwitchName], pairs: Iterable[tuple[SwitchName, SwitchName]], count: int
) -> dict[SwitchName, int]:
    """The slot of each switch, 0 to count - 1; what hangs together stays together if it fits."""
    room = max(2, math.ceil(len(switches) / max(1, count)))
    placed: dict[SwitchName, int] = {}
    slot, used = 0, 0
    for group in _groups(switches, pairs):
        if used and used + min(len(group), room) > room:
            slot, used = slot + 1, 0
        for switch in group:
            if used >= room:
                slot, used = slot + 1, 0
            placed[switch] = slot % count
            used += 1
    return placed


def _turns(
    switches: Sequence[SwitchName], pairs: Iterable[tuple[SwitchName, SwitchName]], rounds: int
) -> dict[SwitchName, int]:
    """In which of the status rounds of an optics interval each switch is asked for its light.

    Neighbours alike, so that both ends of a link are read together; the others in turn, so that
    not all the light of a station is read in the same round.
    """
    groups = _groups(switches, pairs)
    return {switch: number % rounds for number, group in enumerate(groups) for switch in group}


def _groups(
    switches: Sequence[SwitchName], pairs: Iterable[tuple[SwitchName, SwitchName]]
) -> list[list[SwitchName]]:
    """Switches joined by links, neighbours next to each other."""
    beside: dict[SwitchName, list[SwitchName]] = {s: [] for s in switches}
    for a, b in pairs:
        if a in beside and b in beside and a != b:
            beside[a].append(b)
            beside[b].append(a)
    seen: set[SwitchName] = set()
    groups = []
    for start in switches:
        if start in seen:
            continue
        seen.add(start)
        group, queue = [], deque([start])
        while queue:
            here = queue.popleft()
            group.append(here)
            fresh = [s for s in dict.fromkeys(beside[here]) if s not in seen]
            seen.update(fresh)
            queue.extend(fresh)
        groups.append(group)
    return groups


class PollTable:
    """Which switches are due. All times are monotonic seconds given by the caller."""

    def __init__(
        self,
        switches: Sequence[SwitchName],
        pairs: Iterable[tuple[SwitchName, SwitchName]] = (),
        *,
        status_s: float,
        optics_s: float,
        now_s: float,
        back_off_s: float = BACK_OFF_S,
    ) -> None:
        self._back_off_s = back_off_s
        count = max(1, int(status_s))
        rounds = max(1, int(optics_s // status_s))
        pairs = list(pairs)
        turn = _turns(switches, pairs, rounds)
        self._entries: dict[SwitchName, _Entry] = {}
        for switch, slot in slots(switches, pairs, count).items():
            first = now_s + slot * status_s / count
            # Due at once, and then in the round whose turn it is.
            optics_due_s = first - turn[switch] * status_s
            self._entries[switch] = _Entry(status_s, optics_s, first, optics_due_s)

    @property
    def skipped(self) -> dict[SwitchName, int]:
        """How often each switch was skipped because it was still being polled."""
        return {switch: e.skipped for switch, e in self._entries.items()}

    @property
    def being_polled(self) -> frozenset[SwitchName]:
        """The switches whose poll was handed out and has not been reported as finished."""
        return frozenset(switch for switch, e in self._entries.items() if e.busy)

    def due(self, now_s: float) -> list[Due]:
        """The polls to start now, in slot order; they count as running until `finished`."""
        late = sorted((e.due_s, switch) for switch, e in self._entries.items() if e.due_s <= now_s)
        return [d for _, switch in late if (d := self._start(switch, now_s)) is not None]

    def hasten(self, switch: SwitchName, now_s: float) -> None:
        """Ask this switch at the next look: it has said that something happened."""
        entry = self._entries.get(switch)
        if entry is not None and not entry.busy:
            entry.due_s = min(entry.due_s, now_s)

    def _start(self, switch: SwitchName, now_s: float) -> Due | None:
        entry = self._entries[switch]
        was_due_s, entry.due_s = entry.due_s, _next(entry.due_s, entry.status_s, now_s)
        if entry.busy:
            entry.skipped += 1
            return None
        entry.busy, entry.started_s = True, was_due_s
        optics = entry.misses >= _PATIENT_MISSES or entry.optics_due_s <= now_s
        if entry.optics_due_s <= now_s:
            entry.optics_due_s = _next(entry.optics_due_s, entry.optics_s, now_s)
        return Due(switch, optics)

    def finished(self, switch: SwitchName, now_s: float, *, answered: bool) -> None:
        """A poll ended. A silent switch waits longer; one that answers keeps its rhythm."""
        entry = self._entries[switch]
        entry.busy = False
        entry.misses = 0 if answered else entry.misses + 1
        wait_s = back_off(entry.status_s, entry.misses, self._back_off_s)
        entry.due_s = max(entry.due_s, min(now_s, entry.started_s) + wait_s)

    def set_intervals(
        self, switch: SwitchName, now_s: float, *, status_s: float, optics_s: float
    ) -> None:
        """Ask a switch at another rate from now on (a live request, a slower refresh)."""
        entry = self._entries[switch]
        if (entry.status_s, entry.optics_s) == (status_s, optics_s):
            return
        entry.status_s, entry.optics_s = status_s, optics_s
        entry.due_s = min(entry.due_s, now_s + status_s)
        entry.optics_due_s = min(entry.optics_due_s, now_s + optics_s)


def _next(due_s: float, interval_s: float, now_s: float) -> float:
    """The next time of the same rhythm that lies in the future."""
    return due_s + interval_s * max(1, math.floor((now_s - due_s) / interval_s) + 1)
