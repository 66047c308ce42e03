"""Lengths in any unit, and none guessed."""

from __future__ import annotations

import pytest

from strandkeeper.errors import InputError
from strandkeeper.optics.length import length_m


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("900m", 900),
        ("900 m", 900),
        ("0.9 km", 900),
        ("0,9km", 900),
        ("3000 ft", 914.4),  # the foot is 0.3048 m exactly, 1959
        ("1 mi", 1609.344),
        ("100 yards", 91.44),
        ("12 in", 0.3048),
        ("50 CM", 0.5),
        ("0 m", 0),
    ],
)
def test_units(text: str, metres: float) -> None:
    assert length_m(text) == metres


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("900", "the unit is missing"),
        ("900 furlong", "the unit 'furlong' is not known"),
        ("-5 m", "is no length"),
        ("1'000 m", "is no length"),
        ("far", "is no length"),
    ],
)
def test_what_is_not_clear_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        length_m(text)
