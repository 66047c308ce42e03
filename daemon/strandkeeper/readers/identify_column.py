"""How well one column fits one quantity in one unit: a sum of logarithms of likelihood ratios.

Each term compares 'this is that quantity, counted so' with 'this is something else', as if the
terms were independent (naive Bayes); they are not quite, so the sum is damped where it is made into
a probability (identify_joint). All likelihoods are own design, no source, but where a standard is
named; they were tried on invented switches.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from statistics import median
from typing import Final

from strandkeeper.model.enterprise_table import Dimension, IndexPart
from strandkeeper.model.identification import Evidence, EvidenceKind
from strandkeeper.model.oid import Oid
from strandkeeper.model.reading import Quantity
from strandkeeper.readers.identify_cells import Count, SheetColumn
from strandkeeper.readers.identify_units import (
    SPREAD,
    WOBBLE,
    Density,
    launch_density,
    prior_density,
    received_density,
)
from strandkeeper.readers.identify_view import POWERS, Context, Seen, View, physical

__all__ = ["column_evidence", "moves", "only_grows"]

_K = EvidenceKind
_PRIOR: Final = math.log(0.06)  # a column taken at random is that quantity
_MOST_ROWS: Final = 3.0  # what rows beyond the first may weigh together
_STILL_ELSE, _MOVING_ELSE = 0.6, 0.4  # how often other columns stand still, and move


def column_evidence(context: Context, view: View) -> tuple[Evidence, ...]:
    """Every reason for and against; the sum of the weights is the column's score."""
    found = [
        Evidence(_K.RARITY, _PRIOR + _usual(view)),
        _in_range(context, view),
        _alike(context, view),
        _lanes(context, view),
        _live(context, view),
        _grows(view),
        _steps(view),
        _limits(context, view),
        *_rows(context, view),
    ]
    if view.quantity in POWERS:
        found.append(_darkness(context, view))
    if view.choice is None:
        found.append(Evidence(_K.UNIT_IN_TEXT, 3.5))
    return tuple(e for e in found if e.weight)


def _ratio(mass: float, otherwise: float) -> float:
    """The logarithm of a ratio of probabilities, of which neither may decide all alone."""
    return math.log(max(math.exp(-8.0), min(math.exp(9.0), min(0.9, mass) / otherwise)))


def _in_range(context: Context, view: View) -> Evidence:
    """Where the middle of the rows lies, against numbers of any size being equally likely."""
    rows = sorted(view.lit.items(), key=lambda item: item[1].measure)
    row, seen = rows[len(rows) // 2]
    density = _density(context, view, row)
    mass = density.at(seen.measure) * seen.slope * seen.step
    steps = abs(seen.count) / seen.step
    # any number from 1 to 1e9, both signs: 2 ln 1e9 = 41; small ones are mostly words in disguise
    otherwise = 1 / (41 * (steps + 1)) + (0.04 if steps < 10 else 0.0)
    weight = _ratio(mass, otherwise)
    figures = (rows[0][1].measure, rows[-1][1].measure)
    return Evidence(_K.IN_RANGE, weight, figures)


def _usual(view: View) -> float:
    """How usual the unit is; text with decimals is in a plain unit, as a rule."""
    if view.choice is None:
        return 0.0
    decimals = any(seen.step < 1 for seen in view.lit.values())
    plain = view.choice.words in ("1 C", "V", "mA", "dBm", "mW", "uW")
    coarse = view.choice.words in ("V", "dBm", "mW")
    factor = (4.0 if plain else 0.15) if decimals else 0.05 if coarse else 1.0
    return math.log(min(1.0, view.choice.prior * factor))


def _density(context: Context, view: View, row: Oid) -> Density:
    port = context.tie.ports.get(row)
    spec = None if port is None else port.spec
    if view.quantity not in POWERS:
        return prior_density(view.quantity, spec)
    speed = None if port is None else port.speed_mbps
    make = launch_density if view.quantity is Quantity.TX else received_density
    return make(spec, speed)


_OF_MODULE: Final = (Quantity.TEMPERATURE, Quantity.SUPPLY)  # one for all lanes


def _modules(context: Context, view: View) -> list[list[Seen]]:
    """The rows by module: a module of several lanes has a row for each."""
    if IndexPart.LANE not in context.tie.index:
        return [[seen] for seen in view.lit.values()]
    modules: dict[object, list[Seen]] = {}
    for row, seen in view.lit.items():
        port = context.tie.ports.get(row)
        modules.setdefault(row[:1] if port is None else port.if_index, []).append(seen)
    return list(modules.values())


def _lanes(context: Context, view: View) -> Evidence:
    """Temperature and supply are the module's, bias and powers each lane's own."""
    several = [lanes for lanes in _modules(context, view) if len(lanes) > 1]
    if not several:
        return Evidence(_K.LANES, 0.0)
    alike = all(len({one.count for one in lanes}) == 1 for lanes in several)
    if view.quantity in _OF_MODULE:
        return Evidence(_K.LANES, 1.5 if alike else -4.0)
    return Evidence(_K.LANES, -2.5 if alike else 0.3)


def _alike(context: Context, view: View) -> Evidence:
    """How the other rows lie around the middle one, as ports of one switch do."""
    rows = list(view.lit.values())
    if view.quantity in _OF_MODULE:
        rows = [lanes[0] for lanes in _modules(context, view)]
    seen = sorted(rows, key=lambda s: s.measure)
    middle = seen[len(seen) // 2]
    rest = [s for s in seen if s is not middle]
    if not rest:
        return Evidence(_K.ALIKE, 0.0)
    scale = SPREAD[view.quantity]
    total = 0.0
    for one in rest:
        own = _student((one.measure - middle.measure) / scale) / scale * one.slope * one.step
        total += max(-4.0, _ratio(own, _something_else(one.count, middle.count, one.step)))
    return Evidence(_K.ALIKE, max(-6.0, min(6.0, total * min(1.0, _MOST_ROWS / len(rest)))))


def _something_else(count: float, middle: float, step: float) -> float:
    """How often a second row of any column reads so, given the middle one."""
    if count == middle:
        return 0.4
    if count * middle <= 0:
        return 0.1 / (41 * (abs(count) / step + 1))
    apart = math.log(abs(count) / abs(middle)) / 0.6
    return 0.5 * _student(apart) / 0.6 / (abs(count) / step)


def _student(t: float) -> float:
    """Student's density with 3 degrees of freedom: outliers are not unheard of."""
    return 6 * math.sqrt(3) / (math.pi * (3 + t * t) ** 2)


def _live(context: Context, view: View) -> Evidence:
    """Whether it moves between polls as much as the quantity does and the unit lets one see."""
    changes, chances, farthest = _changes(view)
    if chances == 0:
        return Evidence(_K.LIVE, 0.0)
    steps = median(s.slope * s.step for s in view.lit.values())
    wobble = WOBBLE[view.quantity]
    each = wobble / (wobble + 0.7 * steps)
    still = (1 - each) ** min(chances, 4)  # neighbours in time are alike
    if changes == 0:
        if not context.fresh:
            return Evidence(_K.LIVE, 0.0, (0, chances))
        return Evidence(_K.LIVE, math.log(max(still, 0.03) / _STILL_ELSE), (0, chances))
    weight = math.log(max(1 - still, 0.05) / _MOVING_ELSE)
    if farthest > 12 * wobble + 1.5 * steps:
        weight -= 2.0 if farthest < 40 * wobble + 1.5 * steps else 5.0
    return Evidence(_K.LIVE, weight, (changes, chances))


def _changes(view: View) -> tuple[int, int, float]:
    changes = chances = 0
    farthest = 0.0
    for row in view.lit:
        figures = [
            physical(c, view.quantity, view.choice)
            for c in view.column.cells[row]
            if isinstance(c, Count)
        ]
        for one, other in pairwise(figures):
            if one is None or other is None:
                continue
            chances += 1
            changes += one != other
            farthest = max(farthest, abs(other - one))
    return changes, chances, farthest


def _grows(view: View) -> Evidence:
    return Evidence(_K.ONLY_GROWS, -5.0 if only_grows(view.column) else 0.0)


def only_grows(column: SheetColumn) -> bool:
    """Whether a column is a count of something, or a clock: steady growth in every row."""
    grown = 0
    for cells in column.cells.values():
        values = [c.value for c in cells if isinstance(c, Count)]
        steps = [b - a for a, b in pairwise(values)]
        if len(steps) < 2:
            continue
        if min(steps) < 0 or (max(steps) > 0 and max(steps) > 3 * min(steps)):
            return False
        grown += min(steps) > 0
    return grown > 0


def moves(column: SheetColumn) -> bool:
    """Whether a column moves to and fro, as readings do."""
    for cells in column.cells.values():
        values = [c.value for c in cells if isinstance(c, Count)]
        if len(set(values)) > 1 and not only_grows(column):
            return True
    return False


def _steps(view: View) -> Evidence:
    """Whether the counts lie in the steps that a module stores (SFF-8472 9.2)."""
    if view.choice is None:
        return Evidence(_K.STEPS, 0.0)
    counts = {
        round(c.value / c.step)
        for row in view.lit
        for c in view.column.cells[row]
        if isinstance(c, Count) and c.value
    }
    finer = view.choice.finer if all(s.step == 1 for s in view.lit.values()) else 1
    if len(counts) < 2:
        return Evidence(_K.STEPS, 0.0)
    weight = 0.0
    for size in (2, 5, 10, 100):
        fits = all(count % size == 0 for count in counts)
        if fits and finer % size:
            weight = min(weight, -min(5.0, 0.8 * len(counts) * math.log(size)))
        elif not fits and finer % size == 0:
            weight = min(weight, -1.5)
        elif fits and finer % size == 0:
            weight = max(weight, 0.3)
    return Evidence(_K.STEPS, weight, (float(finer),))


def _limits(context: Context, view: View) -> Evidence:
    """Constants on both sides close behind: high, low, high, low, as SFF-8472 9.4 has them."""
    column, below, above = view.column, 0, 0
    middle = median(s.count for s in view.lit.values())
    for other in context.sheet.columns:
        near = 0 < other.rank[0] - column.rank[0] <= 4
        if other.rank[1:] == column.rank[1:] and near:
            value = _constant(other, context.speaking)
            if value is not None and value != middle:
                above, below = above + (value > middle), below + (value < middle)
    balanced = above and below and abs(above - below) <= 1
    return Evidence(_K.BETWEEN_LIMITS, 1.5 if balanced else 0.0)


def _constant(column: SheetColumn, rows: Sequence[Oid]) -> float | None:
    values = {c.value for row in rows for c in column.cells.get(row, ()) if isinstance(c, Count)}
    return values.pop() if len(values) == 1 else None


def _rows(context: Context, view: View) -> Iterable[Evidence]:
    """Rows of ports that can hold no module; neighbours that speak where this is mute."""
    speaking = [context.tie.ports.get(row) for row in context.speaking]
    wrong = sum(1 for port in speaking if port is not None and port.optical is False)
    right = sum(1 for port in speaking if port is not None and port.optical)
    against = 2.0 * min(wrong, 2) + (6.0 if wrong == len(speaking) else 0.0)
    against *= 1.0 if context.tie.sure else 0.3
    yield Evidence(_K.ROWS_ON_COPPER, -against if wrong else 0.0, (float(wrong),))
    if right == len(speaking) and context.copper_too and context.tie.sure:
        yield Evidence(_K.ROWS_ARE_MODULES, 0.8, (float(right),))
    if view.mute:
        yield Evidence(_K.IN_RANGE, -1.5 * min(len(view.mute), 3))


_DARK: Final = {  # (dark, port up): weight of one row
    (Quantity.RX, True, True): -3.0,
    (Quantity.RX, True, False): 2.0,
    (Quantity.RX, True, None): 1.2,
    (Quantity.RX, False, True): 0.3,
    (Quantity.RX, False, False): -0.5,
    (Quantity.TX, True, True): -4.0,
    (Quantity.TX, True, False): -1.5,
    (Quantity.TX, True, None): -1.5,
    (Quantity.TX, False, False): 0.5,
}


_FORTY_BELOW: Final = (-40.0, -400.0, -4000.0, -40000.0)  # read in a wrong unit, it is light


def _darkness(context: Context, view: View) -> Evidence:
    """Which ports have light: a receiver is dark where the link is down, a laser seldom."""
    weight = 0.0
    for dark, rows in ((True, view.dark), (False, tuple(view.lit))):
        for row in rows:
            port = context.tie.ports.get(row)
            up = port.up if port is not None and context.tie.sure else None
            weight += _DARK.get((view.quantity, dark, up), 0.0)
    if view.choice is not None and view.choice.unit.dimension is Dimension.DBM:
        weight -= 2.0 * any(seen.count in _FORTY_BELOW for seen in view.lit.values())
    figures = (float(len(view.dark)), float(len(view.lit)))
    return Evidence(_K.DARK_PORTS, max(-6.0, min(4.0, weight)), figures)
