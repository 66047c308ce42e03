"""The third set: every switch answers over UDP, and its ground truth is what it serves.

Nothing here says what a switch is like; failures name the switch and the cell alone.
"""

from __future__ import annotations

import pytest
from tests.bench import identify_score
from tests.bench.held_out_agents import HELD_OUT
from tests.bench.held_out_agents_2 import HELD_OUT_2
from tests.bench.held_out_agents_2.forms import OneLane
from tests.bench.held_out_agents_3 import HELD_OUT_3
from tests.bench.held_out_agents_3.forms import limit_of
from tests.strandkeeper_demo.held_out import (
    NOW_S,
    NUMBER,
    asked,
    box_of,
    cells_in,
    digit,
    figure_of,
    marked,
    places,
    rows,
)
from tests.strandkeeper_demo.net_snmp import needs_tools

from strandkeeper.optics.units import Milliwatt
from strandkeeper_demo.mib import Oid, Syntax
from strandkeeper_demo.personalities.columns import Limit, reading
from strandkeeper_demo.personalities.physics import Fill, Pair, Quantity
from strandkeeper_demo.personalities.responder import boxes_of, serve
from strandkeeper_demo.personalities.table import Column, Published, Row
from strandkeeper_demo.personalities.tuning import TUNING

PORT = 16_268
HOST = "127.0.9.3"
BY_NAME = {p.name: p for p in HELD_OUT_3}
NAMES = list(BY_NAME)
PAIRS = list(zip(NAMES[::2], NAMES[1::2], strict=True))


def test_there_are_enough_and_none_is_one_of_the_others() -> None:
    others = (*TUNING, *HELD_OUT, *HELD_OUT_2)
    publishing = [p for p in HELD_OUT_3 if p.truth().of(Quantity.RX)]
    assert len(HELD_OUT_3) >= 26
    assert len(HELD_OUT_3) % 2 == 0, "they are met in pairs: an odd one would be left out"
    assert 22 <= len(publishing) < len(HELD_OUT_3)
    assert all(p.arc >= 700 for p in HELD_OUT_3)
    for what in ("name", "about", "arc"):
        all_of_them = {getattr(p, what) for p in (*others, *HELD_OUT_3)}
        assert len(all_of_them) == len(others) + len(HELD_OUT_3)
    shapes = {
        tuple((p.column[len(s.base) :], p.unit, p.kind, p.index) for p in s.truth().published)
        for s in publishing
    }
    assert len(shapes) == len(publishing)


@pytest.mark.parametrize("name", NAMES)
def test_a_person_could_tell(name: str) -> None:
    """More than one lit module to compare, and one without light where it is published."""
    switch = BY_NAME[name]
    fills = [port.fill for port in switch.ports]
    assert fills.count(Fill.LIT) >= 2
    if switch.truth().of(Quantity.RX):
        assert fills.count(Fill.DARK) >= 1
    assert switch.manners.stalls_s <= 60


@pytest.mark.parametrize("pair", PAIRS, ids="-".join)
def test_pairs_are_joined_by_two_links_of_one_class(pair: tuple[str, str]) -> None:
    near, far = (BY_NAME[name] for name in pair)
    optic = {port.number: port.optic for port in near.ports}
    there = {port.number: port.optic for port in far.ports}
    links = Pair(near.ports, far.ports, seed=1).links
    assert len(links) >= 2
    assert all(optic[here] == there[yonder] for here, yonder in links)


@pytest.mark.parametrize("pair", PAIRS, ids="-".join)
@pytest.mark.parametrize("seed", [1000, 2000, 3000])
def test_no_module_in_use_is_beyond_its_thresholds(pair: tuple[str, str], seed: int) -> None:
    boxes = boxes_of(*(BY_NAME[n] for n in pair), seed=seed, clock=lambda: NOW_S)
    for side, box in enumerate(boxes):
        for port in (p for p in box.pair.ports(side, NOW_S) if p.plan.fill is Fill.LIT):
            for lane in range(len(port.lanes)):
                for quantity in Quantity:
                    shown = reading(port, lane, quantity)
                    assert shown is not None
                    value = shown.to_dbm().value if isinstance(shown, Milliwatt) else shown
                    low, high = (
                        limit_of(quantity, which, port.plan.optic)
                        for which in (Limit.LOW_ALARM, Limit.HIGH_ALARM)
                    )
                    assert low < value < high


@needs_tools
@pytest.mark.parametrize("name", NAMES)
async def test_a_walk_by_other_hands_finds_every_cell_with_its_value(name: str) -> None:
    box = box_of(BY_NAME[name])
    (wire,) = await serve([(box, (HOST, PORT))])
    text = await asked(box.switch, "walk", f"{HOST}:{PORT}", ".".join(map(str, box.switch.base)))
    wire.close()
    found = dict(cells_in(text))
    tables = box.tables()
    size = len(box.switch.base)
    assert sorted(found) == sorted(oid for oid in tables if oid[:size] == box.switch.base)
    whole = (Syntax.INTEGER, Syntax.GAUGE, Syntax.COUNTER32)
    for oid, shown in found.items():
        syntax, value = tables[oid]
        if syntax in whole:
            assert shown.rpartition(": ")[2] == str(value), f"{name} {oid}"
        elif isinstance(value, str) and value.isascii():
            assert shown.partition(": ")[2].strip('"') == value, f"{name} {oid}"


def _wanted(row: Row, column: Column, truth: Published) -> float | None:
    """What the module of a row holds, in the dimension of the truth; None: nothing to be seen."""
    lane = column.lane if isinstance(column, OneLane) else row.lane
    if not row.port.measures:
        return None
    return figure_of(row, lane, truth)


@pytest.mark.parametrize("name", NAMES)
def test_its_ground_truth_is_what_it_serves_cell_by_cell(name: str) -> None:
    box = box_of(BY_NAME[name])
    tables = box.tables()
    seen: set[tuple[Oid, Quantity]] = set()
    for table, column, truth in places(box.switch):
        for row in rows(box, table):
            wanted, index = _wanted(row, column, truth), table.index.of(row)
            if row.quantity not in (None, truth.quantity) or wanted is None:
                continue
            cell = tables[*truth.column, *index]
            assert marked(truth, index, tables)
            (shown, *_) = NUMBER.findall(str(cell[1]).replace(",", "."))
            off = abs(float(shown) * truth.unit.step - wanted)
            assert off <= 0.51 * digit(shown) * truth.unit.step, f"{name} {truth.column}"
            seen.add((truth.column, truth.quantity))
    assert seen == {(truth.column, truth.quantity) for _, _, truth in places(box.switch)}


@pytest.mark.parametrize("name", NAMES)
def test_no_two_of_its_tables_write_the_same_cell(name: str) -> None:
    switch = BY_NAME[name]
    box = box_of(switch)
    ports = box.pair.ports(0, NOW_S)
    written: list[Oid] = []
    for table in switch.tables:
        rows = (
            Row(port=p, if_index=switch.if_index(p.plan.number, 1), running=0, uptime_cs=0)
            for p in ports
        )
        written += [oid for oid, _, _ in table.cells(switch.base, rows)]
    assert len(written) == len(set(written))


def test_it_is_scored_only_when_asked_for() -> None:
    assert identify_score.SETS["held-out-3"] == (HELD_OUT_3, 0.95)
    assert not identify_score._asked_for("held-out-3", None)
    chosen = [s for s in identify_score.SETS if identify_score._asked_for(s, "held-out-3")]
    assert chosen == ["held-out-3"]
