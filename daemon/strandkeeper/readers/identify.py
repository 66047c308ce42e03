"""Which columns of an unknown enterprise subtree hold the readings of modules: found by physics.

Leaves are laid out as sheets in every way that may be meant (identify_sheets), rows are tied to
ports (identify_ports), each column is weighed as each quantity in each unit (identify_column), and
all columns of a sheet are decided together (identify_joint). Sheets that share leaves exclude one
another; of sheets that do not, each may hold something. Nothing is adopted: these are proposals.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.model.enterprise_table import CellUnit, CellWord, IndexPart
from strandkeeper.model.identification import (
    Candidate,
    Evidence,
    EvidenceKind,
    Figure,
    Place,
    Proposal,
    Sample,
)
from strandkeeper.model.oid import Oid
from strandkeeper.model.power import NO_LIGHT
from strandkeeper.model.reading import Quantity
from strandkeeper.readers.identify_cells import Count, Word
from strandkeeper.readers.identify_column import moves, only_grows
from strandkeeper.readers.identify_joint import (
    DAMPING,
    NOTHING,
    Assignment,
    Option,
    assignments,
)
from strandkeeper.readers.identify_ports import (
    Observations,
    PortSeen,
    Tie,
    name_template,
    tie_rows,
)
from strandkeeper.readers.identify_sheets import Shape, Sheet, sheets_of
from strandkeeper.readers.identify_units import ORDER
from strandkeeper.readers.identify_view import POWERS, Context

__all__ = ["CERTAIN", "FACTOR", "Observations", "PortSeen", "rank", "watch_list"]

FACTOR: Final = 30.0  # confident: no other way is more than a thirtieth as probable
CERTAIN: Final = 0.9
OFFERED: Final = 0.3  # less probable figures are not offered as the first
_WARM, _FED = [Quantity.TEMPERATURE], [Quantity.SUPPLY]
_ROUNDED: Final = {  # how far one figure in two units may seem apart: °C, V, mA, dB
    Quantity.TEMPERATURE: 0.5,
    Quantity.SUPPLY: 0.005,
    Quantity.BIAS: 0.1,
    Quantity.TX: 0.1,
    Quantity.RX: 0.1,
}
_SHOWN: Final = 4  # alternatives
_SILENT: Final = 2  # columns in which a row without a module says nothing, at least
_NEGLIGIBLE: Final = 0.002
_STALE: Final = 0.35  # of tables that stand still as a whole: read from the modules seldom

Key = tuple[Quantity, frozenset[Oid], CellUnit | None]  # the same objects are one answer


@dataclass(frozen=True, slots=True, eq=False)
class _Judged:
    """A sheet with its assignments."""

    context: Context
    found: Sequence[Assignment]

    @property
    def odds(self) -> float:
        """All assignments together against nothing."""
        return sum(math.exp(DAMPING * a.weight) for a in self.found)


def rank(observations: Observations) -> tuple[Proposal, ...]:
    """Tables that may hold readings of modules, the most probable first; none where none is."""
    groups = _groups(_judged(observations))
    odds = [_odds(group) for group in groups]
    totals = {q: sum(sum(o.get(q, {}).values()) for o in odds) for q in ORDER}
    proposals = [
        proposal
        for group, own in zip(groups, odds, strict=True)
        if (proposal := _proposal(group, own, totals)) is not None
    ]
    return tuple(sorted(_doubted(proposals), key=lambda p: -p.probability))


def watch_list(observations: Observations) -> tuple[Oid, ...]:
    """The leaves worth asking again: those of sheets that could hold a module's figures at all."""
    wanted: set[Oid] = set()
    for judged in _judged(observations):
        places = {o.view.column.place for a in judged.found[:60] for o in a.options.values()}
        if judged.odds > 1e-3:
            wanted.update(_leaves(judged.context.sheet, places))
    return tuple(sorted(o for o in wanted if o in observations.polls[0]))


def _leaves(sheet: Sheet, places: Iterable[Place]) -> set[Oid]:
    """The leaves of some columns of a sheet, and of their neighbours, which may be limits."""
    near = {p.column for p in places}
    return {oid for column in sheet.columns if column.place.column in near for oid in column.oids}


def _judged(seen: Observations) -> list[_Judged]:
    sheets = _different(sheets_of(seen.polls))
    moving = [any(map(moves, sheet.columns)) for sheet in sheets]
    copper_too = any(port.optical is False for port in seen.ports)
    sent = {port: power.value for port, power in seen.far_sent.items()}
    judged: list[_Judged] = []
    for sheet, moved in zip(sheets, moving, strict=True):
        for speaking in _ways_to_speak(sheet):
            tie = tie_rows(sheet, seen, speaking)
            context = Context(
                sheet=sheet,
                tie=tie,
                speaking=speaking,
                cached=0.0 if moved else _STALE if any(moving) else 1.0,
                copper_too=copper_too,
                sent=sent,
            )
            found = assignments(context, _best_so_far(judged, sheet))
            if found and found[0].weight > math.log(_NEGLIGIBLE) / DAMPING:
                judged.append(_Judged(context, found))
    return judged


def _different(sheets: Iterable[Sheet]) -> list[Sheet]:
    """Without sheets whose columns all stand in one with a shorter index: it is the plainer one."""
    kept: list[tuple[Sheet, set[frozenset[Oid]]]] = []
    for sheet in sheets:
        columns = {column.oids for column in sheet.columns}
        if not any(columns <= before for _, before in kept):
            kept.append((sheet, columns))
    return [sheet for sheet, _ in kept]


def _best_so_far(judged: Sequence[_Judged], sheet: Sheet) -> float:
    """The most that some of the sheet's leaves weigh in a sheet that was judged before."""
    weights = [
        j.found[0].weight for j in judged if not j.context.sheet.leaves.isdisjoint(sheet.leaves)
    ]
    return max(weights, default=NOTHING)


def _ways_to_speak(sheet: Sheet) -> Iterator[tuple[Oid, ...]]:
    """The rows that hold figures; and those but for rows that say nothing in several columns."""
    speaking = _speaking(sheet)
    if not speaking:
        return
    yield speaking
    fuller = _fuller(sheet, speaking)
    if fuller and fuller != speaking:
        yield fuller


def _fuller(sheet: Sheet, rows: tuple[Oid, ...]) -> tuple[Oid, ...]:
    """Rows that lack figures in no more than one of the columns in which the fullest have one."""
    said = {
        row: {
            column.place
            for column in sheet.columns
            if isinstance(cell := column.cells.get(row, (None,))[0], Count) and cell.value
        }
        for row in rows
    }
    fullest = max(said.values(), key=len)
    return tuple(row for row in rows if len(fullest - said[row]) < _SILENT)


def _speaking(sheet: Sheet) -> tuple[Oid, ...]:
    """Rows with at least half as many different figures as the fullest."""
    columns = [c for c in sheet.columns if not only_grows(c)]
    figures: dict[Oid, set[float]] = {row: set() for row in sheet.rows}
    for column in columns:
        for row, cells in column.cells.items():
            if row in figures and isinstance(cells[0], Count) and cells[0].value:
                figures[row].add(cells[0].value)
    most = max((len(values) for values in figures.values()), default=0)
    return tuple(row for row, values in figures.items() if values and 2 * len(values) >= most)


def _groups(judged: Sequence[_Judged]) -> list[list[_Judged]]:
    """Sheets that share leaves are ways to read one table."""
    groups: list[tuple[set[Oid], list[_Judged]]] = []
    for one in judged:
        leaves = set(one.context.sheet.leaves)
        sharing = [group for group in groups if group[0] & leaves]
        merged = (
            leaves.union(*(g[0] for g in sharing)),
            [one, *(j for g in sharing for j in g[1])],
        )
        groups = [group for group in groups if group not in sharing] + [merged]
    return [members for _, members in groups]


def _odds(group: Sequence[_Judged]) -> dict[Quantity, dict[Key, float]]:
    """By quantity: how probable each way is, compared with the quantity not being in the table."""
    with_it: dict[Quantity, dict[Key, float]] = {q: {} for q in ORDER}
    without = dict.fromkeys(ORDER, 1.0)
    for judged in group:
        for assignment in judged.found:
            weight = math.exp(min(600.0, DAMPING * assignment.weight))
            for quantity in ORDER:
                option = assignment.options.get(quantity)
                if option is None:
                    without[quantity] += weight
                else:
                    key = _key(option)
                    with_it[quantity][key] = with_it[quantity].get(key, 0.0) + weight
    return {q: {key: w / without[q] for key, w in with_it[q].items()} for q in ORDER}


def _key(option: Option) -> Key:
    return (option.view.quantity, option.view.column.oids, option.view.unit)


def _proposal(
    group: Sequence[_Judged],
    odds: Mapping[Quantity, Mapping[Key, float]],
    totals: Mapping[Quantity, float],
) -> Proposal | None:
    judged = max(group, key=lambda j: j.found[0].weight)
    options = _best_options(group)
    figures = []
    for quantity in ORDER:
        ranked = sorted(odds[quantity].items(), key=lambda item: -item[1])
        candidates = [
            _candidate(judged.context, options[key], weight / (1.0 + totals[quantity]))
            for key, weight in ranked[: _SHOWN + 1]
        ]
        shown = tuple(c for c in candidates if c.probability >= _NEGLIGIBLE)
        if shown and _offered(shown):
            figures.append(_figure(quantity, shown, moved=judged.context.cached in (0.0, 1.0)))
    if not figures or [f.quantity for f in figures] in (_WARM, _FED):
        return None  # one warm thing, or 3300 of something, is no module
    total = sum(j.odds for j in group)
    return _described(judged, figures, total / (1.0 + total))


def _offered(shown: Sequence[Candidate]) -> bool:
    """Whether one is probable enough, or several alike are, as the lanes of a module are."""
    first = shown[0]
    near = [c for c in shown if c.unit == first.unit and 2 * c.probability >= first.probability]
    if len(near) == 1 or first.place.kind is not None:
        return first.probability >= OFFERED
    return first.probability >= OFFERED / 2 and sum(c.probability for c in near) >= OFFERED


def _best_options(group: Sequence[_Judged]) -> dict[Key, tuple[Option, tuple[Evidence, ...]]]:
    """Each way with the reasons of the weightiest assignment that it stands in."""
    best: dict[Key, tuple[float, Option, tuple[Evidence, ...]]] = {}
    for judged in group:
        for assignment in judged.found:
            for option in assignment.options.values():
                key = _key(option)
                if key not in best or best[key][0] < assignment.weight:
                    best[key] = (assignment.weight, option, assignment.together)
    return {key: (option, together) for key, (_, option, together) in best.items()}


_OF_POWERS: Final = (
    EvidenceKind.LOSS,
    EvidenceKind.VARIES_MORE,
    EvidenceKind.SAME_UNIT,
    EvidenceKind.FAR_END,
)


def _candidate(
    context: Context, found: tuple[Option, tuple[Evidence, ...]], probability: float
) -> Candidate:
    option, together = found
    view = option.view
    shared = [e for e in together if view.quantity in POWERS or e.kind not in _OF_POWERS]
    return Candidate(
        quantity=view.quantity,
        place=view.column.place,
        unit=view.unit,
        probability=min(1.0, probability),
        evidence=tuple(sorted((*option.evidence, *shared), key=lambda e: -abs(e.weight))),
        samples=_samples(context, option),
    )


def _samples(context: Context, option: Option) -> tuple[Sample, ...]:
    view = option.view
    found = []
    for row in context.speaking:
        port = context.tie.ports.get(row)
        label = "" if port is None else port.label
        if row in view.lit:
            value = view.lit[row].measure
            figure = math.exp(value) if view.quantity is Quantity.BIAS else value
            found.append(Sample(row, label, figure))
        elif row in view.dark:
            found.append(Sample(row, label, NO_LIGHT))
    return tuple(found)


def _figure(
    quantity: Quantity,
    shown: tuple[Candidate, ...],
    *,
    moved: bool,
) -> Figure:
    """Confident only if the table moved and whatever else reads differently is out of question."""
    first = shown[0]
    others = [c.probability for c in shown[1:] if not _agree(first, c)]
    rest = max(others, default=_NEGLIGIBLE)
    sure = moved and first.probability >= CERTAIN and first.probability >= FACTOR * rest
    return Figure(quantity=quantity, ranked=shown, confident=sure)


def _agree(one: Candidate, other: Candidate) -> bool:
    """Whether two columns are one figure published twice: alike in every row, in other units."""
    mine = {s.row: s.figure for s in one.samples}
    theirs = {s.row: s.figure for s in other.samples}
    if one.place == other.place or mine.keys() != theirs.keys() or len(mine) < 2:
        return False
    apart = _ROUNDED[one.quantity]
    return all(_near(mine[row], theirs[row], apart) for row in mine)


def _near(one: object, other: object, apart: float) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= apart + 0.002 * abs(one)
    return one == other


def _doubted(proposals: Sequence[Proposal]) -> list[Proposal]:
    """Without a power nothing is certain: many things are warm, or 3300 of something."""
    return [
        p
        if any(f.quantity in POWERS and f.ranked[0].probability >= CERTAIN for f in p.figures)
        else replace(p, figures=tuple(replace(f, confident=False) for f in p.figures))
        for p in proposals
    ]


def _described(judged: _Judged, figures: Sequence[Figure], probability: float) -> Proposal:
    sheet, tie = judged.context.sheet, judged.context.tie
    dark, gone = _words(judged, figures)
    name, offset, known = _scalar_port(sheet, tie), 0, bool(tie.ports)
    if IndexPart.PORT in tie.index:
        at = [a for a in tie.index if a is not IndexPart.KIND].index(IndexPart.PORT)
        template = name_template(tie, at)
        name, offset = template or ("", 0)
        known = template is not None
    return Proposal(
        entry=sheet.entry,
        index=tie.index,
        figures=tuple(figures),
        probability=probability,
        port_known=known,
        kind_oid=sheet.kind_oid,
        port_oid=tie.port_oid,
        port_is=tie.port_is,
        port_name=name,
        port_offset=offset,
        no_light=dark,
        not_there=gone,
    )


def _scalar_port(sheet: Sheet, tie: Tie) -> str:
    port = tie.ports.get((0,)) if sheet.shape is Shape.SCALARS else None
    return "" if port is None else port.label


def _words(
    judged: _Judged, figures: Sequence[Figure]
) -> tuple[tuple[CellWord, ...], tuple[CellWord, ...]]:
    """The words for no light, and for no module: those in rows that do not speak."""
    chosen = {f.ranked[0].place: f.quantity for f in figures}
    dark: dict[CellWord, None] = {}
    for judgement in judged.found[:1]:
        for quantity in POWERS:
            option = judgement.options.get(quantity)
            for word in () if option is None else option.view.dark_words:
                if word not in (0, "0"):
                    dark[word] = None
    gone: dict[CellWord, None] = {}
    for column in judged.context.sheet.columns:
        if column.place not in chosen:
            continue
        for row, cells in column.cells.items():
            silent = row not in judged.context.speaking
            if silent and isinstance(cells[0], Word):
                gone[cells[0].written] = None
    return tuple(dark), tuple(word for word in gone if word not in dark)
