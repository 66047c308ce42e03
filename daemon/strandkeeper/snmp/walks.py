"""One column walked row by row: within bounds of rows, octets, time and rate, away from loops."""

from __future__ import annotations

import asyncio
import time
from dataclasses import dataclass, field

from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.snmp.endpoint import Endpoint
from strandkeeper.snmp.exchange import Exchanges, TooLargeError
from strandkeeper.snmp.pdus import Reply

__all__ = ["Bounds", "Walk", "broken_off", "walk_column"]

_TOO_BIG, _NO_SUCH_NAME = 1, 2  # RFC 3416 error-status
_REPETITIONS = 24
_LONGEST_OID = 128  # numbers; RFC 2578, 3.5
_SMALLER_STEPS = 8  # requests that bring nothing but the size that works
_FIRST_REPETITIONS = 16  # most columns are short; what lies behind them is read for nothing


@dataclass(frozen=True, slots=True)
class Walk:
    """The rows of one column by index; `remark` says why it ended early, empty if it did not."""

    rows: dict[Oid, Value]
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What one walk may take: rows, octets of texts, seconds; `pause_s` between two requests.

    The time is looked at between requests, so that one more may be waited for.
    """

    rows: int = 8192
    octets: int = 4 << 20
    seconds: float = 120.0
    pause_s: float = 0.0


@dataclass(slots=True)
class _Taken:
    """The rows that came, in order, until something says that no more shall."""

    column: Oid
    last: Oid
    bounds: Bounds
    rows: dict[Oid, Value] = field(default_factory=dict)
    octets: int = 0

    def take(self, reply: Reply) -> Walk | None:
        """Add an answer's rows. The walk as it stands if that was its end."""
        for oid, value in reply.varbinds:
            if oid[: len(self.column)] != self.column or value is Absent.END_OF_VIEW:
                return Walk(self.rows)
            if len(oid) > _LONGEST_OID:
                return self.stopped("the switch gave an index longer than SNMP allows")
            if oid <= self.last:
                return self.stopped("the switch gave rows out of order, so the walk was stopped")
            self.rows[oid[len(self.column) :]] = value
            self.last = oid
            self.octets += len(value) if isinstance(value, bytes) else 0
            if len(self.rows) >= self.bounds.rows:
                return self.stopped(f"the walk was stopped after {self.bounds.rows} rows")
            if self.octets > self.bounds.octets:
                return self.stopped(f"the walk was stopped after {self.bounds.octets} octets")
        return None if reply.varbinds else self.stopped(broken_off(reply.error_status))

    def stopped(self, remark: str) -> Walk:
        """The walk as it stands."""
        return Walk(self.rows, remark)


async def walk_column(
    exchanges: Exchanges,
    endpoint: Endpoint,
    column: Oid,
    bounds: Bounds,
    *,
    after: Oid | None,
    suspect: bool,
) -> Walk:
    """Walk one column, `after` one of its objects if given. Raises what exchanges raise."""
    bulk = endpoint.opening.model > 0
    most = min(_REPETITIONS, endpoint.size.limit)
    repetitions = min(_FIRST_REPETITIONS, most)
    taken = _Taken(column, column if after is None else after, bounds)
    ends_s = time.monotonic() + bounds.seconds
    for turn in range(bounds.rows + _SMALLER_STEPS):
        if time.monotonic() > ends_s:
            return taken.stopped(f"the walk was stopped after {bounds.seconds:.3g} s")
        if turn and bounds.pause_s:
            await asyncio.sleep(bounds.pause_s)
        try:
            steps = repetitions if bulk else 0
            reply = await exchanges.after(endpoint, taken.last, steps, suspect=suspect)
            if reply.error_status == _TOO_BIG and bulk:
                raise TooLargeError  # noqa: TRY301  # as if it had been silent to it
        except TooLargeError:
            bulk = repetitions > 1
            repetitions = most = max(1, repetitions // 2)
            continue
        if reply.error_status and bulk and repetitions > 1:
            repetitions = 1  # one object spoils the answer: those before it come one by one
            continue
        if reply.error_status:
            return taken.stopped(broken_off(reply.error_status))
        if (ended := taken.take(reply)) is not None:
            return ended
        repetitions = min(most, 2 * repetitions)
    return taken.stopped("the walk took too many requests and was stopped")


def broken_off(error_status: int) -> str:
    """Why a walk ended at this error; empty if it is how a v1 agent says that there is no more."""
    if error_status == _NO_SUCH_NAME:
        return ""
    return f"the switch broke the walk off (error {error_status})"
