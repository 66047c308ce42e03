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
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.units import Dbm
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

__all__ = ["column_evidence", "moves", "only_grows", "usual"]

_K = EvidenceKind
_PRIOR: Final = math.log(0.06)  # a column taken at random is that quantity
_MOST_ROWS: Final = 3.0  # what rows beyond the first may weigh together
_STILL_ELSE, _MOVING_ELSE = 0.6, 0.4  # how often other columns stand still, and move


def column_evidence(context: Context, view: View) -> tuple[Evidence, ...]:
    """Every reason for and against; the sum of the weights is the column's score."""
    found = [
        Evidence(_K.RARITY, _PRIOR + usual(view)),
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
        found += [_darkness(context, view), _enough(context, view)]
    if view.choice is None:
        found.append(Evidence(_K.UNIT_IN_TEXT, 3.5))
    found.append(_named(view))
    return tuple(e for e in found if e.weight)


_WORDS: Final = {  # what sensors of modules are called (common practice, no source)
    Quantity.TEMPERATURE: ("temp",),
    Quantity.SUPPLY: ("volt", "vcc", "supply"),
    Quantity.BIAS: ("bias", "curr"),
    Quantity.TX: ("tx", "transmi", "output", "launch"),
    Quantity.RX: ("rx", "recei", "input"),
}


def _named(view: View) -> Evidence:
    """The word that marks the rows of a kind, if it is one for a module's figures."""
    kind = view.column.place.kind
    word = kind.lower() if isinstance(kind, str) else ""
    named = {q for q, words in _WORDS.items() if any(part in word for part in words)}
    if named & {Quantity.BIAS, Quantity.TEMPERATURE, Quantity.SUPPLY}:
        named -= set(POWERS)  # "TX bias" is no power
    if len(named) != 1:
        return Evidence(_K.NAMED, 0.0)
    return Evidence(_K.NAMED, 3.0 if view.quantity in named else -4.0)


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


def usual(view: View) -> float:
    """How usual the unit is; text with decimals is in a plain unit, as a rule."""
    if view.choice is None:
        return 0.0
    decimals = any(seen.step < 1 for seen in view.lit.values())
    plain = view.choice.words in ("1 C", "V", "mA", "dBm", "mW", "uW", "W", "A")
    coarse = view.choice.words in ("V", "dBm", "mW", "W", "A")
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
    if IndexPart.LANE not in context.tie.index and not context.tie.several:
        return [[seen] for seen in view.lit.values()]
    modules: dict[object, list[Seen]] = {}
    for row, seen in view.lit.items():
        port = context.tie.ports.get(row)
        modules.setdefault(row[:1] if port is None else port.if_index, []).append(seen)
    return list(modules.values())


def _alike_before(view: View) -> bool:
    """Whether rows agree exactly where all but the last arc of the index does, and only there."""
    groups: dict[Oid, set[float]] = {}
    for row, seen in view.lit.items():
        groups.setdefault(row[:-1], set()).add(seen.count)
    figures = [count for counts in groups.values() for count in counts]
    parted = 1 < len(groups) < len(view.lit)
    return parted and len(figures) == len(groups) == len(set(figures))


def _lanes(context: Context, view: View) -> Evidence:
    """Temperature and supply are the module's, bias and powers each lane's own."""
    several = [lanes for lanes in _modules(context, view) if len(lanes) > 1]
    if not several:
        told = 1.5 if view.quantity in _OF_MODULE else -2.5
        return Evidence(_K.LANES, told if _alike_before(view) else 0.0)
    alike = all(len({one.count for one in lanes}) == 1 for lanes in several)
    if view.quantity in _OF_MODULE:
        return Evidence(_K.LANES, 1.5 if alike else -4.0)
    return Evidence(_K.LANES, -2.5 if alike else 0.3)


def _alike(context: Context, view: View) -> Evidence:
    """How the other rows lie around the middle one, as ports of one switch do."""
    rows = list(view.lit.values())
    if view.quantity in _OF_MODULE:
        rows = [lanes[0] for lanes in _modules(context, view)]
        if _alike_before(view):
            rows = list({seen.count: seen for seen in rows}.values())
    seen = sorted(rows, key=lambda s: s.measure)
    middle = seen[len(seen) // 2]
    rest = [s for s in seen if s is not middle]
    if not rest:
        return Evidence(_K.ALIKE, 0.0)
    scale = SPREAD[view.quantity]
    total = 0.0
    close = [_something_else(one, middle, 0.02) for one in rest]
    wide = [_something_else(one, middle, 0.6) for one in rest]
    other = close if math.prod(close) > 2 * math.prod(wide) else wide  # a third are much alike
    for one, otherwise in zip(rest, other, strict=True):
        own = _student((one.measure - middle.measure) / scale) / scale * one.slope * one.step
        total += max(-4.0, _ratio(own, otherwise))
    return Evidence(_K.ALIKE, max(-6.0, min(6.0, total * min(1.0, _MOST_ROWS / len(rest)))))


def _something_else(one: Seen, middle: Seen, deviation: float) -> float:
    """How often a second row of any column reads so; `deviation`: of the logarithm of counts."""
    steps = abs(one.count) / one.step
    if one.count == middle.count:
        return 0.4
    if one.count * middle.count <= 0:
        return 0.1 / (41 * (steps + 1))
    apart = math.log(abs(one.count) / abs(middle.count)) / deviation
    return max(0.02 / (41 * (steps + 1)), 0.5 * _student(apart) / deviation / steps)


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
        seldom, read = context.cached, 1.0 - context.cached
        own, other = seldom + read * max(still, 0.03), seldom + read * _STILL_ELSE
        return Evidence(_K.LIVE, math.log(own / other), (0, chances))
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


_ALARMS: Final = {  # where high and low alarms lie, in the measure (common practice, no source)
    Quantity.TEMPERATURE: ((60.0, 125.0), (-50.0, 10.0)),
    Quantity.SUPPLY: ((3.35, 4.2), (2.5, 3.3)),
    Quantity.BIAS: ((math.log(8.0), math.log(300.0)), (math.log(0.1), math.log(30.0))),
    Quantity.TX: ((-4.0, 10.0), (-45.0, -1.0)),
    Quantity.RX: ((-8.0, 10.0), (-45.0, -7.0)),
}


def _limits(context: Context, view: View) -> Evidence:
    """Constants on both sides close by: high, low, high, low, as SFF-8472 9.4 has them.

    Read in a wrong unit, they are where nobody sets an alarm.
    """
    middle = median(s.count for s in view.lit.values())
    for way in (1, -1):  # behind it, or before it
        limits = _constants(context, view.column, way)
        above = [limit for limit in limits if limit.value > middle]
        below = [limit for limit in limits if limit.value < middle]
        if above and below and abs(len(above) - len(below)) <= 1:
            high, low = max(above, key=_value), min(below, key=_value)
            weight = 1.5 + _set_there(view, high, 0) + _set_there(view, low, 1)
            return Evidence(_K.BETWEEN_LIMITS, max(0.0, weight))
    return Evidence(_K.BETWEEN_LIMITS, 0.0)


def _set_there(view: View, limit: Count, side: int) -> float:
    measure = physical(limit, view.quantity, view.choice)
    if measure is None:
        return 0.0
    least, most = _ALARMS[view.quantity][side]
    return 0.6 if least <= measure <= most else -1.0


def _constants(context: Context, column: SheetColumn, way: int) -> list[Count]:
    """What the columns close behind (1) or before (-1) one hold, if it is alike in all rows."""
    found = []
    for other in context.sheet.columns:
        near = 0 < way * (other.rank[0] - column.rank[0]) <= 4
        if other.rank[1:] == column.rank[1:] and near:
            constant = _constant(other, context.speaking)
            if constant is not None:
                found.append(constant)
    return found


def _constant(column: SheetColumn, rows: Sequence[Oid]) -> Count | None:
    counts = [c for row in rows for c in column.cells.get(row, ()) if isinstance(c, Count)]
    return counts[0] if counts and len({c.value for c in counts}) == 1 else None


def _value(count: Count) -> float:
    return count.value


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


_INACCURATE: Final = 4.0  # dB: 3 of the module (SFF-8472 9.2), one better than its class demands


def _enough(context: Context, view: View) -> Evidence:
    """A link that is up has the light that its class needs (IEEE 802.3), and no more than it takes.

    Its laser sends what the class allows. Light beyond either by more than the accuracy of modules
    speaks of another unit.
    """
    beyond = 0
    for row, seen in view.lit.items():
        port = context.tie.ports.get(row)
        if port is None or port.spec is None or not port.up or not context.tie.sure:
            continue
        least, most = _allowed(view.quantity, port.spec)
        dim = least is not None and seen.measure < least.value - _INACCURATE
        beyond += dim or (most is not None and seen.measure > most.value + _INACCURATE)
    return Evidence(_K.ENOUGH_LIGHT, -2.0 * min(beyond, 2), (float(beyond),))


def _allowed(quantity: Quantity, spec: PmdSpec) -> tuple[Dbm | None, Dbm | None]:
    if quantity is Quantity.TX:
        return spec.launch_min, spec.launch_max
    return spec.sensitivity or spec.sensitivity_oma, spec.overload
