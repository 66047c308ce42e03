"""Described tables in the file: what is read out of them, and every mistake in one sentence."""

from __future__ import annotations

from fractions import Fraction

import pytest
from tests.strandkeeper.config.texts import VALID, problems, read, without

from strandkeeper.model.enterprise_table import CellUnit, Dimension, IndexPart, PortIs, parse_unit
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Dbm

TABLE = """
[[table]]
name = "optics"
index = "unit.port"
port_name = "Gi{unit}/{port}"
port_offset = -1
rx = { oid = "1.3.6.1.4.1.32473.1.5", unit = "0.01 dBm", no_light = [-4000] }
tx = { oid = ".1.3.6.1.4.1.32473.1.4", unit = "text" }
not_there = ["N/A", -1]
floor_dbm = -36.0
serial = "1.3.6.1.4.1.32473.1.9"
"""
NAMED = without(VALID, 'host = "192.0.2.10"', 'host = "192.0.2.10"\ntables = ["optics"]')


def test_a_described_table_reaches_the_switch_that_names_it() -> None:
    first, second = read(NAMED + TABLE).switches
    assert second.tables == ()
    (table,) = first.tables
    assert table.index == (IndexPart.UNIT, IndexPart.PORT)
    assert table.columns[Quantity.RX].oid == (1, 3, 6, 1, 4, 1, 32473, 1, 5)
    assert table.columns[Quantity.RX].unit == CellUnit(Fraction(1, 100), Dimension.DBM)
    assert table.columns[Quantity.RX].no_light == (-4000,)
    assert table.columns[Quantity.TX].oid == (1, 3, 6, 1, 4, 1, 32473, 1, 4)
    assert table.columns[Quantity.TX].unit is None
    assert (table.not_there, table.floor) == (("N/A", -1), Dbm(-36.0))
    assert (table.port_name, table.port_offset) == ("Gi{unit}/{port}", -1)
    assert (table.port_is, table.lane) == (PortIs.NAME, None)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('unit = "0.01 dBm"', 'unit = "0.01 dB"',
         'table "optics" › rx › unit: got "0.01 dB", expected a number and a unit (dbm, w, mw, uw, '
         'nw, c, °c, v, mv, uv, a, ma, ua), or text; write: unit = "0.01 dBm"'),
        ('unit = "0.01 dBm"', 'unit = "mV"',
         'table "optics" › rx › unit: got "mV", which is no unit of receive power; '
         'write: unit = "0.01 dBm"'),
        ('unit = "0.01 dBm"', 'unit = "uW", kind = 5',
         'table "optics" › rx › kind: nothing tells the kind of a row: add kind_oid, or kind '
         "to the index, or take it out"),
        ('unit = "0.01 dBm"', 'unit = "uW", kind = 1.5',
         'table "optics" › rx › kind: got 1.5, expected a number, or text in double quotes; '
         "write: kind = 5"),
        ("[-4000]", "[true]",
         'table "optics" › rx › no_light: got true, expected a number, or text in double quotes; '
         "write: no_light = [-4000]"),
        ('"1.3.6.1.4.1.32473.1.5"', '"ifInOctets"',
         'table "optics" › rx › oid: got "ifInOctets", expected an object identifier in numbers, '
         'such as 1.3.6.1.4.1.32473.1.1.1.5; write: oid = "1.3.6.1.4.1.32473.1.1.1.5"'),
        ('"unit.port"', '"unit.slot"',
         'table "optics" › index: got "unit.slot", expected ifIndex, entPhysicalIndex, port, unit, '
         "lane, kind or any, or a number, each once, with dots between them; "
         'write: index = "ifIndex"'),
        ('"unit.port"', '"ifIndex"',
         'table "optics" › port_name: not used, since ifIndex tells the port; take it out'),
        ('"unit.port"', '"ifIndex.port"',
         'table "optics": ifIndex and port both tell the port; keep one'),
        ('port_name = "Gi{unit}/{port}"', 'port_name = "Gi{slot}/{port}"',
         'table "optics" › port_name: got "Gi{slot}/{port}", expected a name with {port} and '
         '{unit} in it; write: port_name = "Gi{port}"'),
        ('port_name = "Gi{unit}/{port}"', 'port_name = "Gi{port"',
         'table "optics" › port_name: got "Gi{port", expected a name with {port} and '
         '{unit} in it; write: port_name = "Gi{port}"'),
        ('port_name = "Gi{unit}/{port}"', 'port_name = "{port.__class__}"',
         'table "optics" › port_name: got "{port.__class__}", expected a name with {port} and '
         '{unit} in it; write: port_name = "Gi{port}"'),
        ('serial = "1.3.6.1.4.1.32473.1.9"', 'pages = "1.3.6.1.4.1.32473.1.9"',
         'table "optics": rx and pages are two tables; make a [[table]] of each'),
    ],
)  # fmt: skip
def test_one_mistake_in_a_table_is_one_sentence(old: str, new: str, sentence: str) -> None:
    assert sentence in problems(without(NAMED + TABLE, old, new))


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('[[table]]\nname = "optics"\n',
         'table "optics" › rx: missing: the table has no figure and no pages; '
         'write: rx = { oid = "1.3.6.1.4.1.32473.1.1.1.5", unit = "0.01 dBm" }'),
        ('[[table]]\nname = "optics"\nindex = "any"\npage_a2 = "1.3.6.1.4.1.32473.1.9"\n',
         'table "optics" › index: nothing tells which port a row is of: the index must hold '
         "ifIndex, entPhysicalIndex or port, or port_oid or port_name must be there; "
         'write: index = "ifIndex"'),
        ('[[table]]\nname = "optics"\npage_a0 = "1.3.6.1.4.1.32473.1.9"\n',
         'table "optics" › page_a2: missing: the readings are in page A2h; '
         'write: page_a2 = "1.3.6.1.4.1.32473.1.1.1.3"'),
        ('[[table]]\nname = "optics"\nindex = "ifIndex.kind"\n'
         'rx = { oid = "1.3.6.1.4.1.32473.1.5", unit = "uW" }\n',
         'table "optics" › rx › kind: missing: which value marks the rows of this quantity; '
         "write: kind = 5"),
        (TABLE + TABLE, 'table "optics": 2 of this name; every table needs a name of its own'),
        ("", 'switch "lab-switch" › tables: no [[table]] is called "optics"; there are: none'),
        (TABLE.replace('"optics"', '"optiks"'),
         'switch "lab-switch" › tables: no [[table]] is called "optics"; there are: "optiks"; '
         'write: tables = ["optiks"]'),
    ],
)  # fmt: skip
def test_what_is_missing_from_a_table_is_said(text: str, sentence: str) -> None:
    assert sentence in problems(NAMED + text)


@pytest.mark.parametrize("text", ["", "0 dBm", "1/0 C", "dBm x", "-1 dBm", "0.01", "dB", "5 %"])
def test_what_is_no_unit_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"unit|step"):
        parse_unit(text)
