"""Whether work on a link may be accepted: loss, margin, no flap, enough bits without an error."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.analysis.rework import MATING
from strandkeeper.model.names import Direction
from strandkeeper.model.reading import EndRow
from strandkeeper.model.rework import Check, CheckKind, Counted, Outcome, Side
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.confidence import bits_needed, error_ratio_lower
from strandkeeper.optics.units import Db, Dbm

__all__ = ["FIRST_STAGE", "Demands", "acceptance_checks", "count_bits", "outcome_of"]

FIRST_STAGE: Final = 1e-10
_MOST_ERRORS: Final = 1_000_000  # as many as optics.confidence can judge
# line bits for each octet of a frame, by line rate [Bd]: 4B/5B, 8B/10B (10 for 8), 64B/66B
_CODES: Final = {125e6: (10, 1), 1.25e9: (10, 1), 10.3125e9: (33, 4)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Demands:
    """What one direction is held against. None: not known, so that check is left out of the sum.

    `bench` is transmit - receive of the same modules over one short cord; `old` the loss when it
    was last good; `reserve` what margin to keep, accuracy included.
    """

    planned_limit: Db | None = None
    bench: Db | None = None
    old: Interval | None = None
    matings: int = 1
    sensitivity: Dbm | None = None
    reserve: Db = Db(6.0)
    ber_objective: float = 1e-12


def count_bits(
    counted: Counted,
    rows: Sequence[EndRow],
    direction: Direction,
    *,
    from_ms: int,
    line_rate_bd: float | None,
) -> Counted:
    """Add the line bits and damaged frames that the receiver's counters prove.

    Parameters
    ----------
    counted : Counted [bit]
        What was counted so far; rows up to its `through_ms` are not counted again.
    rows : sequence of EndRow [-]
        Of both ends, in recorded order.
    direction : Direction [-]
        Which way the light goes.
    from_ms : int [ms]
        Record time at which counting begins. The first row after it only marks where the
        counters stood: part of what it counts came before.
    line_rate_bd : float or None [Bd]
        1.25e9 for gigabit: an octet is then ten line bits. None or another: eight bits an octet.

    Returns
    -------
    Counted [bit]
        Never more than was checked: octets of frames alone, no preamble, no idle.

    Raises
    ------
    Nothing.

    Notes
    -----
    A difference that a restart, a reset or a silence made unknown is not counted, and the row adds
    to `unknown`. A frame with several bad bits counts as one error.

    Source
    ------
    IEEE 802.3 clauses 24, 36, 49 for the codes (from memory, unconfirmed); RFC 2863 for octets.

    Example
    -------
    >>> from strandkeeper.model.names import End
    >>> from strandkeeper.model.reading import Deltas
    >>> new = Deltas(in_octets=1000, fcs_errors=0)
    >>> rows = [EndRow(time_ms=t, end=End.B, deltas=new) for t in (10, 20, 30)]
    >>> count_bits(Counted(), rows, Direction.AB, from_ms=5, line_rate_bd=1.25e9).bits
    20000
    """
    bits, unit = _CODES.get(line_rate_bd or 0.0, (8, 1))
    octets, total = 0, counted
    for row in rows:
        if row.end is not direction.receiver or row.time_ms <= max(total.through_ms, from_ms - 1):
            continue
        last_ms, total = total.through_ms, replace(total, through_ms=row.time_ms)
        if not row.answered or last_ms < from_ms:
            continue
        new = row.deltas
        if new.in_octets is None or new.fcs_errors is None:
            total = replace(total, unknown=total.unknown + 1)
            continue
        octets += new.in_octets
        total = replace(
            total,
            errors=total.errors + new.fcs_errors,
            counted_ms=total.counted_ms + row.time_ms - last_ms,
        )
    return replace(total, bits=total.bits + octets * bits // unit)


def acceptance_checks(
    demands: Demands, after: Side, counted: Counted, *, flaps: int, up: bool | None
) -> tuple[Check, ...]:
    """Every line of the acceptance of one direction.

    Parameters
    ----------
    demands : Demands [dB]
        What it is held against.
    after : Side [dB]
        The direction since the work.
    counted : Counted [bit]
        Since the work.
    flaps : int [-, >= 0]
        How often the link went down since the work ended.
    up : bool or None [-]
        Whether the link is up now; None: not known.

    Returns
    -------
    tuple of Check [dB, bit]
        In a fixed order. Pending until there are readings, or until enough bits have passed.

    Raises
    ------
    Nothing.

    Notes
    -----
    Bits are staged: 1e-10 first, then the objective of the class of optic. Each needs
    N·p = ½·χ²(95 %, 2E + 2) for E damaged frames, and has failed once the smallest error ratio that
    agrees with them (95 %) is above it.

    Source
    ------
    MIL-STD-2042-6B method 6E1 for loss (at or below the limit: accept); Poisson confidence as in
    optics.confidence; the rest own design, no source.

    Example
    -------
    >>> side = Side(from_ms=0, to_ms=0)
    >>> [c.outcome.value for c in acceptance_checks(Demands(), side, Counted(), flaps=0, up=True)]
    ['pending', 'unknown', 'unknown', 'passed', 'pending', 'pending']
    """
    stages = [(CheckKind.BITS, demands.ber_objective)]
    if demands.ber_objective < FIRST_STAGE:
        stages.insert(0, (CheckKind.BITS_STAGE, FIRST_STAGE))
    return (
        _in_budget(demands, after),
        _as_before(demands, after),
        _margin(demands, after),
        _no_flap(flaps, up),
        *(_bits(kind, ratio, counted) for kind, ratio in stages),
    )


def _in_budget(demands: Demands, after: Side) -> Check:
    kind = CheckKind.LOSS_IN_BUDGET
    if after.level is None:
        return Check(kind=kind, outcome=Outcome.PENDING)
    if demands.planned_limit is None or not after.by_loss:
        return Check(kind=kind, outcome=Outcome.UNKNOWN)
    loss = after.level.value - (0.0 if demands.bench is None else demands.bench.value)
    return _at_most(kind, loss, demands.planned_limit.value)


def _as_before(demands: Demands, after: Side) -> Check:
    kind, old = CheckKind.LOSS_AS_BEFORE, demands.old
    if old is None:
        return Check(kind=kind, outcome=Outcome.UNKNOWN)
    if after.level is None:
        return Check(kind=kind, outcome=Outcome.PENDING)
    uncertainty = (old.high - old.low) / 2 + (after.level.high - after.level.low) / 2
    allowed = uncertainty + (MATING * demands.matings).value
    return _at_most(kind, after.level.value - old.value, allowed)


def _margin(demands: Demands, after: Side) -> Check:
    kind = CheckKind.MARGIN
    if demands.sensitivity is None:
        return Check(kind=kind, outcome=Outcome.UNKNOWN)
    if after.rx_dbm is None:
        return Check(kind=kind, outcome=Outcome.PENDING)
    got = after.rx_dbm - demands.sensitivity.value
    outcome = Outcome.PASSED if round(got - demands.reserve.value, 3) >= 0 else Outcome.FAILED
    return Check(kind=kind, outcome=outcome, got=got, limit=demands.reserve.value)


def _at_most(kind: CheckKind, got: float, limit: float) -> Check:
    outcome = Outcome.PASSED if round(got - limit, 3) <= 0 else Outcome.FAILED
    return Check(kind=kind, outcome=outcome, got=got, limit=limit)


def _no_flap(flaps: int, up: bool | None) -> Check:
    if flaps:
        outcome = Outcome.FAILED
    else:
        outcome = {True: Outcome.PASSED, False: Outcome.PENDING, None: Outcome.UNKNOWN}[up]
    return Check(kind=CheckKind.NO_FLAP, outcome=outcome, got=float(flaps), limit=0.0)


def _bits(kind: CheckKind, ratio: float, counted: Counted) -> Check:
    errors, bits = counted.errors, counted.bits
    needed = None if errors > _MOST_ERRORS else math.ceil(bits_needed(ratio, errors=errors))
    check = Check(
        kind=kind,
        outcome=Outcome.PENDING,
        got=float(bits),
        limit=None if needed is None else float(needed),
        ratio=ratio,
        errors=errors,
    )
    if needed is None or (errors and bits and error_ratio_lower(errors, bits) > ratio):
        return replace(check, outcome=Outcome.FAILED)
    if bits >= needed:
        return replace(check, outcome=Outcome.PASSED, left_s=0.0)
    if not bits or not counted.counted_ms:
        never = counted.unknown > 0 and not counted.counted_ms
        return replace(check, outcome=Outcome.UNKNOWN if never else Outcome.PENDING)
    return replace(check, left_s=(needed - bits) * counted.counted_ms / 1000 / bits)


def outcome_of(checks: Sequence[Check]) -> Outcome:
    """The acceptance as a whole.

    Parameters
    ----------
    checks : sequence of Check [-]
        Of one direction, or of both.

    Returns
    -------
    Outcome [-]
        Failed if one failed, pending if one is, else passed; unknown if none is known.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> outcome_of([])
    <Outcome.UNKNOWN: 'unknown'>
    """
    found = {check.outcome for check in checks}
    for outcome in (Outcome.FAILED, Outcome.PENDING, Outcome.PASSED):
        if outcome in found:
            return outcome
    return Outcome.UNKNOWN
