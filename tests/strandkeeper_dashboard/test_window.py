"""Which stretch of time an address asks for."""

from __future__ import annotations

import pytest

from strandkeeper.errors import InputError
from strandkeeper_dashboard.window import window

NOW = 1_795_600_000_000
DAY = 86_400_000


@pytest.mark.parametrize(
    ("range_id", "span_ms"),
    [("1h", 3_600_000), ("6h", 21_600_000), ("1d", DAY), ("1w", 7 * DAY), ("1year", 365 * DAY)],
)
def test_a_range_ends_now(range_id: str, span_ms: int) -> None:
    shown = window(range_id, None, None, now_ms=NOW, first_ms=None)
    assert (shown.to_ms, shown.span_ms) == (NOW, span_ms)
    assert shown.query() == {"range": range_id}


def test_without_a_word_a_day_is_shown() -> None:
    assert window(None, None, None, now_ms=NOW, first_ms=None).span_ms == DAY


def test_all_begins_where_the_record_begins() -> None:
    assert window("all", None, None, now_ms=NOW, first_ms=NOW - 400 * DAY).span_ms == 400 * DAY


def test_a_chosen_stretch_wins_and_comes_back_the_same() -> None:
    shown = window("1h", "2026-11-20T00:00:00Z", "2026-11-21T12:00:00Z", now_ms=NOW, first_ms=None)
    assert shown.span_ms == DAY + DAY // 2
    assert shown.query() == {"from": "2026-11-20T00:00:00Z", "to": "2026-11-21T12:00:00Z"}
    assert shown.earlier() == {"from": "2026-11-18T12:00:00Z", "to": "2026-11-20T00:00:00Z"}
    assert shown.later(NOW) == {"from": "2026-11-21T12:00:00Z", "to": "2026-11-23T00:00:00Z"}


def test_nothing_lies_after_now() -> None:
    assert window("1d", None, None, now_ms=NOW, first_ms=None).later(NOW) is None


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        ("2026-11-20T00:00:00Z", None, "needs both from and to"),
        ("2026-11-20T00:00:00Z", "2026-11-19T00:00:00Z", "less than a minute"),
        ("yesterday", "2026-11-19T00:00:00Z", "'yesterday' is not a time"),
        ("0001-01-01T00:00:00Z", "9999-01-01T00:00:00Z", "longer than"),
    ],
)
def test_a_stretch_that_is_none_is_refused_in_words(start: str, end: str | None, said: str) -> None:
    with pytest.raises(InputError, match=said):
        window(None, start, end, now_ms=NOW, first_ms=None)
