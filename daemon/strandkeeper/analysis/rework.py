"""What work on a fibre was worth: one direction before and after, in the readings of its modules.

More is worse throughout: the level is the loss where the far end's transmit power is known, else
the receive power turned round. Every re-made or re-plugged mating may scatter by 0.3 dB; what lies
within that is no difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from strandkeeper.analysis.loss import resolution
from strandkeeper.model.names import Direction
from strandkeeper.model.power import Measured, NoLight
from strandkeeper.model.reading import EndRow
from strandkeeper.model.rework import Night, ReworkVerdict, Side, Worth
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.units import Db, Dbm

__all__ = ["MATING", "cold_night", "judge_work", "side"]

# a re-made or re-plugged field connector scatters by that much (common practice, no source)
MATING: Final = Db(0.3)
# of the same module within hours (from memory, unconfirmed: a few tenths of a dB or better)
REPEATABILITY: Final = 0.1
PAIR_MS: Final = 90_000
SLOT_MS: Final = 30_000
HOUR_MS: Final = 3_600_000
ENOUGH: Final = 10
ENOUGH_MS: Final = 30_000
RESTLESS_DB: Final = 0.2
RESTLESS_RATIO: Final = 3.0
SWING_DB: Final = 1.0
NIGHT_MS: Final = 24 * HOUR_MS
PATIENCE_MS: Final = 14 * NIGHT_MS
AS_COLD_C: Final = 2.0
STEADY_C: Final = 6.0


def side(rows: Sequence[EndRow], direction: Direction, *, from_ms: int, to_ms: int) -> Side:
    """One direction over a span: level with its 95 % interval, restlessness, the coldest moment.

    Parameters
    ----------
    rows : sequence of EndRow [-]
        Of both ends, in recorded order; those outside the span only serve to pair powers.
    direction : Direction [-]
        Which way the light goes.
    from_ms : int [ms]
        Record time; included.
    to_ms : int [ms]
        Record time; included.

    Returns
    -------
    Side [dB]
        Of the readings that the receiver gave in the span; without any, `n` and `dark` are 0.

    Raises
    ------
    Nothing.

    Notes
    -----
    Readings closer together than 30 s count as one for the interval: they share their errors. The
    spread is that of neighbouring readings, so that a slow swing is not taken for restlessness.

    Source
    ------
    Interval of a median: 1.96·1.2533·s/√n (normal noise); s from the median distance of
    neighbours, 1.4826/√2; else own design, no source.

    Example
    -------
    >>> side([], Direction.AB, from_ms=0, to_ms=1000).level is None
    True
    """
    pairs, dark, coldest = _readings(rows, direction, from_ms, to_ms)
    by_loss = sum(tx is not None for _, _, tx in pairs) * 2 > len(pairs)
    kept = [p for p in pairs if p[2] is not None] if by_loss else pairs
    levels = [(tx - rx) if by_loss and tx is not None else -rx for _, rx, tx in kept]
    empty = Side(from_ms=from_ms, to_ms=to_ms, dark=dark, by_loss=by_loss, coldest_c=coldest)
    if not levels:
        return empty
    powers = sorted(rx for _, rx, _ in kept)
    spread = _restlessness(levels)
    grain = resolution(Dbm(powers[0])).value
    slots = len({time // SLOT_MS for time, _, _ in kept})
    half = 1.96 * 1.2533 * (spread**2 + grain**2 / 12) ** 0.5 / slots**0.5
    level = _median(levels)
    return Side(
        from_ms=from_ms,
        to_ms=to_ms,
        n=len(levels),
        dark=dark,
        by_loss=by_loss,
        level=Interval(value=level, low=level - half, high=level + half),
        rx_dbm=_median(powers),
        spread=Db(spread),
        peak=Db(max(levels) - min(levels)),
        worst_hour=Db(_worst_hour([(p[0], v) for p, v in zip(kept, levels, strict=True)])),
        lasted_ms=kept[-1][0] - kept[0][0],
        coldest_c=coldest,
    )


def _readings(
    rows: Sequence[EndRow], direction: Direction, from_ms: int, to_ms: int
) -> tuple[list[tuple[int, float, float | None]], int, float | None]:
    """Time, receive and paired transmit power of every lit reading; the dark ones; the coldest."""
    found: list[tuple[int, float, float | None]] = []
    dark, coldest = 0, None
    tx: tuple[int, float | None] = (-PAIR_MS, None)
    for row in rows:
        optics = row.optics
        if optics is None:
            continue
        if row.end is direction.sender:
            tx = (row.time_ms, optics.tx.power.value if isinstance(optics.tx, Measured) else None)
        elif from_ms <= row.time_ms <= to_ms:
            if optics.temp_c is not None:
                coldest = optics.temp_c if coldest is None else min(coldest, optics.temp_c)
            if isinstance(optics.rx, Measured):
                sent = tx[1] if row.time_ms - tx[0] <= PAIR_MS else None
                found.append((row.time_ms, optics.rx.power.value, sent))
            elif isinstance(optics.rx, NoLight):
                dark += 1
    return found, dark, coldest


def _median(values: Sequence[float]) -> float:
    ordered = sorted(values)
    return (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2


def _restlessness(levels: Sequence[float]) -> float:
    steps = [abs(b - a) for a, b in pairwise(levels)]
    return 1.4826 / 2**0.5 * _median(steps) if steps else 0.0


def _worst_hour(levels: Sequence[tuple[int, float]]) -> float:
    hours: dict[int, list[float]] = {}
    for time_ms, level in levels:
        hours.setdefault(time_ms // HOUR_MS, []).append(level)
    return max(_median(values) for values in hours.values())


def judge_work(before: Side, after: Side, *, matings: int, night_passed: bool) -> ReworkVerdict:
    """Better, no different, worse, or not yet known.

    Parameters
    ----------
    before : Side [dB]
        The direction before the work.
    after : Side [dB]
        The direction since the work.
    matings : int [-, >= 0]
        Mated pairs that were made anew or plugged again.
    night_passed : bool [-]
        Whether one cold night has passed since; until then the verdict is provisional.

    Returns
    -------
    ReworkVerdict [dB, positive change is more loss]
        The change has its 95 % interval; `allowed` is added to it on both sides.

    Raises
    ------
    Nothing.

    Notes
    -----
    Known needs ten readings with light over half a minute, or as many without any. Light that came
    back is better, light that went is worse, whatever the levels. More restless is worse.

    Source
    ------
    0.3 dB a mating: common practice, no source; else own design, no source.

    Example
    -------
    >>> good = Interval(value=2.0, low=1.9, high=2.1)
    >>> bad = Interval(value=5.0, low=4.8, high=5.2)
    >>> now = Side(from_ms=0, to_ms=60_000, n=60, level=good, lasted_ms=60_000)
    >>> then = Side(from_ms=0, to_ms=60_000, n=60, level=bad, lasted_ms=60_000)
    >>> judge_work(then, now, matings=1, night_passed=False).worth
    <Worth.BETTER: 'better'>
    >>> judge_work(now, now, matings=1, night_passed=False).worth
    <Worth.NO_DIFFERENT: 'no-different'>
    """
    allowed = MATING * matings
    lit = after.n >= ENOUGH and after.lasted_ms >= ENOUGH_MS
    gone = after.n == 0 and after.dark >= ENOUGH
    dark_before = before.n == 0 and before.dark > 0
    restless = lit and _more_restless(before, after)
    change = _change(before, after)
    return ReworkVerdict(
        worth=_worth(
            change, allowed, lit=lit, gone=gone, dark_before=dark_before, restless=restless
        ),
        change=change,
        allowed=allowed,
        light_back=lit and dark_before,
        light_gone=gone and not dark_before,
        restless=restless,
        provisional=not night_passed,
    )


def _worth(
    change: Interval | None,
    allowed: Db,
    *,
    lit: bool,
    gone: bool,
    dark_before: bool,
    restless: bool,
) -> Worth:
    if gone:
        return Worth.NO_DIFFERENT if dark_before else Worth.WORSE
    if not lit:
        return Worth.NOT_YET_KNOWN
    if dark_before:
        return Worth.BETTER
    if restless:
        return Worth.WORSE
    if change is None:
        return Worth.NOT_YET_KNOWN
    if change.high + allowed.value < 0:
        return Worth.BETTER
    return Worth.WORSE if change.low - allowed.value > 0 else Worth.NO_DIFFERENT


def _change(before: Side, after: Side) -> Interval | None:
    """After - before, None where they are not the same quantity."""
    if before.level is None or after.level is None or before.by_loss is not after.by_loss:
        return None
    value = after.level.value - before.level.value
    halves = (before.level.high - before.level.low) / 2, (after.level.high - after.level.low) / 2
    half = (halves[0] ** 2 + halves[1] ** 2 + REPEATABILITY**2) ** 0.5
    return Interval(value=value, low=value - half, high=value + half)


def _more_restless(before: Side, after: Side) -> bool:
    if after.spread is None or after.level is None or after.worst_hour is None:
        return False
    usual = 0.0 if before.spread is None else before.spread.value
    if after.spread.value > max(RESTLESS_DB, RESTLESS_RATIO * usual):
        return True
    return after.worst_hour.value - after.level.value > SWING_DB


def cold_night(
    finished_ms: int,
    after: Side,
    *,
    now_ms: int,
    coldest_before_c: float | None,
    swing_before_c: float | None = None,
) -> Night:
    """Whether the work has stood a night as cold as those before it, and how that is known.

    Parameters
    ----------
    finished_ms : int [ms]
        Record time at which the work ended.
    after : Side [°C]
        The direction since then.
    now_ms : int [ms]
        Record time now.
    coldest_before_c : float or None [°C]
        Of the receiving module in the week before; None: not known.
    swing_before_c : float or None [°C]
        Between the coldest and the warmest hour of that week; None: not known.

    Returns
    -------
    Night [-]
        As cold: a whole day has passed, and the module came within 2 °C of the coldest before. A
        module that swings by less than 6 °C in a week stands indoors and cannot tell a cold
        night. Without a temperature a whole day is enough; fourteen days end the waiting.

    Raises
    ------
    Nothing.

    Notes
    -----
    The module is all that is measured: the temperature of the plug and of the cable is not known.

    Source
    ------
    Own design, no source: plugs made by hand fail in the cold first.

    Example
    -------
    >>> warm = Side(from_ms=0, to_ms=0, coldest_c=15.0)
    >>> cold_night(0, warm, now_ms=90_000_000, coldest_before_c=3.0).value
    'yet'
    """
    stood_ms = now_ms - finished_ms
    if coldest_before_c is None or after.coldest_c is None:
        return Night.A_DAY if stood_ms >= NIGHT_MS else Night.NO_TEMPERATURE
    steady = swing_before_c is not None and swing_before_c < STEADY_C
    if stood_ms >= PATIENCE_MS:
        as_cold = not steady and after.coldest_c <= coldest_before_c + AS_COLD_C
        return Night.AS_COLD if as_cold else Night.A_FORTNIGHT
    if steady:
        return Night.STEADY
    if stood_ms >= NIGHT_MS and after.coldest_c <= coldest_before_c + AS_COLD_C:
        return Night.AS_COLD
    return Night.YET
