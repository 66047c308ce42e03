"""Counters to counts of an interval: right or unknown, never negative, never a spike.

What can make a difference wrong, and what is done (RFC 2863 for the counters; the guards are
common practice, no source):
- the switch restarted, or says that its counters were interrupted: everything unknown;
- a 64-bit counter went back: it was reset; unknown;
- a 32-bit counter went back: one turn is added if the result is possible at the port's speed; and a
  32-bit octet counter that may have turned more than once in the time is unknown either way;
- a jump without a restart (some agents add 2^32 when they make a device anew): more octets or
  frames than the line carries, or octets per frame that no frame has, and the whole interval of
  that port is unknown;
- an agent that has just begun may answer octets at once, but frames as 0 until it first reads its
  counters (seen for 3 s): octets without any frame cannot be, so those zeros are no beginning.
Agents refresh their counters every few to sixty seconds, so what arrives in one interval may have
happened in several: possible is what fits into the time since the counter last moved, at most two
minutes more than the interval.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from strandkeeper.model.reading import Deltas

__all__ = ["Count", "CounterState", "Counters", "advance_counters"]

_TURN_32 = 1 << 32
_OCTETS = frozenset({"in_octets", "out_octets"})
_TELLING_FRAMES = 1000
_OVERHEAD_BITS = 672  # the shortest frame on the line: 64 octets, preamble and gap (IEEE 802.3)
_SLACK = 1.05  # clocks of switch and computer differ, and the agent reads at its own instant
_CACHE_S = 120.0  # twice the longest refresh seen
_SHORTEST_FRAME, _LONGEST_FRAME = 42, 9216 + 30  # octets; without FCS on some agents
_YOUNG_CS = 500  # zeros were seen for 3 s
_UNKNOWN_FRAME_RATE = 1.5e8  # 100 Gbit/s, where the speed is not known


@dataclass(frozen=True, slots=True)
class Count:
    """One reading of one counter: its value and its width in bits."""

    value: int
    bits: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Counters:
    """The counters of one port at one instant; missing ones are left out.

    `at_s` is the poller's monotonic clock; `discontinuity_cs` ifCounterDiscontinuityTime;
    `speed_mbps` the last speed seen while the port was up. `whole_frames`: in_frames counts
    unicast, multicast and broadcast, so that it can be held against the octets. `uptime_cs` is the
    agent's own, from the same answer.
    """

    at_s: float
    counts: Mapping[str, Count]
    discontinuity_cs: int | None = None
    speed_mbps: int | None = None
    whole_frames: bool = True
    uptime_cs: int | None = None


@dataclass(frozen=True, slots=True)
class CounterState:
    """What must be kept from poll to poll: the last counters, and when each last moved."""

    last: Counters | None = None
    interval_s: float = 0.0
    moved_s: Mapping[str, float] = field(default_factory=dict)


def advance_counters(
    state: CounterState, now: Counters, *, restarted: bool
) -> tuple[CounterState, Deltas]:
    """The counts since the last poll, and the state for the next."""
    now = _without_early_zeros(now)
    before = state.last
    if before is None or restarted or before.discontinuity_cs != now.discontinuity_cs:
        fresh = dict.fromkeys(now.counts, now.at_s)
        return CounterState(now, 0.0, fresh), Deltas()
    interval_s = max(0.0, now.at_s - before.at_s)
    found: dict[str, int | None] = {}
    moved = dict(state.moved_s)
    possible = True
    for name, count in now.counts.items():
        earlier = before.counts.get(name)
        if earlier is None or earlier.bits != count.bits:
            found[name], moved[name] = None, now.at_s
            continue
        since_s = min(now.at_s - moved.get(name, before.at_s), interval_s + _CACHE_S)
        ceiling = _most(name, since_s + max(interval_s, state.interval_s) + 1.0, now.speed_mbps)
        found[name], fits = _difference(
            name, earlier, count, ceiling, may_turn=bool(now.speed_mbps)
        )
        possible = possible and fits
        if earlier.value != count.value:
            moved[name] = now.at_s
    possible = possible and _frames_are_frames(
        found, whole=before.whole_frames and now.whole_frames
    )
    deltas = Deltas(**found) if possible else Deltas()
    return CounterState(now, interval_s, moved), deltas


def _without_early_zeros(now: Counters) -> Counters:
    """The counters without the zeros that are not read yet: frames and errors beside octets."""
    octets, frames = now.counts.get("in_octets"), now.counts.get("in_frames")
    if not now.whole_frames or now.uptime_cs is None or now.uptime_cs > _YOUNG_CS:
        return now
    if octets is None or frames is None or octets.value == 0 or frames.value > 0:
        return now
    read = {n: c for n, c in now.counts.items() if n in _OCTETS or c.value > 0}
    return replace(now, counts=read)


def _most(name: str, span_s: float, speed_mbps: int | None) -> float | None:
    """The most that the line can add to a counter in a span; None: octets at an unknown speed."""
    if name in _OCTETS:
        return None if not speed_mbps else speed_mbps * 1e6 / 8 * span_s * _SLACK + _LONGEST_FRAME
    rate = speed_mbps * 1e6 / _OVERHEAD_BITS if speed_mbps else _UNKNOWN_FRAME_RATE
    return rate * span_s * _SLACK + 1


def _difference(
    name: str, before: Count, now: Count, ceiling: float | None, *, may_turn: bool
) -> tuple[int | None, bool]:
    """The count, or None where it is not known; False where the interval as a whole is in doubt."""
    difference = now.value - before.value
    narrow, octets = now.bits == 32, name in _OCTETS
    if narrow and octets and (ceiling is None or ceiling >= _TURN_32):
        return (0 if difference == 0 else None), True
    if difference < 0 and narrow:
        turned = difference + _TURN_32
        most = (ceiling or 0) if octets else min(ceiling or 0, _TURN_32 / 2)
        return (turned, True) if may_turn and turned <= most else (None, False)
    if difference < 0 or (ceiling is not None and difference > ceiling):
        return None, False
    return difference, True


def _frames_are_frames(found: Mapping[str, int | None], *, whole: bool) -> bool:
    """Octets per frame must be those of a frame, where enough came to tell and all are counted."""
    octets, frames = found.get("in_octets"), found.get("in_frames")
    if not whole or octets is None or frames is None:
        return True
    if frames < _TELLING_FRAMES and octets < _TELLING_FRAMES * _LONGEST_FRAME:
        return True
    return _SHORTEST_FRAME * frames <= octets <= _LONGEST_FRAME * frames
