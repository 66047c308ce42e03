"""Closed windows of five minutes: what is left of the rows once a window is over.

Everything slower than a link going down is judged on windows cut at fixed record times. A window
is summed when the first row after it arrives, from all its rows at once and in integers, so that
it makes no difference in how many pieces the rows came.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from strandkeeper.analysis.slow import Window
from strandkeeper.model.block import MISSING, Col, Ints, PowerCode

WINDOW_MS: Final = 300_000
PAIR_MS: Final = 90_000  # a far reading older than this says nothing of the loss now
_SHIFT: Final = 1 << 24  # larger than any power in 0.001 dBm, for sorting by (window, value)


@dataclass(slots=True)
class Closed:
    """One window that is over; a direction without a row of its receiver is None."""

    index: int
    directions: list[Window | None]
    ends: list[tuple[int, int, int, int] | None]  # temperature, bias, supply, transmit power


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Receive readings with light, one direction, in time order; all columns of one length.

    `value` is the loss [0.001 dB] where `paired`, else minus the receive power (loss from an
    assumed 0 dBm); `tx` is MISSING where unpaired.
    """

    time: Ints
    rx: Ints
    tx: Ints
    value: Ints
    paired: Ints

    def pieces(self) -> Iterator[tuple[int, Ints]]:
        """For each window its times, receive powers and transmit powers, shape (3, n)."""
        group = self.time // WINDOW_MS
        starts = _starts(group)
        whole = np.stack([self.time, self.rx, self.tx])
        edges = [*starts.tolist(), len(group)]
        for number, index in enumerate(group[starts].tolist()):
            yield index, whole[:, edges[number] : edges[number + 1]]


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionWindows:
    """One entry a window that has a receive reading of this direction, as plain lists.

    `level` is the mean without the lowest and the highest reading, `middle` the median, `spread`
    the mean distance from the median, `peak` highest minus lowest, all [0.001 dB]; `grain` the
    least difference of two unequal receive readings, MISSING if all were equal. `by_loss` tells
    what the values are (Readings.value). `light` and `dark` count readings.
    """

    index: list[int]
    light: list[int]
    dark: list[int]
    by_loss: list[bool]
    level: list[int]
    middle: list[int]
    spread: list[int]
    peak: list[int]
    grain: list[int]
    rx: list[int]
    tx: list[int]

    def windows(self) -> Iterator[tuple[int, Window]]:
        """Each with its number."""
        columns = (
            self.light,
            self.dark,
            self.by_loss,
            self.level,
            self.middle,
            self.spread,
            self.peak,
            self.grain,
            self.rx,
            self.tx,
        )
        for index, *cells in zip(self.index, *columns, strict=True):
            yield index, Window(index * WINDOW_MS, *cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndWindows:
    """One entry a window that has an answered row of this end; means and sums, MISSING unknown."""

    index: list[int]
    temp: list[int]
    bias: list[int]
    vcc: list[int]
    tx: list[int]
    frames: list[int]
    errors: list[int]


def direction_readings(data: Ints, carried: int, receiver: int) -> Readings:
    """The readings of `receiver`, each with the newest far transmit power at most 90 s older.

    The first `carried` rows were counted before and serve as far readings only.
    """
    fresh = data[:, carried:]
    mine = fresh[:, (fresh[Col.END] == receiver) & (fresh[Col.RX_CODE] == PowerCode.MEASURED)]
    far = data[:, (data[Col.END] != receiver) & (data[Col.TX_CODE] != PowerCode.NOT_ASKED)]
    time, rx = mine[Col.TIME], mine[Col.RX]
    tx = np.full(time.shape, MISSING, dtype=np.int64)
    if far.shape[1] and len(time):
        at = np.searchsorted(far[Col.TIME], time, side="right") - 1
        known = at >= 0
        at = np.maximum(at, 0)
        known &= (time - far[Col.TIME][at] <= PAIR_MS) & (
            far[Col.TX_CODE][at] == PowerCode.MEASURED
        )
        tx = np.where(known, far[Col.TX][at], MISSING)
    paired = (tx != MISSING).astype(np.int64)
    value = np.where(paired == 1, tx - rx, -rx)
    return Readings(time=time, rx=rx, tx=tx, value=value, paired=paired)


def _starts(index: Ints) -> Ints:
    """Where each run of equal window numbers begins."""
    if not len(index):
        return np.zeros(0, dtype=np.int64)
    return np.flatnonzero(np.concatenate(([True], index[1:] != index[:-1]))).astype(np.int64)


def _masked_mean(values: Ints, starts: Ints) -> Ints:
    """Mean of the cells that are known, floor division, MISSING where none is."""
    known = values != MISSING
    count = np.add.reduceat(known.astype(np.int64), starts)
    total = np.add.reduceat(np.where(known, values, 0), starts)
    return np.where(count > 0, total // np.maximum(count, 1), MISSING)


def _masked_sum(values: Ints, starts: Ints) -> Ints:
    known = values != MISSING
    count = np.add.reduceat(known.astype(np.int64), starts)
    return np.where(count > 0, np.add.reduceat(np.where(known, values, 0), starts), MISSING)


def _sorted_within(values: Ints, group: Ints) -> Ints:
    """The values in ascending order within each group; groups keep their places."""
    keyed = np.sort(group * (2 * _SHIFT) + values + _SHIFT)
    ordered: Ints = keyed - group * (2 * _SHIFT) - _SHIFT
    return ordered


def _trimmed_mean(ordered: Ints, starts: Ints, count: Ints) -> Ints:
    """Mean without the lowest and the highest where there are five readings or more."""
    trim = (count >= 5).astype(np.int64)
    total = np.add.reduceat(ordered, starts)
    total = total - trim * (ordered[starts] + ordered[starts + count - 1])
    kept = count - 2 * trim
    mean: Ints = (2 * total + kept) // (2 * kept)
    return mean


def _grain(rx_ordered: Ints, starts: Ints, count: Ints) -> Ints:
    """Least step between neighbours in order, within each group; MISSING if all are equal."""
    big = 1 << 40
    gaps = np.full(len(rx_ordered), big, dtype=np.int64)
    gaps[1:] = rx_ordered[1:] - rx_ordered[:-1]
    gaps[starts] = big
    gaps[gaps <= 0] = big
    least = np.minimum.reduceat(gaps, starts)
    return np.where((count > 1) & (least < big), least, MISSING)


def close_direction(data: Ints, readings: Readings, receiver: int) -> DirectionWindows:
    """Sum the windows of one direction; `data` are the closed rows without the carried ones."""
    seen = data[:, (data[Col.END] == receiver) & (data[Col.RX_CODE] != PowerCode.NOT_ASKED)]
    every = seen[Col.TIME] // WINDOW_MS
    all_starts = _starts(every)
    windows = every[all_starts]
    if not len(windows):
        return DirectionWindows(**{name: [] for name in DirectionWindows.__slots__})
    dark = np.add.reduceat((seen[Col.RX_CODE] == PowerCode.NO_LIGHT).astype(np.int64), all_starts)
    group = readings.time // WINDOW_MS
    lit_starts = _starts(group)
    lit = group[lit_starts]
    columns = _lit_columns(readings, group, lit_starts)
    place = np.searchsorted(windows, lit)
    spread = {name: _placed(values, place, len(windows)) for name, values in columns.items()}
    light = spread.pop("light")
    by_loss = spread.pop("by_loss")
    return DirectionWindows(
        index=windows.tolist(),
        dark=dark.tolist(),
        light=np.maximum(light, 0).tolist(),
        by_loss=(by_loss == 1).tolist(),
        **{name: values.tolist() for name, values in spread.items()},
    )


def _placed(values: Ints, place: Ints, size: int) -> Ints:
    whole = np.full(size, MISSING, dtype=np.int64)
    whole[place] = values
    return whole


def _lit_columns(readings: Readings, group: Ints, starts: Ints) -> dict[str, Ints]:
    """Figures of the windows that have light."""
    names = ("light", "by_loss", "level", "middle", "spread", "peak", "grain", "rx", "tx")
    if not len(starts):
        return {name: np.zeros(0, dtype=np.int64) for name in names}
    everyone = np.diff(np.append(starts, len(group)))
    paired = np.add.reduceat(readings.paired, starts)
    by_loss = (2 * paired >= everyone).astype(np.int64)
    keep = (readings.paired == 1) | (np.repeat(by_loss, everyone) == 0)
    value = np.where(np.repeat(by_loss, everyone) == 1, readings.value, -readings.rx)[keep]
    kept_group = group[keep]
    at = _starts(kept_group)
    count = np.diff(np.append(at, len(kept_group)))
    ordered = _sorted_within(value, kept_group)
    middle = (ordered[at + (count - 1) // 2] + ordered[at + count // 2]) // 2
    distance = np.abs(ordered - np.repeat(middle, count))
    return {
        "light": everyone,
        "by_loss": by_loss,
        "level": _trimmed_mean(ordered, at, count),
        "middle": middle,
        "spread": np.add.reduceat(distance, at) // count,
        "peak": ordered[at + count - 1] - ordered[at],
        "grain": _grain(_sorted_within(readings.rx, group), starts, everyone),
        "rx": _masked_mean(readings.rx, starts),
        "tx": _masked_mean(readings.tx, starts),
    }


def close_end(data: Ints, end: int) -> EndWindows:
    """Sum the windows of one end."""
    mine = data[:, (data[Col.END] == end) & (data[Col.ANSWERED] == 1)]
    index = mine[Col.TIME] // WINDOW_MS
    starts = _starts(index)
    if not len(starts):
        return EndWindows(**{name: [] for name in EndWindows.__slots__})
    tx = np.where(mine[Col.TX_CODE] == PowerCode.MEASURED, mine[Col.TX], MISSING)
    fcs, symbol = mine[Col.FCS_ERRORS], mine[Col.SYMBOL_ERRORS]
    errors = np.where(fcs != MISSING, fcs, symbol)
    return EndWindows(
        index=index[starts].tolist(),
        temp=_masked_mean(mine[Col.TEMP], starts).tolist(),
        bias=_masked_mean(mine[Col.BIAS], starts).tolist(),
        vcc=_masked_mean(mine[Col.VCC], starts).tolist(),
        tx=_masked_mean(tx, starts).tolist(),
        frames=_masked_sum(mine[Col.IN_FRAMES], starts).tolist(),
        errors=_masked_sum(errors, starts).tolist(),
    )
