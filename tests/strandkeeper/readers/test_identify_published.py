"""What managed switches usually publish: ways to index, to count and to say nothing, by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest
from tests.strandkeeper.readers.identify_sheet import ENTRY, ROWS, moved, ports
from tests.strandkeeper.readers.test_identify import first

from strandkeeper.model.enterprise_table import IndexPart, PortIs, parse_unit
from strandkeeper.model.identification import Place
from strandkeeper.model.oid import Oid, Value
from strandkeeper.model.reading import Quantity
from strandkeeper.readers.identify import Observations, rank

TEMPERATURE, SUPPLY, BIAS, TX, RX = range(5)

Cell = Callable[[int, float], Value]  # from the place of a quantity and its figure in C, V, mA, dBm


def _figures(turn: int) -> dict[int, tuple[float, ...]]:
    """The figures of each port in C, V, mA and dBm; -40 is no light."""
    return {
        row: (v[0] / 10, v[1] / 1000, v[2] / 1000, v[3] / 100, v[4] / 100)
        for row, v in moved(ROWS, turn).items()
    }


def _seen(place_of: Callable[[int, int], Oid], cell: Cell) -> Observations:
    """Five looks at the figures, each under an OID of its row and place."""
    polls = tuple(
        {
            place_of(row, place): cell(place, figure)
            for row, figures in _figures(turn).items()
            for place, figure in enumerate(figures)
        }
        for turn in range(5)
    )
    return Observations(polls=polls, ports=ports())


def _plain(row: int, place: int) -> Oid:
    return (*ENTRY, 2 + place, row)


def _counts(power: Callable[[float], int]) -> Cell:
    """Whole numbers: tenths of a degree, mV, µA, and powers as told."""

    def cell(place: int, figure: float) -> int:
        if place in (TX, RX):
            return power(figure)
        return round(figure * (10, 1000, 1000)[place])

    return cell


def _dbm(parts: int) -> Cell:
    return _counts(lambda dbm: round(dbm * parts))


def _linear(parts: int) -> Cell:
    """So many counts a milliwatt; no light is nought."""
    return _counts(lambda dbm: 0 if dbm <= -40 else round(10 ** (dbm / 10) * parts))


def _text(*forms: str, dark: str, comma: bool = False) -> Cell:
    def cell(place: int, figure: float) -> bytes:
        if figure <= -40:
            return dark.encode()
        said = forms[place if len(forms) > 1 else 0].format(figure, mw=10 ** (figure / 10))
        return (said.replace(".", ",") if comma else said).encode()

    return cell


WAYS: Mapping[str, tuple[Cell, str | None]] = {
    "0.01 dBm": (_dbm(100), "0.01 dBm"),
    "0.001 dBm": (_dbm(1000), "0.001 dBm"),
    "0.1 dBm": (_dbm(10), "0.1 dBm"),
    "0.1 uW": (_linear(10_000), "0.1 uW"),
    "uW": (_linear(1000), "uW"),
    "nW": (_linear(1_000_000), "nW"),
    "bare text": (_text("{:.2f}", dark="-inf"), "dBm"),
    "bare text with a comma": (_text("{:.2f}", dark="-40,00", comma=True), "dBm"),
    "text with units": (
        _text("{:.1f} C", "{:.2f} V", "{:.2f} mA", "{:.2f} dBm", "{:.2f} dBm", dark="N/A"),
        None,
    ),
    "glued units": (_text("{:.1f}C", "{:.2f}V", "{:.2f}mA", *["{:.2f}dBm"] * 2, dark="--"), None),
    "two units": (
        _text("{:.1f} C", "{:.2f} V", "{:.2f} mA", *["{:.2f} dBm / {mw:.4f} mW"] * 2, dark="-inf"),
        None,
    ),
    "milliwatts": (_text("{:.1f}", "{:.2f}", "{:.2f}", *["{mw:.4f}"] * 2, dark="0.0000"), "mW"),
}


@pytest.mark.parametrize("way", WAYS)
def test_receive_power_is_found_however_it_is_counted(way: str) -> None:
    cell, words = WAYS[way]
    place, unit = first(rank(_seen(_plain, cell)), Quantity.RX)
    assert place == Place((*ENTRY, 6))
    assert unit == (None if words is None else parse_unit(words))


INDEXES: Mapping[str, Callable[[int], Oid]] = {
    "ifIndex": lambda row: (row,),
    "counted from nought": lambda row: (row - 1,),
    "slot.port": lambda row: (1, row),
    "slot.port of the slot": lambda row: (2, row - 4),
    "chassis.slot.port": lambda row: (1, 0, row),
    "ifIndex.lane": lambda row: (row, 1),
}


@pytest.mark.parametrize("index", INDEXES)
@pytest.mark.parametrize("way", ["0.01 dBm", "0.1 uW", "text with units"])
def test_receive_power_is_found_however_its_rows_are_indexed(way: str, index: str) -> None:
    cell, words = WAYS[way]
    of_row = INDEXES[index]
    seen = _seen(lambda row, place: (*ENTRY, 2 + place, *of_row(row)), cell)
    place, unit = first(rank(seen), Quantity.RX)
    assert place == Place((*ENTRY, 6))
    assert unit == (None if words is None else parse_unit(words))


def test_the_rows_may_be_those_of_the_modules_in_the_inventory() -> None:
    seen = _seen(lambda row, place: (*ENTRY, 2 + place, 4000 + 3 * row), WAYS["0.001 dBm"][0])
    known = replace(seen, entities={4000 + 3 * row: row for row in ROWS})
    proposal = rank(known)[0]
    assert first((proposal,), Quantity.RX) == (Place((*ENTRY, 6)), parse_unit("0.001 dBm"))
    assert proposal.index == (IndexPart.ENTITY,)


NOTHING: Mapping[str, Callable[[int], Value | None]] = {
    "no rows": lambda _: None,
    "nought": lambda _: 0,
    "the least power": lambda place: -4000 if place in (TX, RX) else 0,
    "65535": lambda _: 65_535,
    "-2147483648": lambda _: -(2**31),
}


@pytest.mark.parametrize("nothing", NOTHING)
def test_rows_without_a_module_do_not_hide_those_with_one(nothing: str) -> None:
    """Copper ports and a slot that is empty have rows that say so in some way."""
    seen = _seen(_plain, WAYS["0.01 dBm"][0])
    said = {
        (*ENTRY, 2 + place, row): value
        for row in (1, 2, 3, 4)
        for place in range(5)
        if (value := NOTHING[nothing](place)) is not None
    }
    polls = tuple({**said, **poll} for poll in seen.polls)
    place, unit = first(rank(replace(seen, polls=polls)), Quantity.RX)
    assert (place, unit) == (Place((*ENTRY, 6)), parse_unit("0.01 dBm"))


# high alarm, high warning, low warning, low alarm: C, V, mA, dBm
LIMITS = (
    (78.0, 73.0, -8.0, -13.0),
    (3.7, 3.6, 3.0, 2.9),
    (60.0, 50.0, 5.0, 4.0),
    (0.0, -1.0, -9.5, -11.0),
    (-1.0, -3.0, -19.0, -21.0),
)


@pytest.mark.parametrize("way", ["0.01 dBm", "0.1 uW", "uW", "bare text"])
@pytest.mark.parametrize("beside", [True, False])
def test_limits_are_not_taken_for_figures(way: str, beside: bool) -> None:
    """Behind each figure, or in a table of their own."""
    cell, words = WAYS[way]
    seen = _seen(lambda row, place: (*ENTRY, 2 + 5 * place, row), cell)
    entry = ENTRY if beside else (*ENTRY[:-2], 2, 1)
    limits = {
        (*entry, 3 + 5 * place + n, row): cell(place, limit)
        for row in ROWS
        for place, some in enumerate(LIMITS)
        for n, limit in enumerate(some)
    }
    found = rank(replace(seen, polls=tuple({**limits, **poll} for poll in seen.polls)))
    assert words is not None
    assert first(found, Quantity.RX) == (Place((*ENTRY, 22)), parse_unit(words))
    assert first(found, Quantity.TX) == (Place((*ENTRY, 17)), parse_unit(words))


def test_a_list_of_sensors_is_read_by_the_number_of_its_type() -> None:
    """A running row number; the port's ifIndex and the type in columns, 65535 for none."""
    cell = WAYS["0.01 dBm"][0]
    polls = []
    for turn in range(5):
        leaf: dict[Oid, Value] = {}
        for row, figures in _figures(turn).items():
            for place, figure in enumerate(figures):
                number = 5 * (row - 5) + place + 1
                leaf[*ENTRY, 2, number] = row
                leaf[*ENTRY, 3, number] = 11 + place
                leaf[*ENTRY, 4, number] = cell(place, figure)
        polls.append(leaf)
    found = rank(Observations(polls=tuple(polls), ports=ports()))
    assert first(found, Quantity.RX) == (Place((*ENTRY, 4), 15), parse_unit("0.01 dBm"))
    assert found[0].kind_oid == (*ENTRY, 3)
    assert found[0].port_oid == (*ENTRY, 2)


def _channels(turn: int) -> dict[Oid, Value]:
    """A running number; port's ifIndex and lane in columns 2 and 3, an alarm in column 4."""
    leaf: dict[Oid, Value] = {}
    cell = WAYS["uW"][0]
    for row, figures in _figures(turn).items():
        for lane in (1, 2):
            number = 2 * (row - 5) + lane
            for arc, value in ((2, row), (3, lane), (4, 1 + (row == 8))):
                leaf[*ENTRY, arc, number] = value
            for place, figure in enumerate(figures):
                own = figure - 0.7 * lane if place in (TX, RX) and figure > -40 else figure
                leaf[*ENTRY, 5 + place, number] = cell(place, own)
    return leaf


def test_a_list_of_channels_is_tied_by_the_port_and_the_lane_in_columns() -> None:
    """Never by the column of alarms, whose 1 and 2 are ports as well."""
    found = rank(Observations(polls=tuple(map(_channels, range(5))), ports=ports()))
    assert first(found, Quantity.RX) == (Place((*ENTRY, 9)), parse_unit("uW"))
    assert (found[0].port_oid, found[0].port_is) == ((*ENTRY, 2), PortIs.IF_INDEX)


def test_the_words_of_the_rows_tell_what_figures_alone_do_not() -> None:
    """Degrees and laser currents that could be either: 35.2 and 17.1, both in tenths."""
    words = ("Bias Current", "Voltage", "Temperature", "TX Power", "RX Power")
    polls = tuple(
        {
            (*ENTRY, 2 + column, 5 * row + place): value
            for row, figures in _figures(turn).items()
            for place, figure in enumerate(figures)
            for column, value in enumerate(
                (f"Gi{row}".encode(), words[place].encode(), WAYS["0.01 dBm"][0](place, figure))
            )
        }
        for turn in range(5)
    )
    found = rank(Observations(polls=polls, ports=ports()))
    place, _ = first(found, Quantity.BIAS)
    assert place == Place((*ENTRY, 4), "Bias Current")
