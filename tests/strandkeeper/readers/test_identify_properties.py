"""Whatever a switch says, identification answers with proposals and raises nothing."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strandkeeper.readers.identify_sheet import ENTRY, ROWS, leaves, moved, ports

from strandkeeper.model.enterprise_table import parse_unit
from strandkeeper.model.identification import unit_text
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.reading import Quantity
from strandkeeper.readers.identify import Observations, rank
from strandkeeper.readers.identify_proof import proof
from strandkeeper.readers.identify_units import UNITS_OF

values = st.one_of(
    st.integers(-(2**64), 2**64),
    st.integers(-5000, 5000),
    st.binary(max_size=30),
    st.sampled_from([b"-5.23 dBm", b"N/A", b"-inf", b"35.2 C", b"3.31 V", b"1e400", b"-", b""]),
    st.sampled_from(list(Absent)),
    st.tuples(st.integers(0, 9), st.integers(0, 9)),
)
oids = st.lists(st.integers(0, 6), min_size=0, max_size=5).map(lambda tail: (*ENTRY, *tail))
polls = st.lists(st.dictionaries(oids, values, max_size=25), max_size=3)


@settings(max_examples=150, deadline=None)
@given(polls)
def test_no_answer_of_a_switch_raises_anything(found: list[dict[Oid, Value]]) -> None:
    for proposal in rank(Observations(polls=tuple(found), ports=ports())):
        assert 0.0 <= proposal.probability <= 1.0
        for figure in proposal.figures:
            shares = [c.probability for c in figure.ranked]
            assert shares == sorted(shares, reverse=True)
            assert sum(shares) <= 1.0 + 1e-6


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(oids, values, max_size=25), st.dictionaries(oids, values, max_size=25))
def test_no_two_looks_at_a_switch_make_the_proof_raise(
    before: dict[Oid, Value], during: dict[Oid, Value]
) -> None:
    assert set(proof(before, during).cells) <= set(before)


@settings(max_examples=20, deadline=None)
@given(st.permutations((2, 3, 4, 5, 6)))
def test_receive_power_is_found_in_whatever_column_it_stands(arcs: list[int]) -> None:
    found = tuple(leaves(moved(ROWS, turn), arcs) for turn in range(5))
    proposals = rank(Observations(polls=found, ports=ports()))
    figure = proposals[0].figure(Quantity.RX)
    assert figure is not None
    assert figure.ranked[0].place.column == (*ENTRY, arcs[4])


def test_every_unit_that_is_tried_is_written_as_it_is_read() -> None:
    for choices in UNITS_OF.values():
        for choice in choices:
            assert parse_unit(unit_text(choice.unit)) == choice.unit
