"""The plug that is pulled, and the column that goes dark."""

from __future__ import annotations

from tests.strandkeeper.readers.identify_sheet import ENTRY, ROWS, leaves

from strandkeeper.model.identification import Place, ProofKind
from strandkeeper.readers.identify_proof import proof

PLACES = tuple(Place((*ENTRY, arc)) for arc in (2, 3, 4, 5, 6))


def test_one_column_that_goes_dark_is_receive_power() -> None:
    before = leaves(ROWS)
    shown = proof(before, before | {(*ENTRY, 6, 5): -4000}, PLACES)
    assert shown.kind is ProofKind.ONE
    assert shown.columns == (Place((*ENTRY, 6)),)
    assert shown.cells == ((*ENTRY, 6, 5),)


def test_a_little_less_light_is_not_darkness() -> None:
    before = leaves(ROWS)
    assert proof(before, before | {(*ENTRY, 6, 5): -1150}, PLACES).kind is ProofKind.NOTHING


def test_a_linear_figure_goes_to_nothing_and_a_text_to_a_word() -> None:
    linear = proof({(*ENTRY, 6, 5): 971}, {(*ENTRY, 6, 5): 0})
    assert linear.kind is ProofKind.ONE
    text = proof({(*ENTRY, 6, 5): b"-10.12 dBm"}, {(*ENTRY, 6, 5): b"-inf"})
    assert text.kind is ProofKind.ONE


def test_a_whole_row_that_goes_was_the_module() -> None:
    before = leaves(ROWS)
    during = {oid: value for oid, value in before.items() if oid[-1] != 5}
    assert proof(before, during, PLACES).kind is ProofKind.ALL


def test_four_lanes_that_go_dark_are_one_column() -> None:
    before = {(*ENTRY, 6, 5, lane): 4000 for lane in range(1, 5)}
    shown = proof(before, dict.fromkeys(before, 0), (Place((*ENTRY, 6)),))
    assert shown.kind is ProofKind.ONE


def test_the_same_figure_in_two_units_goes_dark_twice() -> None:
    before = {(*ENTRY, 6, 5): 971, (*ENTRY, 7, 5): -1012}
    during = {(*ENTRY, 6, 5): 0, (*ENTRY, 7, 5): -4000}
    places = (Place((*ENTRY, 6)), Place((*ENTRY, 7)))
    assert proof(before, during, places).kind is ProofKind.SEVERAL
