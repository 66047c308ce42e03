"""The second held-out set: every switch answers over UDP, and its ground truth is what it serves.

Nothing here says what a switch is like; failures name the switch and the cell alone.
"""

from __future__ import annotations

import asyncio
import re
import shutil
from collections.abc import Iterator

import pytest
from tests.bench import identify_score
from tests.bench.held_out_agents import HELD_OUT
from tests.bench.held_out_agents_2 import HELD_OUT_2
from tests.bench.held_out_agents_2.forms import OneLane
from tests.bench.identify_course import Meeting, Offer
from tests.bench.identify_marks import Marks

from strandkeeper.optics.units import Milliwatt
from strandkeeper_demo.mib import Oid, Syntax, Value, dotted
from strandkeeper_demo.personalities.columns import reading
from strandkeeper_demo.personalities.personality import Personality, Tables
from strandkeeper_demo.personalities.physics import Fill, Pair, Quantity
from strandkeeper_demo.personalities.responder import Box, serve
from strandkeeper_demo.personalities.table import Column, Published, Row, Table
from strandkeeper_demo.personalities.tuning import TUNING

NOW_S = 1_767_268_800.0  # 2026-01-01 12:00 UTC, when hardware read twice a minute was just read
PORT = 16_267
HOST = "127.0.9.2"
BY_NAME = {p.name: p for p in HELD_OUT_2}
NAMES = list(BY_NAME)
DEEP = [n for n in NAMES if not BY_NAME[n].manners.gen_err]

needs_tools = pytest.mark.skipif(
    shutil.which("snmpget") is None, reason="NOT RUN: the Net-SNMP tools (package snmp) are missing"
)


def box_of(switch: Personality, seed: int = 23) -> Box:
    return Box(switch, Pair(switch.ports, switch.ports, seed=seed), 0, clock=lambda: NOW_S)


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


async def _asked(switch: Personality, tool: str, oid: str) -> str:
    version = "1" if switch.manners.versions == (0,) else "2c"
    child = await asyncio.create_subprocess_exec(
        *(f"snmp{tool}", f"-v{version}", "-c", "reads-only", "-t", "0.5", "-r", "1"),
        *("-On", "-Oe", "-Ot", "-Oa", f"{HOST}:{PORT}", oid),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT,
        env={"MIBS": "", "PATH": "/usr/bin:/bin", "HOME": "/nonexistent"},
    )
    out, _ = await child.communicate()
    return out.decode("utf-8", "replace")


def _lines(text: str) -> Iterator[tuple[Oid, str]]:
    for line in text.splitlines():
        name, equals, value = line.partition(" = ")
        if equals and name.startswith(".") and not value.startswith(("No more", "No Such")):
            yield dotted(name.lstrip(".")), value


@needs_tools
@pytest.mark.parametrize("name", DEEP)
async def test_a_walk_by_other_hands_finds_every_cell_with_its_value(name: str) -> None:
    box = box_of(BY_NAME[name])
    (wire,) = await serve([(box, (HOST, PORT))])
    text = await _asked(box.switch, "walk", ".".join(map(str, box.switch.base)))
    wire.close()
    found = dict(_lines(text))
    tables = box.tables()
    size = len(box.switch.base)
    assert sorted(found) == sorted(oid for oid in tables if oid[:size] == box.switch.base)
    whole = (Syntax.INTEGER, Syntax.GAUGE, Syntax.COUNTER32)
    for oid, shown in found.items():
        syntax, value = tables[oid]
        if syntax in whole:
            assert shown.rpartition(": ")[2] == str(value), f"{name} {oid}"


@needs_tools
@pytest.mark.parametrize("name", NAMES)
async def test_it_says_who_it_is(name: str) -> None:
    box = box_of(BY_NAME[name])
    (wire,) = await serve([(box, (HOST, PORT))])
    text = await _asked(box.switch, "get", "1.3.6.1.2.1.1.2.0")
    wire.close()
    assert text.strip().endswith(f".32473.{box.switch.arc}.1")


def _places(switch: Personality) -> Iterator[tuple[Table, Column, Published]]:
    """Each column that publishes, with the truth of each quantity in it."""
    for table in switch.tables:
        for truth in table.truth(switch.base):
            column = next(c for c in table.columns if c.arc == truth.column[-1])
            yield table, column, truth


def _rows(box: Box, table: Table) -> Iterator[Row]:
    """The rows of a table."""
    every = (
        Row(port=p, if_index=box.switch.if_index(p.plan.number, 1), running=0, uptime_cs=0)
        for p in box.pair.ports(0, NOW_S)
    )
    return table._spread(every)


def _marked(truth: Published, index: Oid, tables: Tables) -> bool:
    """Whether a row bears the mark of the quantity, where the table has one row a sensor."""
    if truth.kind_column is not None:
        return tables[*truth.kind_column, *index][1] == truth.kind
    return truth.kind is None or truth.kind in index


def _cells(truth: Published, tables: Tables) -> list[Value]:
    """What stands in the rows that the truth points at."""
    size = len(truth.column)
    return [
        value
        for oid, (_, value) in tables.items()
        if oid[:size] == truth.column and _marked(truth, oid[size:], tables)
    ]


NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]\d+)?")


def _digit(shown: str) -> float:
    """The worth of the last digit of a number as it is written."""
    mantissa, _, power = shown.partition("e")
    return float(10.0 ** (int(power or 0) - len(mantissa.partition(".")[2])))


def _wanted(row: Row, column: Column, truth: Published) -> float | None:
    """What the module of a row holds, in the dimension of the truth; None: nothing to be seen."""
    lane = column.lane if isinstance(column, OneLane) else row.lane
    if not row.port.measures or lane >= len(row.port.lanes):
        return None
    figure = reading(row.port, lane, truth.quantity)
    if not isinstance(figure, Milliwatt):
        return figure
    return figure.to_dbm().value if truth.unit.dimension == "dBm" else figure.value


@pytest.mark.parametrize("name", NAMES)
def test_its_ground_truth_is_what_it_serves_cell_by_cell(name: str) -> None:
    box = box_of(BY_NAME[name])
    tables = box.tables()
    seen: set[tuple[Oid, Quantity]] = set()
    for table, column, truth in _places(box.switch):
        for row in _rows(box, table):
            wanted, index = _wanted(row, column, truth), table.index.of(row)
            cell = tables.get((*truth.column, *index))
            if row.quantity not in (None, truth.quantity) or wanted is None or cell is None:
                continue
            assert _marked(truth, index, tables)
            (shown, *_) = NUMBER.findall(str(cell[1]).replace("\u2212", "-").replace(",", "."))
            off = abs(float(shown) * truth.unit.step - wanted)
            assert off <= 0.51 * _digit(shown) * truth.unit.step, f"{name} {truth.column}"
            seen.add((truth.column, truth.quantity))
    assert seen == {(truth.column, truth.quantity) for _, _, truth in _places(box.switch)}


@pytest.mark.parametrize("name", NAMES)
def test_light_that_goes_moves_receive_power_and_no_other_quantity(name: str) -> None:
    box = box_of(BY_NAME[name])
    truth = box.switch.truth()
    before = dict(box.tables())
    for port in box.switch.ports:
        if port.fill is Fill.LIT:
            box.pair.unplug(0, port.number)
    after = box.tables()
    moved = {
        quantity: any(_cells(t, before) != _cells(t, after) for t in truth.of(quantity))
        for quantity in Quantity
    }
    assert moved[Quantity.RX] == bool(truth.of(Quantity.RX))
    assert not any(moved[q] for q in Quantity if q is not Quantity.RX)


@pytest.mark.parametrize("name", NAMES)
def test_everything_of_its_own_lies_below_its_own_arc(name: str) -> None:
    switch = BY_NAME[name]
    tables = box_of(switch).tables()
    private = [oid for oid in tables if oid[:6] == (1, 3, 6, 1, 4, 1)]
    assert private
    assert all(oid[: len(switch.base)] == switch.base for oid in private)


def test_it_is_scored_only_when_asked_for_by_name() -> None:
    chosen = {
        only: [name for name in identify_score.SETS if identify_score._asked_for(name, only)]
        for only in (None, "tuning", "seen", "held-out-2")
    }
    assert chosen == {
        None: ["tuning", "seen"],
        "tuning": ["tuning"],
        "seen": ["seen"],
        "held-out-2": ["held-out-2"],
    }


async def silent(_: Meeting) -> dict[Quantity, Offer]:
    """Offers nothing."""
    return {}


@pytest.mark.parametrize("names", [False, True])
async def test_its_switches_are_named_with_names_alone(
    names: bool, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The network is left out here: the marks are of nobody's answers."""

    async def score(_: object, switches: tuple[Personality, ...], __: int) -> Marks:
        marks = Marks()
        for switch in switches:
            marks.add(switch.name, switch.truth(), {})
        return marks

    monkeypatch.setattr(identify_score, "score", score)
    arguments = ["--only", "held-out-2", "--learn", f"{__name__}:silent"]
    assert await identify_score.main([*arguments, *(["--names"] if names else [])]) == 1
    out = capsys.readouterr().out
    assert any(re.search(rf"\b{name}\b", out) for name in NAMES) is names
