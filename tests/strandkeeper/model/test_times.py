"""Record time as text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.errors import InputError
from strandkeeper.model.times import iso_utc, ms_from_iso


@pytest.mark.parametrize(
    ("ms", "text"),
    [
        # date -u -d @1700000000 +%FT%TZ, GNU coreutils
        pytest.param(1_700_000_000_000, "2023-11-14T22:13:20Z", id="GNU date"),
        pytest.param(951_782_400_000, "2000-02-29T00:00:00Z", id="GNU date, leap day"),
        pytest.param(-1, "1969-12-31T23:59:59.999Z", id="before the epoch, by hand"),
    ],
)
def test_a_time_is_written_in_utc(ms: int, text: str) -> None:
    assert iso_utc(ms) == text
    assert ms_from_iso(text) == ms


@given(st.integers(min_value=-(10**13), max_value=10**14))
def test_no_millisecond_is_lost(ms: int) -> None:
    assert ms_from_iso(iso_utc(ms)) == ms


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        ms_from_iso("2026-03-01T12:00:00")
    assert str(caught.value) == (
        "'2026-03-01T12:00:00' does not say its time zone\n  end it with Z if it is UTC"
    )


def test_what_is_no_time_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        ms_from_iso("yesterday")
    assert str(caught.value) == "'yesterday' is not a time\n  write it like 2026-03-01T12:00:00Z"
