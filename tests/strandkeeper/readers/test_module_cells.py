"""A module's own words for itself, out of cells as switches write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.model.oid import Absent, Value
from strandkeeper.readers.module_cells import facts_of_cells, wavelength_in, wavelength_nm


@pytest.mark.parametrize(
    ("cell", "nm"),
    [
        (1310, 1310.0),
        (13100, 1310.0),
        (131000, 1310.0),
        (1550120, 1550.12),
        (850, 850.0),
        (b"1310", 1310.0),
        (b"1310 nm", 1310.0),
        (b" 1310.00nm\x00", 1310.0),
        ("1,31 µm".encode(), 1310.0),
        (b"1550,12 NM", 1550.12),
        (0, None),
        (65535, None),  # 655.35 nm, or 6553.5: neither is light of a module
        (b"", None),
        (b"N/A", None),
        (b"13100 nm", None),  # the unit is stated: nothing is divided
        (b"1310/1490 nm", None),
        (Absent.NO_SUCH_INSTANCE, None),
        (None, None),
    ],
)
def test_a_wavelength_is_read_in_whatever_it_is_counted(
    cell: Value | None, nm: float | None
) -> None:
    assert wavelength_nm(cell) == nm


@given(st.one_of(st.none(), st.integers(), st.binary(max_size=40), st.sampled_from(Absent)))
def test_no_cell_breaks_it_or_gives_what_no_module_sends(cell: Value | None) -> None:
    nm = wavelength_nm(cell)
    assert nm is None or 700 <= nm <= 1700


@given(st.text(max_size=60))
def test_no_description_breaks_it(text: str) -> None:
    nm = wavelength_in(text)
    assert nm is None or 700 <= nm <= 1700


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("LX transceiver, 1310nm, 10 km", 1310.0),
        ("SX 850 nm 550 m", 850.0),
        ("DWDM 1550.12nm", 1550.12),
        ("two-way 1310nm/1490nm", None),
        ("rated 11310nm", None),
        ("1000BASE-LX", None),
    ],
)
def test_the_one_wavelength_of_a_description_is_found(text: str, nm: float | None) -> None:
    assert wavelength_in(text) == nm


def test_a_cell_that_was_not_answered_leaves_the_whole_open() -> None:
    cells = {"serial": (1, 1), "part": (1, 2)}
    assert facts_of_cells(cells, {(1, 1): b"AB1", (1, 2): Absent.FAILED}) is None
    assert facts_of_cells(cells, {(1, 1): b"AB1"}) is None
    gone = facts_of_cells(cells, {(1, 1): b"AB1", (1, 2): Absent.NO_SUCH_INSTANCE})
    assert gone is not None
    assert gone.module_id == "AB1"
