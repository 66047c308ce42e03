"""Neighbours by LLDP: whose port number is what. OIDs and subtypes from IEEE 802.1AB-2005."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.model.oid import Oid, Value, parse_oid
from strandkeeper.readers.base import PortKey
from strandkeeper.readers.lldp import COLUMNS, Neighbour, far_port, neighbours

LOCAL, REMOTE = "1.0.8802.1.1.2.1.3.7.1", "1.0.8802.1.1.2.1.4.1.1"
PORTS = tuple(
    PortKey(if_index=100 + n, name=f"Gi{n}", descr=f"port {n}", alias=f"to {n}") for n in (1, 2)
)
ALIAS, MAC, NAME, LOCALLY = 1, 3, 5, 7
Tables = dict[Oid, dict[Oid, Value]]


def tables(*local: tuple[int, int, str, str], hears: int = 1, mark: int = 0) -> Tables:
    """Rows of own ports (number, subtype, ID, description), and a neighbour on one number."""
    made: Tables = {}
    for number, subtype, text, descr in local:
        for column, value in ((2, subtype), (3, text.encode()), (4, descr.encode())):
            made.setdefault(parse_oid(f"{LOCAL}.{column}"), {})[(number,)] = value
    hear(made, hears, "far", mark=mark)
    return made


def hear(made: Tables, number: int, system: str, *, mark: int = 0, running: int = 1) -> None:
    index = (mark, number, running)
    for column, value in ((5, system.encode()), (6, NAME), (7, b"Te1"), (9, system.encode())):
        made.setdefault(parse_oid(f"{REMOTE}.{column}"), {})[index] = value


@pytest.mark.parametrize(
    "walked",
    [
        pytest.param(tables((1, NAME, "Gi1", ""), (2, NAME, "Gi2", "")), id="by ifName"),
        pytest.param(tables((1, ALIAS, "to 1", ""), (2, ALIAS, "to 2", "")), id="by ifAlias"),
        pytest.param(
            tables((1, LOCALLY, "101", ""), (2, LOCALLY, "102", "")), id="by ifIndex text"
        ),
        pytest.param(tables((1, MAC, "\1", "port 1"), (2, MAC, "\1", "port 2")), id="by ifDescr"),
        pytest.param(
            tables((101, MAC, "\1", ""), (102, MAC, "\1", ""), hears=101), id="same number"
        ),
        pytest.param(
            {
                **tables((1, MAC, "\1", ""), (2, MAC, "\1", "")),
                parse_oid("1.3.6.1.2.1.17.1.4.1.2"): {(1,): 101, (2,): 102},
            },
            id="by bridge port",
        ),
    ],
)
def test_a_port_number_is_tied_by_whatever_ties_them_all(walked: Tables) -> None:
    found, remarks = neighbours(walked, PORTS)
    assert [n.system for n in found[101]] == ["far"]
    assert (list(found), remarks) == ([101], ())


def test_a_way_that_ties_two_numbers_to_one_port_is_not_believed() -> None:
    found, remarks = neighbours(tables((1, NAME, "Gi1", ""), (2, NAME, "Gi1", "")), PORTS)
    assert found == {}
    assert remarks == (
        "LLDP neighbours there are, but not on which port: its port numbers fit no names",
    )


def test_of_rows_that_differ_in_their_time_mark_the_latest_counts() -> None:
    walked = tables((1, NAME, "Gi1", ""), (2, NAME, "Gi2", ""), mark=5)
    hear(walked, 1, "newer", mark=90)
    assert [n.system for n in neighbours(walked, PORTS)[0][101]] == ["newer"]


def test_two_neighbours_on_one_port_are_both_told() -> None:
    walked = tables((1, NAME, "Gi1", ""), (2, NAME, "Gi2", ""))
    hear(walked, 1, "phone", running=2)
    assert [n.system for n in neighbours(walked, PORTS)[0][101]] == ["far", "phone"]


@pytest.mark.parametrize(
    ("subtype", "port_id", "descr", "expected"),
    [
        (NAME, "Gi2", "", 102), (NAME, "port 2", "", 102), (ALIAS, "to 2", "", 102),
        (LOCALLY, "102", "", 102), (MAC, "\1\2", "port 2", 102), (MAC, "\1\2", "", None),
        (NAME, "Te9", "", None), (LOCALLY, "7", "", None),
    ],
)  # fmt: skip
def test_the_far_port_is_matched_against_the_far_switch(
    subtype: int, port_id: str, descr: str, expected: int | None
) -> None:
    heard = Neighbour(if_index=1, port_subtype=subtype, port_id=port_id, port_descr=descr)
    assert far_port(heard, PORTS) == expected


VALUES = st.one_of(st.integers(), st.binary(max_size=12), st.just((1, 3, 6)))
INDEXES = st.lists(st.integers(0, 200), min_size=0, max_size=4).map(tuple)


@given(
    st.dictionaries(
        st.sampled_from(COLUMNS), st.dictionaries(INDEXES, VALUES, max_size=4), max_size=9
    )
)
def test_no_rows_break_it(walked: Tables) -> None:
    found, _ = neighbours(walked, PORTS)
    assert all(n.if_index == port for port, heard in found.items() for n in heard)
