"""How often a link is polled while somebody looks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strandkeeper.jobs.live_rate import grant, is_alive, poll_interval, renewed
from strandkeeper.model.live import LiveRequest
from strandkeeper.model.names import LinkName

SHORE = LinkName("shore")
MINUTE_MS = 60_000
REQUEST = LiveRequest(link=SHORE, since_ms=0, renewed_ms=0)


def lasting(now_ms: int) -> LiveRequest:
    return replace(REQUEST, renewed_ms=now_ms)


@pytest.mark.parametrize(
    ("refresh_s", "now_ms", "expected"),
    [
        pytest.param(None, 1_000, 1.0, id="unknown yet"),
        pytest.param(30.0, 19_999, 1.0, id="finding out"),
        pytest.param(30.0, 20_000, 5.0, id="a slow switch is asked every 5 s all the same"),
        pytest.param(6.0, 20_000, 3.0, id="twice within each renewal"),
        pytest.param(0.5, 20_000, 1.0, id="never more than once a second"),
    ],
)
def test_the_rate_follows_what_the_switch_renews(
    refresh_s: float | None, now_ms: int, expected: float
) -> None:
    assert poll_interval([lasting(now_ms)], refresh_s, now_ms) == expected


def test_nobody_looking_is_no_rate() -> None:
    assert poll_interval([], None, 0) is None
    assert poll_interval([REQUEST], None, 30_000) is None
    assert is_alive(REQUEST, 29_999)


def test_a_view_ends_after_half_an_hour_however_often_it_is_renewed() -> None:
    now_ms = 30 * MINUTE_MS
    assert not is_alive(lasting(now_ms), now_ms)
    refused = renewed(lasting(now_ms), SHORE, 1.0, now_ms + 10_000)
    assert isinstance(refused, str)
    again = renewed(lasting(now_ms), SHORE, 1.0, now_ms + MINUTE_MS)
    assert again == LiveRequest(
        link=SHORE, since_ms=now_ms + MINUTE_MS, renewed_ms=now_ms + MINUTE_MS
    )


def test_a_renewal_keeps_the_beginning() -> None:
    found = renewed(REQUEST, SHORE, 1.0, 10_000)
    assert found == replace(REQUEST, renewed_ms=10_000)


def test_what_is_granted_says_why_it_is_no_more() -> None:
    early, late = grant(lasting(5_000), 6.0, 5_000), grant(lasting(25_000), 6.0, 25_000)
    assert early is not None
    assert late is not None
    assert (early.interval_s, early.refresh_s) == (1.0, None)
    assert early.why == "finding out how often the switch renews its figures"
    assert (late.interval_s, late.refresh_s) == (3.0, 6.0)
    assert late.why == "the switch renews its figures no more often"
    assert late.until_ms == 55_000
