"""A restart told from the turn of the clock at 497 days (2^32 hundredths of a second)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.readers.uptime import restarted

TURN = 2**32


@pytest.mark.parametrize(
    ("before", "now", "elapsed_s", "answer"),
    [
        pytest.param(100_000, 101_000, 10, False, id="ten seconds later"),
        pytest.param(100_000, 100_950, 10, False, id="a slow answer before, a quick one now"),
        pytest.param(100_000, 500, 10, True, id="restarted five seconds ago"),
        pytest.param(
            100_000, 105_000, 300, True, id="restarted while silent, and older than before"
        ),
        pytest.param(300, 100, 2, True, id="restarted three seconds after it had started"),
        pytest.param(TURN - 500, 500, 10, False, id="turned over on time"),
        pytest.param(TURN - 90_000, 500, 10, True, id="restarted shortly before it would turn"),
        pytest.param(100_000, 900_000, 10, False, id="this computer slept"),
        pytest.param(None, 500, 10, False, id="nothing to compare with"),
        pytest.param(500, None, 10, False, id="no clock in the answer"),
    ],
)
def test_restart_or_not(
    before: int | None, now: int | None, elapsed_s: float, answer: bool
) -> None:
    assert restarted(before, now, elapsed_s) is answer


@given(st.integers(0, TURN - 1), st.floats(0.5, 3600), st.floats(-2, 2))
def test_a_clock_that_only_runs_never_looks_restarted(
    before: int, elapsed_s: float, delay_s: float
) -> None:
    """The second reading is taken after the first, whatever the answers' delays."""
    now = int(before + max(0.0, elapsed_s + delay_s) * 100) % TURN
    assert restarted(before, now, elapsed_s) is False


@given(st.integers(10_000, TURN - 200_000), st.floats(1, 600), st.floats(0, 1))
def test_a_restart_is_always_seen(before: int, elapsed_s: float, part: float) -> None:
    since_boot_cs = int(elapsed_s * part * 100)
    assert restarted(before, since_boot_cs, elapsed_s) is True
