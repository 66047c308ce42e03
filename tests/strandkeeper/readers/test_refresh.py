"""How often a switch renews its figures, learned from when they move."""

from __future__ import annotations

from strandkeeper.readers.refresh import RefreshClock


def test_figures_polled_every_30_s_and_renewed_every_minute_are_renewed_every_minute() -> None:
    clock = RefreshClock()
    for n in range(20):
        clock.feed(30.0 * n, (n * 30 // 60,))
    assert clock.interval_s == 60


def test_nothing_is_said_before_enough_changes_were_seen() -> None:
    clock = RefreshClock()
    for n in range(4):
        clock.feed(30.0 * n, n)
        assert clock.interval_s is None
    clock.feed(120.0, 4)
    assert clock.interval_s == 30


def test_a_pause_does_not_outweigh_the_habit() -> None:
    clock = RefreshClock()
    times = [0.0, 30.0, 60.0, 90.0, 4000.0, 4030.0, 4060.0]
    for n, at_s in enumerate(times):
        clock.feed(at_s, n)
    assert clock.interval_s == 30
