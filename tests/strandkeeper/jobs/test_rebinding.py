"""Walking a switch again: at once where it must be, ever more rarely where nothing comes of it."""

from __future__ import annotations

import itertools

from strandkeeper.jobs.rebinding import RebindReason, RebindTimes


def walks(reason: RebindReason, seconds: int, *, changed: bool) -> list[int]:
    """When a reason that holds at every poll of ten seconds leads to a walk."""
    times, found = RebindTimes(), []
    for now in range(0, seconds, 10):
        if times.allowed(reason, now):
            times.bound(frozenset({reason}), now, changed=changed)
            found.append(now)
    return found


def test_a_restart_and_a_wrong_name_are_always_walked() -> None:
    for reason in (RebindReason.RESTART, RebindReason.NAMES):
        assert walks(reason, 60, changed=False) == [0, 10, 20, 30, 40, 50]


def test_a_table_that_says_at_every_poll_that_it_changed_is_believed_less_and_less() -> None:
    found = walks(RebindReason.TABLE, 86_400, changed=False)
    assert found[:4] == [0, 30, 90, 210]
    gaps = [b - a for a, b in itertools.pairwise(found)]
    assert gaps == sorted(gaps)
    assert gaps[-1] == 1800


def test_a_table_that_did_change_is_looked_at_again_soon() -> None:
    assert walks(RebindReason.MODULE, 130, changed=True) == [0, 30, 60, 90, 120]


def test_one_reason_does_not_hold_another_back() -> None:
    times = RebindTimes()
    times.bound(frozenset({RebindReason.TABLE}), 100, changed=False)
    assert not times.allowed(RebindReason.TABLE, 110)
    assert times.allowed(RebindReason.MODULE, 110)


def test_every_switch_is_walked_once_a_day() -> None:
    times = RebindTimes()
    times.bound(frozenset({RebindReason.MISSING}), 100, changed=True)
    assert not times.allowed(RebindReason.DAILY, 86_400)
    assert times.allowed(RebindReason.DAILY, 86_500)
