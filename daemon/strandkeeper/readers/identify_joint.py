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
from strandkeeper.readers.identify_column import column_evidence
from strandkeeper.readers.identify_units import ORDER, STORED
from strandkeeper.readers.identify_view import Context, View, choices_of, view_of

__all__ = ["DAMPING", "Assignment", "Option", "assignments"]

DAMPING: Final = 0.6  # the terms are not independent: they count for little more than half
_K = EvidenceKind
_KEPT: Final = 24
_BEHIND: Final = 16.0  # a weight so far behind the best is nothing: exp(-0.6 × 16) is 1 in 15 000
_NOTHING: Final = 6.0
_LONGER_INDEX: Final = 0.8  # of two ways to part column and index the shorter index is likelier
_MOST_OTHER: Final = 6.3  # what order and families of units can add up to
_WORST: Final = -6.0  # options below are not weighed
_MOST: Final = 400


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One column as one quantity in one unit, and its own score."""

    view: View
    evidence: tuple[Evidence, ...]
    score: float
    stored: bool  # whether the unit is that of the module's memory


@dataclass(frozen=True, slots=True)
class Assignment:
    """Columns given to quantities; `weight` is the sum, undamped; `together` the joint reasons."""

    options: Mapping[Quantity, Option]
    weight: float
    together: tuple[Evidence, ...]


# by how many of the five there are: whoever publishes some of a module publishes all, as a rule
_TOGETHER: Final = {1: -4.0, 2: -1.5, 3: 0.5, 4: 3.0, 5: 6.5}


def assignments(context: Context) -> list[Assignment]:
    """The weightiest assignments of a sheet, without the empty one, best first."""
    options = {q: _options(context, q) for q in ORDER}
    if not any(options.values()):
        return []
    found = heapq.nlargest(_MOST, _weighed(context, options), key=lambda a: a[0])
    return [_assignment(context, weight, chosen) for weight, chosen in found]


def _options(context: Context, quantity: Quantity) -> list[Option]:
    found = []
    for column in context.sheet.columns:
        for choice in choices_of(column, quantity):
            view = view_of(context, column, quantity, choice)
            if view is not None:
                evidence = column_evidence(context, view)
                score = sum(e.weight for e in evidence)
                if score > _WORST:
                    found.append(Option(view, evidence, score, view.unit in STORED))
    return heapq.nlargest(_KEPT, found, key=lambda option: option.score)


Chosen = tuple[Option | None, ...]  # in ORDER


def _weighed(
    context: Context, options: Mapping[Quantity, Sequence[Option]]
) -> Iterator[tuple[float, Chosen]]:
    """Assignments with their weights; those that cannot come near the best are passed over."""
    lists = [(None, *options[q]) for q in ORDER]
    index = -_LONGER_INDEX * (len(context.sheet.rows[0]) - 1)
    firsts = [(t, v, i) for t in lists[0] for v in lists[1] for i in lists[2]]
    small = sorted(((_own(f), f) for f in firsts if not _clash(f)), key=lambda s: -s[0])
    pairs = [
        (index + _own((tx, rx)) + sum(e.weight for e in _powers(context, tx, rx)), tx, rx)
        for tx in lists[3]
        for rx in lists[4]
        if not _clash((tx, rx))
    ]
    pairs.sort(key=lambda pair: -pair[0])
    best = _NOTHING  # far below nothing at all is out of the question as well
    for shared, tx, rx in pairs:
        for own, (t, v, i) in small:
            chosen = (t, v, i, tx, rx)
            if shared + own + _TOGETHER[5] + _MOST_OTHER < best - _BEHIND:
                break
            there = sum(option is not None for option in chosen)
            if there and shared + own + _TOGETHER[there] + _MOST_OTHER < best - _BEHIND:
                continue
            if there and not _clash(chosen):
                weight = shared + own + sum(e.weight for e in _all(chosen))
                best = max(best, weight)
                if weight > best - _BEHIND:
                    yield weight, chosen


def _own(chosen: Chosen) -> float:
    return sum(option.score for option in chosen if option is not None)


def _clash(chosen: Chosen) -> bool:
    """One column twice; or one row a sensor, and the values not all in one column."""
    columns = [option.view.column for option in chosen if option is not None]
    if len({id(column) for column in columns}) < len(columns):
        return True
    if not columns:
        return False
    return len(columns[0].rank) > 1 and len({column.rank[0] for column in columns}) > 1


def _assignment(context: Context, weight: float, chosen: Chosen) -> Assignment:
    options = {q: o for q, o in zip(ORDER, chosen, strict=True) if o is not None}
    together = (*_powers(context, chosen[3], chosen[4]), *_all(chosen))
    return Assignment(options, weight, together)


def _powers(context: Context, tx: Option | None, rx: Option | None) -> tuple[Evidence, ...]:
    """What sent and received power say together, and what the far end says of the latter."""
    found: list[Evidence] = []
    if rx is not None and context.sent:
        found.append(_far(context, rx.view))
    if tx is None or rx is None:
        return tuple(found)
    same = tx.view.unit == rx.view.unit
    found.append(Evidence(_K.SAME_UNIT, 0.7 if same else -5.0))
    rows = [row for row in tx.view.lit if row in rx.view.lit]
    if rows:
        lost = [tx.view.lit[r].measure - rx.view.lit[r].measure for r in rows]
        found.append(_lost(_K.LOSS, lost))
    if len(rows) > 1:
        sent = pstdev(tx.view.lit[r].measure for r in rows)
        received = pstdev(rx.view.lit[r].measure for r in rows)
        weight = max(-1.0, min(1.0, 0.8 * math.log((received + 0.05) / (sent + 0.05))))
        found.append(Evidence(_K.VARIES_MORE, weight, (sent, received)))
    return tuple(found)


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
    possible = all(-6.0 <= one <= 31.0 for one in lost)
    return Evidence(_K.FAR_END, 1.2 if possible else -4.0, (median(lost),))


def _all(chosen: Chosen) -> tuple[Evidence, ...]:
    """The order of the columns, their distances, and units that come in families."""
    present = [option for option in chosen if option is not None]
    together = _TOGETHER[len(present)] - (2.0 if len(present[0].view.column.rank) > 1 else 0.0)
    found = [Evidence(_K.TOGETHER, together, (float(len(present)),))]
    if len(present) < 2:
        return tuple(found)
    found.append(_order(present))
    stored = sum(option.stored for option in present)
    if stored > 1:
        found.append(Evidence(_K.AS_STORED, 0.7 * (stored - 1) - 0.4 * (len(present) - stored)))
    elif stored == 1 and len(present) > 2:
        found.append(Evidence(_K.AS_STORED, -0.3))
    found.append(Evidence(_K.ALIKE, _rows_agree(present)))
    return tuple(found)


def _order(present: Sequence[Option]) -> Evidence:
    """SFF-8472's order is usual and no law; even distances and columns of one kind are likelier."""
    ranks = [option.view.column.rank for option in present]
    weight = sum(0.3 if a < b else -0.4 for a, b in pairwise(ranks))
    steps = {(*(y - x for x, y in zip(a, b, strict=True)),) for a, b in pairwise(sorted(ranks))}
    if len(ranks) > 2:
        weight += 0.8 if len(steps) == 1 else -0.5 * min(3, len(steps) - 1)
    if len(ranks) > 3:
        swapped = [*ranks[:-2], ranks[-1], ranks[-2]]
        weight += 1.5 if ranks == sorted(ranks) else 0.7 if swapped == sorted(ranks) else 0.0
    return Evidence(_K.USUAL_ORDER, weight)


def _rows_agree(present: Sequence[Option]) -> float:
    """The figures of a module come and go together."""
    sets: list[set[Oid]] = [{*o.view.lit, *o.view.dark} for o in present]
    everywhere = set.union(*sets)
    lacking = sum(len(everywhere - rows) for rows in sets)
    return -min(6.0, 1.0 * lacking)
