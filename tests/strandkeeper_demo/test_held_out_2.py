"""The second set: every switch answers over UDP, and its ground truth is what it serves.

Nothing here says what a switch is like; failures name the switch and the cell alone.
"""

from __future__ import annotations

import pytest
from tests.bench import identify_score
from tests.bench.held_out_agents import HELD_OUT
from tests.bench.held_out_agents_2 import HELD_OUT_2
from tests.bench.held_out_agents_2.forms import OneLane
from tests.strandkeeper_demo.held_out import (
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

from strandkeeper_demo.mib import Oid, Syntax
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.responder import serve
from strandkeeper_demo.personalities.table import Column, Published, Row
from strandkeeper_demo.personalities.tuning import TUNING

PORT = 16_267
HOST = "127.0.9.2"
BY_NAME = {p.name: p for p in HELD_OUT_2}
NAMES = list(BY_NAME)
DEEP = [n for n in NAMES if not BY_NAME[n].manners.gen_err]


def test_there_are_enough_and_none_is_one_of_the_others() -> None:
    others = (*TUNING, *HELD_OUT)
    assert len(HELD_OUT_2) >= 25
    assert len(HELD_OUT_2) % 2 == 0, "they are met in pairs: an odd one would be left out"
    assert sum(1 for p in HELD_OUT_2 if p.truth().of(Quantity.RX)) >= 22
    for what in ("name", "about", "arc"):
        all_of_them = {getattr(p, what) for p in (*others, *HELD_OUT_2)}
        assert len(all_of_them) == len(others) + len(HELD_OUT_2)
    shapes = {
        tuple((p.column[len(s.base) :], p.unit, p.kind, p.index) for p in s.truth().published)
        for s in HELD_OUT_2
        if s.truth().published
    }
    assert len(shapes) == sum(1 for s in HELD_OUT_2 if s.truth().published)


@needs_tools
@pytest.mark.parametrize("name", DEEP)
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


def _wanted(row: Row, column: Column, truth: Published) -> float | None:
    """What the module of a row holds, in the dimension of the truth; None: nothing to be seen."""
    lane = column.lane if isinstance(column, OneLane) else row.lane
    if not row.port.measures or lane >= len(row.port.lanes):
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
            cell = tables.get((*truth.column, *index))
            if row.quantity not in (None, truth.quantity) or wanted is None or cell is None:
                continue
            assert marked(truth, index, tables)
            (shown, *_) = NUMBER.findall(str(cell[1]).replace("\u2212", "-").replace(",", "."))
            off = abs(float(shown) * truth.unit.step - wanted)
            assert off <= 0.51 * digit(shown) * truth.unit.step, f"{name} {truth.column}"
            seen.add((truth.column, truth.quantity))
    assert seen == {(truth.column, truth.quantity) for _, _, truth in places(box.switch)}


def test_it_is_scored_beside_the_others() -> None:
    chosen = {
        only: [name for name in identify_score.SETS if identify_score._asked_for(name, only)]
        for only in (None, "tuning", "seen", "seen-2", "wild")
    }
    assert chosen == {
        None: ["tuning", "seen", "seen-2"],
        "tuning": ["tuning"],
        "seen": ["seen"],
        "seen-2": ["seen-2"],
        "wild": ["wild"],
    }
