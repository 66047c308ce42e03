"""The verdict: every figure and finding of a link, from its state."""

from __future__ import annotations

from typing import Final

from strandkeeper.analysis import errors, findings, forecast, trend_words
from strandkeeper.analysis.conditions import key_of
from strandkeeper.analysis.loss import resolution, strand_loss
from strandkeeper.analysis.margin import headroom, margin
from strandkeeper.analysis.slow import BaselineNote, DirectionSlow
from strandkeeper.analysis.state import EndLive, LinkLive, LinkState, OutageNote
from strandkeeper.analysis.times_down import DAY_HOURS, FORTNIGHT_HOURS, WEEK_HOURS, times_down
from strandkeeper.analysis.windows import PAIR_MS
from strandkeeper.model.block import MISSING, PowerCode
from strandkeeper.model.finding import Cause, FindingKind
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    EndState,
    Flap,
    Interval,
    LinkVerdict,
    Outage,
)
from strandkeeper.optics.units import Db, Dbm

SHOWN: Final = 32
Z95: Final = 1.96
WANDER_HOURS: Final = 24  # fewer closed hours say nothing of how the level wanders


def build(facts: LinkFacts, state: LinkState) -> LinkVerdict:
    """Everything there is to say now."""
    live = state.live
    flap_ms = facts.thresholds.link_down_tell_s * 1000
    short = [n for n in live.outages if n.to_ms - n.from_ms < flap_ms]
    long = [n for n in live.outages if n.to_ms - n.from_ms >= flap_ms]
    if live.down_now is not None:
        long.append(live.down_now)
    return LinkVerdict(
        link=facts.name,
        at_ms=0 if live.last_ms == MISSING else live.last_ms,
        a=_end(facts, live, End.A),
        b=_end(facts, live, End.B),
        ab=_direction(facts, state, Direction.AB),
        ba=_direction(facts, state, Direction.BA),
        up=live.up,
        up_since_ms=_known(live.up_since_ms),
        findings=findings.build(facts, state),
        flaps=tuple(map(_flap, sorted([*live.flaps, *short], key=lambda n: n.from_ms)[-SHOWN:])),
        outages=tuple(map(_outage, long[-SHOWN:])),
        downs_24h=times_down(live, DAY_HOURS),
        downs_7d=times_down(live, WEEK_HOURS),
        downs_14d=times_down(live, FORTNIGHT_HOURS),
    )


def _known(value: int) -> int | None:
    return None if value == MISSING else value


def _scaled(value: int, unit: float) -> float | None:
    return None if value == MISSING else value / unit


def _flap(note: OutageNote) -> Flap:
    seen = tuple(note.seen_by)
    return Flap(
        from_ms=note.from_ms,
        to_ms=note.to_ms,
        seen_by=seen,
        uncertainty_s=note.uncertainty_ms / 1000,
    )


def _outage(note: OutageNote) -> Outage:
    return Outage(
        from_ms=note.from_ms,
        to_ms=_known(note.to_ms),
        cause=Cause(note.cause),
        revised=note.revised,
        seen_by=tuple(note.seen_by),
        uncertainty_s=note.uncertainty_ms / 1000,
    )


def _end(facts: LinkFacts, live: LinkLive, which: End) -> EndState:
    end = live.ends[which]
    return EndState(
        end=which,
        managed=facts.managed[which],
        answers=end.answers,
        heard_ms=_known(end.heard_ms),
        oper=None if end.oper == MISSING else OperStatus(end.oper),
        oper_since_ms=_known(end.oper_since_ms),
        uptime_cs=_known(end.uptime),
        temp_c=_scaled(end.temp, 100),
        bias_ma=_scaled(end.bias, 1000),
        vcc_v=_scaled(end.vcc, 10_000),
        module_id=end.module or None,
    )


def _power(code: int, value: int) -> Power:
    if code == PowerCode.MEASURED:
        return Measured(Dbm(value / 1000))
    return NO_LIGHT if code == PowerCode.NO_LIGHT else NOT_REPORTED


def _baseline(note: BaselineNote) -> Baseline:
    return Baseline(
        loss=Db(note.level / 1000),
        spread=Db(note.spread / 1000),
        since_ms=note.since_ms,
        firm=note.firm,
        by_owner=note.by_owner,
    )


def _added(slow: DirectionSlow, rx: Dbm | None) -> Interval | None:
    """Added loss with repeatability, the wander seen and the readings' resolution in it."""
    note = slow.baseline
    if note is None or slow.added == MISSING:
        return None
    grain = 0.0 if rx is None else resolution(rx).value
    watch = slow.watch
    wander = watch.total if len(slow.hours) >= WANDER_HOURS else watch.hourly
    sd = ((note.spread**2 + watch.white**2 + wander**2) / 1e6 + grain**2 / 12) ** 0.5
    value = slow.added / 1000
    return Interval(value=value, low=value - Z95 * sd, high=value + Z95 * sd)


def _sender_now(receiver: EndLive, sender: EndLive) -> EndLive | None:
    """The sender, if its newest reading may be paired with the receiver's."""
    if MISSING in (receiver.optics_ms, sender.optics_ms):
        return None
    return sender if receiver.optics_ms - sender.optics_ms <= PAIR_MS else None


def _direction(facts: LinkFacts, state: LinkState, direction: Direction) -> DirectionVerdict:
    known = facts.direction(direction)
    receiver = state.live.ends[direction.receiver]
    sender = _sender_now(receiver, state.live.ends[direction.sender])
    slow = state.slow.directions[0 if direction is Direction.AB else 1]
    rx = _power(receiver.rx_code, receiver.rx)
    tx = NOT_REPORTED if sender is None else _power(sender.tx_code, sender.tx)
    lit = rx.power if isinstance(rx, Measured) else None
    both = lit is not None and isinstance(tx, Measured)
    damaged, frames = errors.count_errors(slow)
    return DirectionVerdict(
        direction=direction,
        rx=rx,
        tx=tx,
        optics_ms=_known(receiver.optics_ms),
        sensitivity=known.limits.sensitivity,
        overload=known.limits.overload,
        limits_origin=known.limits.origin,
        limits_source=known.limits.source,
        accuracy=known.accuracy,
        anchored=known.anchored,
        margin=None if lit is None else margin(lit, known.limits),
        headroom=None if lit is None else headroom(lit, known.limits),
        loss=strand_loss(tx.power, lit) if both else None,  # type: ignore[union-attr,arg-type]
        planned_loss=None if known.planned is None else known.planned.expected,
        planned_limit=None if known.planned is None else known.planned.limit,
        baseline=None if slow.baseline is None else _baseline(slow.baseline),
        added_loss=_added(slow, lit),
        compensation_db_per_c=trend_words.coefficients(slow),
        drift=trend_words.drift(slow),
        forecast=forecast.forecast(slow, known, facts.thresholds),
        steps=trend_words.steps(slow),
        flicker=key_of(FindingKind.FLICKER, direction) in state.live.active,
        daily_swing=trend_words.daily_swing(slow),
        trend=trend_words.word(slow, direction, state.live.active),
        errors_24h=damaged if slow.frames or slow.errors else None,
        frames_24h=frames if slow.frames else None,
    )
