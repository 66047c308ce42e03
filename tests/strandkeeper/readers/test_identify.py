"""Identification by physics on tables written by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.strandkeeper.readers.identify_sheet import ENTRY, ROWS, leaves, moved, ports, seen

from strandkeeper.model.enterprise_table import CellUnit, IndexPart, parse_unit
from strandkeeper.model.identification import EvidenceKind, Place, Proposal
from strandkeeper.model.power import NoLight
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.identify import Observations, rank, watch_list


def first(proposals: tuple[Proposal, ...], quantity: Quantity) -> tuple[Place, CellUnit | None]:
    figure = proposals[0].figure(quantity)
    assert figure is not None
    return figure.ranked[0].place, figure.ranked[0].unit


def test_five_figures_in_the_usual_order_are_told_apart_with_their_units() -> None:
    proposals = rank(seen())
    wanted = {
        Quantity.TEMPERATURE: (2, "0.1 C"),
        Quantity.SUPPLY: (3, "mV"),
        Quantity.BIAS: (4, "uA"),
        Quantity.TX: (5, "0.01 dBm"),
        Quantity.RX: (6, "0.01 dBm"),
    }
    for quantity, (arc, unit) in wanted.items():
        assert first(proposals, quantity) == (Place((*ENTRY, arc)), parse_unit(unit))
    assert proposals[0].index == (IndexPart.IF_INDEX,)
    assert proposals[0].no_light == (-4000,)
    assert proposals[0].probability > 0.99


def test_the_order_of_the_columns_decides_nothing_alone() -> None:
    """Received before sent, and bias first: the dark port and the loss tell."""
    turned = {row: (v[2], v[4], v[3], v[0], v[1]) for row, v in ROWS.items()}
    polls = tuple(
        leaves({r: (v[2], v[4], v[3], v[0], v[1]) for r, v in moved(ROWS, t).items()})
        for t in range(5)
    )
    assert polls[1] != leaves(turned)
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 3)), parse_unit("0.01 dBm"))
    assert first(proposals, Quantity.TX) == (Place((*ENTRY, 4)), parse_unit("0.01 dBm"))


def test_a_limit_that_stands_still_is_not_taken_for_the_figure_beside_it() -> None:
    polls = tuple(
        leaves({r: (*v, -300, -1950) for r, v in moved(ROWS, t).items()}, (2, 3, 4, 5, 6, 7, 8))
        for t in range(5)
    )
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.RX)[0] == Place((*ENTRY, 6))
    assert first(proposals, Quantity.TX)[0] == Place((*ENTRY, 5))


def test_the_sample_shows_the_figures_and_the_port_without_light() -> None:
    figure = rank(seen())[0].figure(Quantity.RX)
    assert figure is not None
    shown = {s.port: s.figure for s in figure.ranked[0].samples}
    assert isinstance(shown["Gi8"], NoLight)
    assert shown["Gi5"] == pytest.approx(-10.12, abs=0.02)


def test_the_reasons_say_which_ports_were_dark() -> None:
    figure = rank(seen())[0].figure(Quantity.RX)
    assert figure is not None
    dark = [e for e in figure.ranked[0].evidence if e.kind is EvidenceKind.DARK_PORTS]
    assert [e.figures for e in dark] == [(1.0, 3.0)]
    assert dark[0].weight > 0


def test_values_on_copper_ports_are_no_readings_of_modules() -> None:
    copper = tuple(replace(p, optical=False, spec=None) for p in ports())
    assert rank(replace(seen(), ports=copper)) == ()


def test_counters_and_clocks_are_nothing() -> None:
    rows = {n: (1000 * n, 33_000 + n, 50 * n) for n in range(1, 9)}
    polls = tuple(
        leaves({n: tuple(v + 700 * t for v in values) for n, values in rows.items()}, (1, 2, 3))
        for t in range(5)
    )
    assert rank(Observations(polls=polls, ports=ports())) == ()


def test_no_poll_and_no_leaf_are_no_proposal() -> None:
    assert rank(Observations(polls=())) == ()
    assert rank(Observations(polls=({},))) == ()


def test_what_the_far_end_sends_must_be_more_than_what_is_received() -> None:
    """A far end that sends -30 dBm cannot be received with -10: 20 dB would be gained."""
    before = rank(seen())[0].figure(Quantity.RX)
    near = {5: Dbm(-5.5), 6: Dbm(-6.1), 7: Dbm(-5.0)}
    agrees = rank(replace(seen(), far_sent=near))[0].figure(Quantity.RX)
    assert before is not None
    assert agrees is not None
    assert agrees.ranked[0].probability >= before.ranked[0].probability
    far = rank(replace(seen(), far_sent=dict.fromkeys((5, 6, 7), Dbm(-30.0))))[0]
    figure = far.figure(Quantity.RX)
    against = [
        e
        for f in (figure.ranked if figure else ())
        for e in f.evidence
        if e.kind is EvidenceKind.FAR_END and f.place == Place((*ENTRY, 6))
    ]
    assert all(e.weight < 0 for e in against)


def test_a_row_a_sensor_is_read_by_the_kind_in_its_index() -> None:
    polls = tuple(
        {
            (*ENTRY, 3, row, kind): value
            for row, values in moved(ROWS, t).items()
            for kind, value in enumerate(values, 1)
        }
        for t in range(5)
    )
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.RX)[0] == Place((*ENTRY, 3), 5)
    assert proposals[0].index == (IndexPart.IF_INDEX, IndexPart.KIND)


def test_a_row_a_sensor_is_read_by_the_word_in_a_column() -> None:
    words = (b"temp", b"volt", b"bias", b"out", b"in")
    polls = []
    for turn in range(5):
        leaf = {}
        running = 0
        for port, values in moved(ROWS, turn).items():
            for word, value in zip(words, values, strict=True):
                running += 1
                leaf[*ENTRY, 2, running] = f"Gi{port}".encode()
                leaf[*ENTRY, 3, running] = word
                leaf[*ENTRY, 4, running] = value
        polls.append(leaf)
    proposals = rank(Observations(polls=tuple(polls), ports=ports()))
    assert first(proposals, Quantity.RX)[0] == Place((*ENTRY, 4), "in")
    assert proposals[0].kind_oid == (*ENTRY, 3)
    assert proposals[0].port_oid == (*ENTRY, 2)


def test_what_could_be_a_reading_is_watched_and_what_could_not_is_left_alone() -> None:
    once = {**leaves(ROWS), **{(*ENTRY[:-2], 9, 1, 1, n): n * 10**12 for n in range(1, 9)}}
    watched = watch_list(Observations(polls=(once,), ports=ports()))
    assert set(leaves(ROWS)) <= set(watched)
    assert all(oid[: len(ENTRY)] == ENTRY for oid in watched)


def test_figures_parted_into_two_tables_of_the_same_rows_are_found_together() -> None:
    """Temperature, supply and bias in one table, both powers in its neighbour."""
    parent = ENTRY[:-2]
    polls = tuple(
        {
            (*parent, table, 1, arc, row): value
            for row, values in moved(ROWS, turn).items()
            for (table, arc), value in zip(
                ((2, 1), (2, 2), (2, 3), (1, 1), (1, 2)), values, strict=True
            )
        }
        for turn in range(5)
    )
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert proposals[0].entry == parent
    assert first(proposals, Quantity.RX)[0] == Place((*parent, 1, 1, 2))
    assert first(proposals, Quantity.SUPPLY)[0] == Place((*parent, 2, 1, 2))


def test_a_link_that_is_up_needs_the_light_of_its_class() -> None:
    """-30 to -34 dBm are less than 1000BASE-LX10 needs (-19 dBm, IEEE 802.3 table 59-5)."""
    dim = {row: (*v[:4], v[4] if v[4] == -4000 else v[4] - 2100) for row, v in ROWS.items()}
    figure = rank(seen(dim))[0].figure(Quantity.RX)
    assert figure is not None
    for candidate in figure.ranked:
        if candidate.place == Place((*ENTRY, 6)) and candidate.unit == parse_unit("0.01 dBm"):
            found = [e for e in candidate.evidence if e.kind is EvidenceKind.ENOUGH_LIGHT]
            assert [(e.weight, e.figures) for e in found] == [(-4.0, (3.0,))]
            break
    else:
        pytest.fail("the dim column is not among the ways")


def test_a_table_that_is_not_read_anew_while_watched_is_found_but_never_as_certain() -> None:
    """Something else on the switch moves: the table may be of a slow agent, or not live at all."""
    still = leaves(ROWS)
    beside = (*ENTRY[:-2], 9, 1, 1)
    polls = tuple({**still, **{(*beside, n): 40 + (n + t) % 3 for n in (1, 2)}} for t in range(5))
    proposals = rank(Observations(polls=polls, ports=ports()))
    assert first(proposals, Quantity.RX) == (Place((*ENTRY, 6)), parse_unit("0.01 dBm"))
    assert not any(figure.confident for figure in proposals[0].figures)


def test_lasers_of_several_modules_are_not_alike_to_a_thousandth() -> None:
    """5000 counts ± 1 on every port would be half a milliwatt, but lasers differ by more."""
    rows = {row: (*v[:3], 5000 + row % 3, v[4]) for row, v in ROWS.items()}
    offered = {
        candidate.place
        for proposal in rank(seen(rows))
        if (figure := proposal.figure(Quantity.TX)) is not None
        for candidate in figure.ranked
    }
    assert Place((*ENTRY, 5)) not in offered
