"""Record time goes on through every jump of the clock, and says what it can be believed for."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.store.record_time import (
    BUILT_MS,
    Change,
    Epoch,
    Mode,
    record_ms,
    start,
    watch,
)

T = BUILT_MS + 10_000_000_000  # some day after the release
HOUR_MS = 3_600_000


@dataclass
class Machine:
    """A computer whose wall clock can be set, looked at once a second; rows are kept as written."""

    wall_ms: int = T
    mono_ms: int = 50_000
    newest_ms: int | None = None
    rows: list[int] = field(default_factory=list)
    epochs: list[Epoch] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._take(start(self.wall_ms, self.mono_ms, self.newest_ms))

    def _take(self, change: Change) -> None:
        self.clock = change.clock
        if change.date_from_ms is not None:
            assert change.date_by_ms > 0
            self.rows = [
                row + change.date_by_ms if row >= change.date_from_ms else row for row in self.rows
            ]
        if change.epoch is not None:
            self.epochs.append(change.epoch)

    def set_clock(self, by_ms: int) -> None:
        self.wall_ms += by_ms

    def run(self, seconds: int, step_s: int = 1) -> None:
        for _ in range(0, seconds, step_s):
            self.wall_ms += step_s * 1000
            self.mono_ms += step_s * 1000
            self._take(watch(self.clock, self.wall_ms, self.mono_ms))
            self.rows.append(record_ms(self.clock, self.mono_ms))

    @property
    def behind_ms(self) -> int:
        return self.wall_ms - record_ms(self.clock, self.mono_ms)


def test_a_clock_that_runs_evenly_is_record_time() -> None:
    machine = Machine()
    machine.run(120)
    assert machine.rows == [T + second * 1000 for second in range(1, 121)]
    assert [epoch.reason for epoch in machine.epochs] == ["start"]
    assert machine.clock.trusted


def test_a_small_correction_is_not_a_jump() -> None:
    machine = Machine()
    for by in (900, -900, 900):
        machine.set_clock(by)
        machine.run(5)
    assert len(machine.epochs) == 1


def test_an_hour_ahead_is_followed_at_once_and_recorded() -> None:
    machine = Machine()
    machine.run(10)
    machine.set_clock(HOUR_MS)
    machine.run(10)
    assert machine.behind_ms == 0
    epoch = machine.epochs[-1]
    assert (epoch.reason, epoch.mode) == ("clock-ahead", Mode.TRUSTED)
    assert epoch.start_ms == T + HOUR_MS + 11_000


def test_an_hour_back_goes_on_as_before_and_is_not_believed() -> None:
    machine = Machine()
    machine.run(10)
    machine.set_clock(-HOUR_MS)
    machine.run(600)
    assert machine.rows[9:12] == [T + 10_000, T + 11_001, T + 12_001]
    assert machine.epochs[-1].reason == "clock-back"
    assert not machine.clock.trusted


@pytest.mark.parametrize("jitter_ms", [0, -1, -900, 1])
def test_a_clock_that_comes_back_is_believed_again_and_rows_stay_within_jitter(
    jitter_ms: int,
) -> None:
    machine = Machine()
    machine.set_clock(-HOUR_MS)
    machine.run(600)
    rows = list(machine.rows)
    machine.set_clock(HOUR_MS + jitter_ms)
    machine.run(5)
    assert machine.clock.trusted
    assert all(abs(a - b) <= 1 for a, b in zip(machine.rows, rows, strict=False))
    assert machine.rows == sorted(machine.rows)
    assert [epoch.reason for epoch in machine.epochs[1:]] == ["clock-back", "clock-believed-again"]


def test_a_clock_that_stays_back_is_caught_up_with_at_half_speed() -> None:
    """An hour of patience, then two hours at half speed make good the hour."""
    machine = Machine()
    machine.run(10)
    machine.set_clock(-HOUR_MS)
    machine.run(3_600)
    assert machine.clock.mode is Mode.HELD
    machine.run(2)
    assert machine.clock.mode is Mode.CATCHING_UP
    machine.run(7_196)
    assert machine.clock.mode is Mode.CATCHING_UP
    machine.run(10)
    assert machine.clock.trusted
    assert machine.behind_ms == 0
    assert machine.rows == sorted(machine.rows)


def test_a_clock_not_set_at_the_start_holds_rows_until_it_is() -> None:
    """No battery clock: the machine wakes in 1970, the time comes by network ten minutes later."""
    newest = T - 86_400_000
    machine = Machine(wall_ms=60_000, newest_ms=newest)
    machine.run(600)
    assert machine.rows[0] == newest + 1 + 1000
    assert not machine.clock.trusted
    machine.set_clock(T - machine.wall_ms)
    machine.run(1)
    assert machine.clock.trusted
    # the last held row was written one second before the look that found the clock set
    assert machine.rows[599] == T
    assert machine.rows[0] == T - 599_000


def test_a_clock_behind_the_newest_row_by_an_hour_is_not_believed_at_the_start() -> None:
    machine = Machine(newest_ms=T + HOUR_MS)
    assert (machine.epochs[0].reason, machine.epochs[0].mode) == (
        "clock-behind-at-start",
        Mode.HELD,
    )
    machine.run(4 * 3600)
    assert machine.clock.trusted
    assert machine.behind_ms == 0


def test_a_clock_before_the_release_is_not_believed_in_an_empty_file() -> None:
    assert not Machine(wall_ms=BUILT_MS - 1).clock.trusted
    assert Machine(wall_ms=BUILT_MS).clock.trusted


def test_a_clock_years_behind_is_waited_for_not_run_after() -> None:
    machine = Machine(wall_ms=0)
    machine.run(3 * 3600, step_s=10)
    assert machine.clock.mode is Mode.HELD


@settings(deadline=None)
@given(
    st.integers(-(10**11), 10**11),
    st.lists(
        st.tuples(st.integers(-(10**9), 10**9), st.sampled_from([1, 30, 4000, 20_000])),
        max_size=8,
    ),
)
def test_no_sequence_of_jumps_lets_the_record_run_back(
    newest_by_ms: int, jumps: list[tuple[int, int]]
) -> None:
    newest = T + newest_by_ms
    machine = Machine(newest_ms=newest)
    for by_ms, seconds in jumps:
        machine.set_clock(by_ms)
        machine.run(seconds, step_s=max(1, seconds // 100))
        assert machine.rows == sorted(machine.rows)
        assert all(row > newest for row in machine.rows)
    starts = [epoch.start_ms for epoch in machine.epochs]
    assert starts[0] > newest
