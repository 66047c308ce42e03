"""One window of few rows, as a poll closes it: the sums of `windows` by plain loops.

Arrays pay for a year at once; for the twenty rows of one window setting them up costs more than
the sums. Both ways give the same integers, which any split of a history into blocks puts to test.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from strandkeeper.analysis.slow import Window
from strandkeeper.analysis.windows import PAIR_MS, WINDOW_MS, Closed
from strandkeeper.model.block import MISSING, Col, Ints, PowerCode
from strandkeeper.model.names import Direction

FEW: Final = 64
BOTH: Final = (Direction.AB, Direction.BA)
Row = list[int]


def is_one(rows: Ints, carried: int) -> bool:
    """Whether the rows that were not counted before are few and of one window."""
    time = rows[Col.TIME]
    few = 0 < len(time) - carried <= FEW
    return few and int(time[carried]) // WINDOW_MS == int(time[-1]) // WINDOW_MS


def close_one(rows: Ints, carried: int) -> list[Closed]:
    """The window as `rounds.close` gives it; nothing if no row of it said anything."""
    every: list[Row] = rows.T.tolist()
    fresh = every[carried:]
    index = fresh[0][Col.TIME] // WINDOW_MS
    answered = [
        [row for row in fresh if row[Col.END] == end and row[Col.ANSWERED]] for end in (0, 1)
    ]
    windows = [_window(index, every, fresh, answered, direction) for direction in BOTH]
    ends = [_end(mine) if mine else None for mine in answered]
    if all(part is None for part in (*windows, *ends)):
        return []
    return [Closed(index, windows, ends)]


def _mean(values: list[int]) -> int:
    known = [value for value in values if value != MISSING]
    return sum(known) // len(known) if known else MISSING


def _sum(values: list[int]) -> int:
    known = [value for value in values if value != MISSING]
    return sum(known) if known else MISSING


def _end(mine: list[Row]) -> tuple[int, int, int, int]:
    sent = [row[Col.TX] for row in mine if row[Col.TX_CODE] == PowerCode.MEASURED]
    temp, bias, vcc = (
        _mean([row[column] for row in mine]) for column in (Col.TEMP, Col.BIAS, Col.VCC)
    )
    return temp, bias, vcc, _mean(sent)


def _window(
    index: int, every: list[Row], fresh: list[Row], answered: list[list[Row]], direction: Direction
) -> Window | None:
    receiver = int(direction.receiver)
    seen = [r for r in fresh if r[Col.END] == receiver and r[Col.RX_CODE] != PowerCode.NOT_ASKED]
    if not seen:
        return None
    dark = sum(row[Col.RX_CODE] == PowerCode.NO_LIGHT for row in seen)
    mine = [row for row in seen if row[Col.RX_CODE] == PowerCode.MEASURED]
    far = [r for r in every if r[Col.END] != receiver and r[Col.TX_CODE] != PowerCode.NOT_ASKED]
    window = _lit(index, dark, mine, _sent(mine, far))
    heard = answered[receiver]
    window.frames = _sum([row[Col.IN_FRAMES] for row in heard])
    window.errors = _sum([_damaged(row) for row in heard])
    return window


def _damaged(row: Row) -> int:
    return row[Col.FCS_ERRORS] if row[Col.FCS_ERRORS] != MISSING else row[Col.SYMBOL_ERRORS]


def _sent(mine: list[Row], far: list[Row]) -> list[int]:
    """For each reading the newest far transmit power at most 90 s older, else MISSING."""
    sent = []
    place = -1
    for row in mine:
        time = row[Col.TIME]
        while place + 1 < len(far) and far[place + 1][Col.TIME] <= time:
            place += 1
        newest = far[place] if place >= 0 else None
        good = (
            newest is not None
            and time - newest[Col.TIME] <= PAIR_MS
            and newest[Col.TX_CODE] == PowerCode.MEASURED
        )
        sent.append(newest[Col.TX] if good and newest is not None else MISSING)
    return sent


def _lit(index: int, dark: int, mine: list[Row], sent: list[int]) -> Window:
    start_ms = index * WINDOW_MS
    if not mine:
        unknown = (MISSING,) * 7
        return Window(start_ms, 0, dark, False, *unknown)
    received = [row[Col.RX] for row in mine]
    paired = len(mine) - sent.count(MISSING)
    by_loss = 2 * paired >= len(mine)
    pairs = zip(sent, received, strict=True)
    values = [tx - rx for tx, rx in pairs if tx != MISSING] if by_loss else [-rx for rx in received]
    ordered = sorted(values)
    count = len(ordered)
    middle = (ordered[(count - 1) // 2] + ordered[count // 2]) // 2
    return Window(
        start_ms,
        len(mine),
        dark,
        by_loss,
        _trimmed_mean(ordered),
        middle,
        sum([abs(value - middle) for value in ordered]) // count,
        ordered[-1] - ordered[0],
        _grain(received),
        sum(received) // len(received),
        _mean(sent),
        readings=np.array([[row[Col.TIME] for row in mine], received, sent], dtype=np.int64),
    )


def _trimmed_mean(ordered: list[int]) -> int:
    kept = ordered[1:-1] if len(ordered) >= 5 else ordered
    return (2 * sum(kept) + len(kept)) // (2 * len(kept))


def _grain(received: list[int]) -> int:
    """Least step between two unequal readings; MISSING if all are equal."""
    unlike = sorted(set(received))
    return min((b - a for a, b in pairwise(unlike)), default=MISSING)
