"""Kinds of layout and of unit beside the plain table, each with a table written by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from tests.strandkeeper.readers.identify_sheet import ENTRY, ROWS, leaves, moved, ports, seen
from tests.strandkeeper.readers.test_identify import first

from strandkeeper.model.enterprise_table import IndexPart, parse_unit
from strandkeeper.model.identification import EvidenceKind, Place
from strandkeeper.model.oid import Oid
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.identify import Observations, rank


def _relaid(make: Callable[[int, int], Oid]) -> Observations:
    """The table of seen() with each figure under an OID of its own, of row and place."""
    polls = tuple(
        {
            make(row, place): value
            for row, values in moved(ROWS, turn).items()
            for place, value in enumerate(values)
        }
        for turn in range(5)
    )
    return Observations(polls=polls, ports=ports())


def test_the_kind_may_stand_within_the_index() -> None:
    """Index ifIndex.kind.lane, of one lane."""
    proposals = rank(_relaid(lambda row, place: (*ENTRY, 3, row, 11 + place, 1)))
    unit = parse_unit("0.01 dBm")
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 3), 15), unit)
    assert first(proposals, Quantity.TX) == (Place((*ENTRY, 3), 14), unit)
    assert proposals[0].index == (IndexPart.IF_INDEX, IndexPart.KIND, IndexPart.ANY)


def test_a_table_for_each_quantity_is_read_as_one() -> None:
    proposals = rank(_relaid(lambda row, place: (*ENTRY[:-1], 3 + place, 1, 7, 0, row)))
    assert first(proposals, Quantity.RX)[0] == Place((*ENTRY[:-1], 7, 1, 7))
    assert first(proposals, Quantity.SUPPLY)[0] == Place((*ENTRY[:-1], 4, 1, 7))


def test_the_name_of_the_port_may_be_the_index() -> None:
    """Length, then letters (RFC 2578 7.7): the last letter is the number of the port."""
    proposals = rank(_relaid(lambda row, place: (*ENTRY, 2 + place, 3, 71, 105, 48 + row)))
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 6)), parse_unit("0.01 dBm"))
    assert proposals[0].index[-1] is IndexPart.PORT
    assert (proposals[0].port_offset, proposals[0].port_name) == (-48, "Gi{port}")


def test_the_ends_of_ranges_in_rows_without_a_module_are_no_figures() -> None:
    """65535 in every row of a copper port, beside what is live in all rows."""
    nothing = dict.fromkeys(range(1, 5), (65_535,) * 5)
    polls = tuple(
        leaves(
            {
                row: (*values, 33_010 + 7 * row + turn % 2, 11_700 + 31 * row - turn % 3, row + 40)
                for row, values in {**nothing, **moved(ROWS, turn)}.items()
            },
            (2, 3, 4, 5, 6, 8, 9, 10),
        )
        for turn in range(5)
    )
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 6)), parse_unit("0.01 dBm"))
    assert proposals[0].not_there == (65_535,)


def test_what_belongs_to_the_module_may_stand_in_one_row_of_its_lanes() -> None:
    """ifIndex.lane: temperature and supply under lane 0, the rest under the lanes from 1."""
    polls = tuple(
        {
            (*ENTRY, 2 + place, row, 0 if place < 2 else lane): value + (place > 1) * 37 * lane
            for row, values in moved(ROWS, turn).items()
            if row != 8
            for lane in (1, 2)
            for place, value in enumerate(values)
        }
        for turn in range(5)
    )
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.TEMPERATURE)[0] == Place((*ENTRY, 2))
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 6)), parse_unit("0.01 dBm"))


def test_text_with_exponents_may_be_in_watts_and_amperes() -> None:
    def said(values: Sequence[int]) -> tuple[bytes, ...]:
        degrees, volts, amperes, sent, received = values
        watts = [10 ** (power / 1000 - 3) for power in (sent, received)]
        figures = (degrees / 10, volts / 1000, amperes / 1e6, *watts)
        return tuple(f"{figure:.3e}".encode() for figure in figures)

    polls = tuple(
        leaves({row: said(values) for row, values in moved(ROWS, turn).items() if row != 8})
        for turn in range(5)
    )
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 6)), parse_unit("W"))
    assert first(proposals, Quantity.BIAS) == (Place((*ENTRY, 4)), parse_unit("A"))


def test_the_far_end_doubts_and_does_not_decide() -> None:
    """What it says may be of another fibre: its weight is bounded either way."""
    for sent in (-30.0, -5.5, 40.0):
        far = dict.fromkeys((5, 6, 7), Dbm(sent))
        figure = rank(replace(seen(), far_sent=far))[0].figure(Quantity.RX)
        assert figure is not None
        assert figure.ranked[0].place == Place((*ENTRY, 6))
        told = [e for e in figure.ranked[0].evidence if e.kind is EvidenceKind.FAR_END]
        assert all(abs(e.weight) <= 1.0 for e in told)
