"""Lasting jumps of the loss: found window by window, settled on the readings half an hour later.

The detector compares the mean of the last one to six windows with the hour before them. What is
a jump is measured by two noise scales that the strand itself shows: from window to window, and
from hour to hour. Half an hour after finding one the readings around it, kept in a ring, give its
time, size and intervals; a jump that has gone by then was none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from strandkeeper.analysis.robust import middle
from strandkeeper.analysis.settle import settle
from strandkeeper.analysis.slow import DirectionSlow, HourRow, StepNote, Window
from strandkeeper.analysis.windows import WINDOW_MS
from strandkeeper.model.block import MISSING

TEST: Final = 6  # windows
REFERENCE: Final = 12
FEWEST_REFERENCE: Final = 4
Z: Final = 7.0
Z_SETTLED: Final = 5.0
LEAST_MDB: Final = 100
GRAINS: Final = 1.3
SETTLE_MS: Final = 30 * 60_000
GAP_MS: Final = 3_600_000  # across a longer silence the strand may have wandered
YOUNG_MDB: Final = 60  # hourly scale until a day of hours is known
HOURS_KNOWN: Final = 24
KEPT: Final = 64
RING: Final = 20
CAP: Final = 60
RENEW_MS: Final = 4 * 3_600_000  # scales of a week change slowly


def renew_scales(slow: DirectionSlow) -> None:
    """Measure the noise anew from the closed hours; called when an hour closes."""
    watch = slow.watch
    if len(slow.hours) > 2 * HOURS_KNOWN and slow.hours[-1].start_ms % RENEW_MS:
        return
    good = [hour for hour in slow.hours if hour.level != MISSING]
    jitter = [hour.jitter for hour in good if hour.jitter != MISSING]
    if jitter:
        watch.white = round(1.4826 * middle(jitter) / 2**0.5)
    grains = [hour.grain for hour in good[-HOURS_KNOWN:] if hour.grain != MISSING]
    if grains:
        slow.grain = min(grains)
    spreads = [hour.spread for hour in good if hour.spread != MISSING]
    slow.calm = middle(spreads) if spreads else MISSING
    if len(good) < HOURS_KNOWN:
        watch.hourly = max(YOUNG_MDB, watch.white)
        watch.total, watch.raw = 3 * watch.hourly, watch.hourly
        return
    levels = _compensated(slow, good)
    moves = [abs(b - a) for a, b in pairwise(levels)]
    watch.hourly = max(1, round(1.4826 * middle(moves)))
    bare = [abs(b.level - a.level) for a, b in pairwise(good)]
    watch.raw = max(watch.hourly, round(1.4826 * middle(bare)))
    centre = middle(levels)
    watch.total = max(watch.hourly, round(1.4826 * middle([abs(v - centre) for v in levels])))


def _compensated(slow: DirectionSlow, hours: Sequence[HourRow]) -> list[int]:
    if not slow.weather[5]:
        return [hour.level for hour in hours]
    a, b = slow.weather[:2]
    return [h.level - round(a * _known(h.sender_temp) + b * _known(h.receiver_temp)) for h in hours]


def weather_part(slow: DirectionSlow, sender_temp: int, receiver_temp: int) -> int:
    """What of a level is the weather's by the coefficients in use [0.001 dB]."""
    if not slow.weather[5]:
        return 0
    return round(slow.weather[0] * sender_temp + slow.weather[1] * receiver_temp)


def recompensate(slow: DirectionSlow, before: Sequence[float]) -> None:
    """Carry the newest windows over from the coefficients `before` to those in use now."""
    moved = []
    for start, level, sender, receiver in slow.watch.recent:
        old = round(before[0] * sender + before[1] * receiver) if before[5] else 0
        moved.append((start, level + old - weather_part(slow, sender, receiver), sender, receiver))
    slow.watch.recent = moved


def _known(temp: int) -> int:
    return 0 if temp == MISSING else temp


def noise_of(slow: DirectionSlow, tested: int, reference: int, *, gap: bool) -> float:
    """Standard deviation of the difference that the detector looks at [0.001 dB]."""
    watch = slow.watch
    slow_part = 2**0.5 * watch.total if gap else watch.hourly
    return float((watch.white**2 * (1 / tested + 1 / reference) + slow_part**2) ** 0.5)


def take(slow: DirectionSlow, window: Window) -> StepNote | None:
    """Let a window count. A step that was settled by it is returned."""
    if not window.light or window.by_loss != slow.by_loss or slow.baseline is None:
        window.readings = None
        return None
    _into_ring(slow, window)
    watch = slow.watch
    temps = (_known(window.sender_temp), _known(window.receiver_temp))
    odd = abs(window.level - window.middle) > 3 * max(watch.white, LEAST_MDB // 10)
    level = (window.middle if odd else window.level) - weather_part(slow, *temps)
    watch.recent.append((window.start_ms, level, *temps))
    if len(watch.recent) > TEST + REFERENCE:
        del watch.recent[0]
    if watch.found_ms == MISSING:
        _look(slow, window)
        return None
    if window.start_ms + WINDOW_MS - watch.found_ms < SETTLE_MS:
        return None
    return _settle(slow, window)


def _into_ring(slow: DirectionSlow, window: Window) -> None:
    readings, window.readings = window.readings, None
    if readings is None:
        return
    stride = -(-readings.shape[1] // CAP)
    slow.ring.append(readings[:, ::stride].copy())
    if len(slow.ring) > RING:
        del slow.ring[0]


def _look(slow: DirectionSlow, window: Window) -> None:
    """Find a mean of the last windows that is far from the hour before them."""
    recent = slow.watch.recent
    size = len(recent)
    levels = [entry[1] for entry in recent]
    if not slow.watch.hourly or max(levels) - min(levels) < LEAST_MDB:
        return
    for tested in range(1, min(TEST, size - FEWEST_REFERENCE) + 1):
        first = size - tested
        start = max(0, first - REFERENCE)
        now, then = sum(levels[first:]), sum(levels[start:first])
        reference = first - start
        difference = now / tested - then / reference
        if abs(difference) < LEAST_MDB:
            continue
        gap = recent[first][0] - recent[first - 1][0] > GAP_MS
        limit = max(LEAST_MDB, GRAINS * slow.grain, Z * noise_of(slow, tested, reference, gap=gap))
        if abs(difference) > limit:
            slow.watch.found_ms = window.start_ms + WINDOW_MS
            slow.watch.guess_ms = recent[first][0]
            slow.watch.guess = round(difference)
            return


def _settle(slow: DirectionSlow, window: Window) -> StepNote | None:
    watch = slow.watch
    found, guess_ms, size = watch.found_ms, watch.guess_ms, watch.guess
    watch.found_ms, watch.guess_ms, watch.guess = MISSING, MISSING, 0
    after = [entry for entry in watch.recent if entry[0] >= guess_ms]
    before = [entry for entry in watch.recent if entry[0] < guess_ms]
    if not before or not after:
        return None
    gap = after[0][0] - before[-1][0] > GAP_MS
    scale = noise_of(slow, len(after), len(before), gap=gap)
    note = settle(slow, guess_ms, found, float((scale**2 + watch.raw**2) ** 0.5))
    enough = max(LEAST_MDB, GRAINS * slow.grain, Z_SETTLED * scale)
    if note is None or abs(note.size) < enough or note.size * size < 0:
        watch.recent = watch.recent[-3:]
        slow.excursions = [*slow.excursions, guess_ms][-KEPT:]
        return None
    slow.steps = [*slow.steps, replace(note, settled=True)][-KEPT:]
    watch.recent = [e for e in watch.recent if e[0] > note.time_ms]
    return slow.steps[-1]
