"""Which column of a sheet is which quantity, all five decided together.

Every way of giving columns to quantities is weighed: the columns' own scores, what two of them say
together (sent and received power), and the order of all. Weights become probabilities by
exp(DAMPING × sum). Own design, no source.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median, pstdev
from typing import Final

from strandkeeper.model.identification import Evidence, EvidenceKind
from strandkeeper.model.oid import Oid
from strandkeeper.model.reading import Quantity
from strandkeeper.readers.identify_column import column_evidence, usual
from strandkeeper.readers.identify_units import ORDER, STORED
from strandkeeper.readers.identify_view import Context, View, choices_of, possible, view_of

__all__ = ["DAMPING", "NOTHING", "Assignment", "Option", "assignments"]

DAMPING: Final = 0.6  # the terms are not independent: they count for little more than half
_K = EvidenceKind
_KEPT: Final = 24
_BEHIND: Final = 14.0  # a weight so far behind the best is nothing: exp(-0.6 × 14) is 1 in 4400
NOTHING: Final = 4.0  # what is far below it is not told
_LONGER_INDEX: Final = 0.8  # of two ways to part column and index the shorter index is likelier
_PARTED: Final = 1.2  # the figures of a module stand in one table, as a rule
_MOST_PARTED: Final = 2  # who parts them at all may give each a table
_SAME: Final = 0.3  # dB: no two figures are so near each other in all rows
_MOST_UNUSUAL: Final = 4.0
_FAR_MOST: Final = 1.0  # either way: the far end confirms or doubts, it does not decide
_WORST: Final = -6.0  # options below are not weighed
_MOST: Final = 300
_FIRSTS, _PAIRS = 300, 150  # of the figures without light and of both powers: how many ways count


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One column as one quantity in one unit, and its own score."""

    view: View
    evidence: tuple[Evidence, ...]
    score: float
    stored: bool  # whether the unit is that of the module's memory
    rows: frozenset[Oid]  # that have a figure, or none because it is dark or elsewhere
    column_number: int


@dataclass(frozen=True, slots=True)
class Assignment:
    """Columns given to quantities; `weight` is the sum, undamped; `together` the joint reasons."""

    options: Mapping[Quantity, Option]
    weight: float
    together: tuple[Evidence, ...]


# by how many of the five there are: whoever publishes some of a module publishes all, as a rule
_TOGETHER: Final = {1: -4.0, 2: -1.5, 3: 0.5, 4: 3.0, 5: 6.5}
# the same with the most that order and families of units can add to it
_HIGHEST: Final = {0: -4.0, 1: -4.0, 2: -0.7, 3: 2.9, 4: 7.7, 5: 12.0}


def assignments(context: Context, best: float = NOTHING) -> list[Assignment]:
    """The weightiest assignments of a sheet, without the empty one, best first.

    `best`: the weight of what else its leaves may mean, or of nothing: far below is left out.
    """
    best = max(best, NOTHING)
    options = {q: _options(context, q) for q in ORDER}
    if not any(options.values()):
        return []
    found = heapq.nlargest(_MOST, _weighed(context, options, best), key=lambda a: a[0])
    return [_assignment(context, weight, chosen) for weight, chosen in found]


def _options(context: Context, quantity: Quantity) -> list[Option]:
    found = []
    for number, column in enumerate(context.sheet.columns):
        for choice in choices_of(column, quantity):
            if not possible(context, column, quantity, choice):
                continue
            view = view_of(context, column, quantity, choice)
            if view is not None:
                evidence = column_evidence(context, view)
                score = sum(e.weight for e in evidence)
                if score > _WORST:
                    rows = frozenset((*view.lit, *view.dark, *view.elsewhere))
                    stored = view.unit in STORED
                    found.append(Option(view, evidence, score, stored, rows, number))
    return heapq.nlargest(_KEPT, found, key=lambda option: option.score)


Chosen = tuple[Option | None, ...]  # in ORDER


def _weighed(
    context: Context, options: Mapping[Quantity, Sequence[Option]], best: float
) -> Iterator[tuple[float, Chosen]]:
    """Assignments with their weights; those that cannot come near the best are passed over."""
    orders: dict[tuple[int, ...], float] = {}
    small = _firsts(options)
    for shared, tx, rx in _pairs(context, options):
        powers = (tx is not None) + (rx is not None)
        for own, first in small:
            if shared + own + _HIGHEST[3 + powers] < best - _BEHIND:
                break
            chosen = (*first, tx, rx)
            present = [option for option in chosen if option is not None]
            too_low = shared + own + _HIGHEST[len(present)] < best - _BEHIND
            if not present or too_low or _clash(present):
                continue
            weight = shared + own + _joint_weight(present, orders)
            best = max(best, weight)
            if weight > best - _BEHIND:
                yield weight, chosen


def _firsts(options: Mapping[Quantity, Sequence[Option]]) -> list[tuple[float, Chosen]]:
    """The likeliest ways to choose temperature, supply and bias, each or none."""
    found: list[tuple[float, Chosen]] = [(0.0, ())]
    for quantity in ORDER[:3]:
        longer = (
            (own + (0.0 if option is None else option.score), (*chosen, option))
            for own, chosen in found
            for option in (None, *options[quantity])
            if option is None or not _clash([o for o in (*chosen, option) if o is not None])
        )
        found = heapq.nlargest(_FIRSTS, longer, key=lambda way: way[0])
    return found


def _pairs(
    context: Context, options: Mapping[Quantity, Sequence[Option]]
) -> list[tuple[float, Option | None, Option | None]]:
    """The likeliest ways to choose both powers, each or none, with what the sheet weighs."""
    index = -_LONGER_INDEX * (min(len(context.sheet.rows[0]), 3) - 1)
    index -= _PARTED * min(context.sheet.tables - 1, _MOST_PARTED)
    pairs = (
        (index + _own((tx, rx)) + sum(e.weight for e in _powers(context, tx, rx)), tx, rx)
        for tx in (None, *options[ORDER[3]])
        for rx in (None, *options[ORDER[4]])
        if tx is None or rx is None or not _clash((tx, rx))
    )
    return heapq.nlargest(_PAIRS, pairs, key=lambda pair: pair[0])


def _own(chosen: Chosen) -> float:
    return sum(option.score for option in chosen if option is not None)


def _clash(present: Sequence[Option]) -> bool:
    """One column twice; or one row a sensor, and the values not all in one column."""
    columns = [option.view.column for option in present]
    if len({column.rank for column in columns}) < len(columns):
        return True
    return len(columns[0].rank) > 1 and len({column.rank[0] for column in columns}) > 1


def _assignment(context: Context, weight: float, chosen: Chosen) -> Assignment:
    options = {q: o for q, o in zip(ORDER, chosen, strict=True) if o is not None}
    together = (*_powers(context, chosen[3], chosen[4]), *_all(list(options.values())))
    return Assignment(options, weight, together)


def _powers(context: Context, tx: Option | None, rx: Option | None) -> tuple[Evidence, ...]:
    """What sent and received power say together, and what the far end says of the latter."""
    found: list[Evidence] = []
    if rx is not None and context.sent:
        found.append(_far(context, rx.view))
    if tx is None or rx is None:
        return tuple(found)
    found.append(Evidence(_K.SAME_UNIT, _same_unit(tx.view, rx.view)))
    rows = [row for row in tx.view.lit if row in rx.view.lit]
    if rows:
        lost = [tx.view.lit[r].measure - rx.view.lit[r].measure for r in rows]
        twice = len(rows) > 1 and all(abs(one) < _SAME for one in lost)
        found.append(Evidence(_K.LOSS, -5.0, (0.0,)) if twice else _lost(_K.LOSS, lost))
    if len(rows) > 1:
        sent = pstdev(tx.view.lit[r].measure for r in rows)
        received = pstdev(rx.view.lit[r].measure for r in rows)
        weight = max(-1.0, min(1.0, 0.8 * math.log((received + 0.05) / (sent + 0.05))))
        found.append(Evidence(_K.VARIES_MORE, weight, (sent, received)))
    return tuple(found)


def _same_unit(tx: View, rx: View) -> float:
    """Who counts one power in a unit counts the other in it: it may be unusual, but only once."""
    return min(_MOST_UNUSUAL, max(0.7, -usual(rx))) if tx.unit == rx.unit else -5.0


def _lost(kind: EvidenceKind, lost: Sequence[float]) -> Evidence:
    """Loss against a difference without meaning: the module's accuracy is ±3 dB, twice."""
    middle = median(lost)
    meant = (
        0.55 * _normal(middle, 2.5, 2.0)
        + 0.35 * _normal(middle, 6.5, 3.5)
        + 0.1 * _normal(middle, 14.0, 7.0)
    )
    meaningless = _normal(middle, 0.0, 9.0)
    weight = math.log(max(meant, 1e-5) / max(meaningless, 1e-4))
    if weight < 0:  # the errors of many modules do not all go one way
        weight *= 1 + 0.25 * min(4, len(lost) - 1)
    return Evidence(kind, max(-5.0, min(1.5, weight)), (middle,))


def _normal(value: float, middle: float, deviation: float) -> float:
    return math.exp(-0.5 * ((value - middle) / deviation) ** 2) / (deviation * 2.5066)


def _far(context: Context, view: View) -> Evidence:
    """Received here must be what the far end sends, less a loss that is possible."""
    lost = [
        context.sent[port.if_index] - seen.measure
        for row, seen in view.lit.items()
        if (port := context.tie.ports.get(row)) is not None and port.if_index in context.sent
    ]
    if not lost or not context.tie.sure:
        return Evidence(_K.FAR_END, 0.0)
    if all(-6.0 <= one <= 31.0 for one in lost):
        told = _lost(_K.FAR_END, lost)
        return Evidence(told.kind, max(-_FAR_MOST, min(_FAR_MOST, told.weight)), told.figures)
    return Evidence(_K.FAR_END, -_FAR_MOST, (median(lost),))


def _joint_weight(present: Sequence[Option], orders: dict[tuple[int, ...], float]) -> float:
    """The weights of _all together; `orders`: those of columns that were met before."""
    ranks = tuple([option.column_number for option in present])
    if ranks not in orders:
        orders[ranks] = _together(present) + (_order(present) if len(present) > 1 else 0.0)
    return orders[ranks] + _stored(present) + _rows_agree(present)


def _all(present: Sequence[Option]) -> tuple[Evidence, ...]:
    """The order of the columns, their distances, and units that come in families."""
    together = Evidence(_K.TOGETHER, _together(present), (float(len(present)),))
    if len(present) < 2:
        return (together,)
    return (
        together,
        Evidence(_K.USUAL_ORDER, _order(present)),
        Evidence(_K.AS_STORED, _stored(present)),
        Evidence(_K.ALIKE, _rows_agree(present)),
    )


def _together(present: Sequence[Option]) -> float:
    return _TOGETHER[len(present)] - (2.0 if len(present[0].view.column.rank) > 1 else 0.0)


def _stored(present: Sequence[Option]) -> float:
    """Whoever publishes one figure as the module stores it, does so with all, as a rule."""
    stored = sum([option.stored for option in present])
    if stored > 1:
        return 0.5 * (stored - 1) - 0.4 * (len(present) - stored)
    return -0.3 if stored == 1 and len(present) > 2 else 0.0


def _order(present: Sequence[Option]) -> float:
    """SFF-8472's order is usual and no law; even distances and columns of one kind are likelier."""
    ranks = [option.view.column.rank for option in present]
    weight = sum(0.3 if a < b else -0.4 for a, b in pairwise(ranks))
    steps = {(*(y - x for x, y in zip(a, b, strict=True)),) for a, b in pairwise(sorted(ranks))}
    if len(ranks) > 2:
        weight += 0.8 if len(steps) == 1 else -0.5 * min(3, len(steps) - 1)
    if len(ranks) > 3:
        swapped = [*ranks[:-2], ranks[-1], ranks[-2]]
        weight += 1.5 if ranks == sorted(ranks) else 0.7 if swapped == sorted(ranks) else 0.0
    return weight


def _rows_agree(present: Sequence[Option]) -> float:
    """The figures of a module come and go together."""
    sets = [option.rows for option in present]
    if all([rows == sets[0] for rows in sets]):
        return 0.0
    everywhere = frozenset[Oid].union(*sets)
    lacking = sum(len(everywhere) - len(rows) for rows in sets)
    return -min(6.0, 1.0 * lacking)
