"""Acceptance against published rules: 95 % bit counts, loss limits, mating scatter, resets."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from strandkeeper.analysis.acceptance import (
    Demands,
    acceptance_checks,
    count_bits,
    outcome_of,
)
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import Deltas, EndRow
from strandkeeper.model.rework import Check, CheckKind, Counted, Outcome, Side
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.units import Db, Dbm

GIGABIT = 1.25e9
NOTHING = Demands()
AFTER = Side(
    from_ms=0,
    to_ms=60_000,
    n=60,
    level=Interval(value=2.0, low=1.9, high=2.1),
    rx_dbm=-8.0,
    lasted_ms=60_000,
)


def check(kind: CheckKind, demands: Demands = NOTHING, **more: Any) -> Check:
    given: dict[str, Any] = {"after": AFTER, "counted": Counted(), "flaps": 0, "up": True, **more}
    return next(c for c in acceptance_checks(demands, **given) if c.kind is kind)


# A serial bit-error-rate tester's user's guide, table 25: bits for 95 % "BER < 1e-12", E errors.
@pytest.mark.parametrize(
    ("errors", "bits"),
    [
        pytest.param(0, 2.996e12, id="table 25, 0 errors"),
        pytest.param(1, 4.744e12, id="table 25, 1 error"),
        pytest.param(2, 6.296e12, id="table 25, 2 errors"),
        pytest.param(3, 7.754e12, id="table 25, 3 errors"),
        pytest.param(6, 11.84e12, id="table 25, 6 errors"),
    ],
)
def test_bits_pass_where_the_published_table_says(errors: int, bits: float) -> None:
    for share, outcome in ((0.999, Outcome.PENDING), (1.001, Outcome.PASSED)):
        counted = Counted(bits=round(bits * share), errors=errors, counted_ms=1)
        assert check(CheckKind.BITS, counted=counted).outcome is outcome


def test_the_first_stage_passes_to_the_bit() -> None:
    # -ln(0.05) = 2.995732273553991; / 1e-10 = 29957322735.53991 bits: one more is enough
    for bits, outcome in ((29_957_322_735, Outcome.PENDING), (29_957_322_736, Outcome.PASSED)):
        counted = Counted(bits=bits, counted_ms=24_000)
        assert check(CheckKind.BITS_STAGE, counted=counted).outcome is outcome
        assert check(CheckKind.BITS, counted=counted).outcome is Outcome.PENDING


def test_the_time_left_is_what_is_missing_at_the_traffic_there_is() -> None:
    # 1.25e9 bits in 1 s is the full line: 2396.6 s in all for 1e-12 (facts on optics, 5.3)
    found = check(CheckKind.BITS, counted=Counted(bits=1_250_000_000, counted_ms=1000))
    assert found.left_s == pytest.approx(2395.6, abs=0.05)
    assert check(CheckKind.BITS).left_s is None


def test_more_errors_than_the_ratio_explains_have_failed() -> None:
    # 3 errors in 1e10 bits: even the smallest ratio that agrees, 0.818/1e10, is far above 1e-12
    # (χ²(5 %, 6)/2 = 0.8177), but below 1e-10
    counted = Counted(bits=10_000_000_000, errors=3, counted_ms=8000)
    assert check(CheckKind.BITS, counted=counted).outcome is Outcome.FAILED
    assert check(CheckKind.BITS_STAGE, counted=counted).outcome is Outcome.PENDING
    flood = Counted(bits=10, errors=2_000_000, counted_ms=8000)
    assert check(CheckKind.BITS_STAGE, counted=flood).outcome is Outcome.FAILED


def test_a_class_that_promises_less_than_the_first_stage_has_one_stage() -> None:
    # 100BASE-FX: 2.5e-10 (FDDI)
    found = acceptance_checks(Demands(ber_objective=2.5e-10), AFTER, Counted(), flaps=0, up=True)
    assert [c.ratio for c in found if c.ratio is not None] == [2.5e-10]


# MIL-STD-2042-6B, 6E1: at or below the limit: accept
@pytest.mark.parametrize(
    ("limit", "outcome"), [(2.0, Outcome.PASSED), (1.99, Outcome.FAILED), (2.5, Outcome.PASSED)]
)
def test_loss_at_or_below_the_limit_is_in_budget(limit: float, outcome: Outcome) -> None:
    found = check(CheckKind.LOSS_IN_BUDGET, Demands(planned_limit=Db(limit)))
    assert found.outcome is outcome


def test_a_bench_reference_is_taken_off_the_loss() -> None:
    found = check(CheckKind.LOSS_IN_BUDGET, Demands(planned_limit=Db(1.5), bench=Db(0.7)))
    assert (found.outcome, found.got) == (Outcome.PASSED, pytest.approx(1.3))


@pytest.mark.parametrize(
    ("old", "matings", "outcome"),
    [
        # 2.0 now; both uncertain by 0.1; 0.3 dB a mating: 2.0 - old <= 0.2 + 0.3 · matings
        (1.5, 1, Outcome.PASSED),
        (1.49, 1, Outcome.FAILED),
        (1.2, 2, Outcome.PASSED),
        (1.19, 2, Outcome.FAILED),
        (3.0, 0, Outcome.PASSED),
    ],
)
def test_loss_may_rise_by_uncertainty_and_mating_scatter(
    old: float, matings: int, outcome: Outcome
) -> None:
    demands = Demands(old=Interval(value=old, low=old - 0.1, high=old + 0.1), matings=matings)
    assert check(CheckKind.LOSS_AS_BEFORE, demands).outcome is outcome


@pytest.mark.parametrize(("reserve", "outcome"), [(11.5, Outcome.PASSED), (11.6, Outcome.FAILED)])
def test_margin_must_hold_the_reserve(reserve: float, outcome: Outcome) -> None:
    demands = Demands(sensitivity=Dbm(-19.5), reserve=Db(reserve))
    assert check(CheckKind.MARGIN, demands).outcome is outcome


def test_a_flap_or_a_link_that_is_down_is_not_accepted() -> None:
    assert check(CheckKind.NO_FLAP, flaps=1).outcome is Outcome.FAILED
    assert check(CheckKind.NO_FLAP, up=False).outcome is Outcome.PENDING
    assert check(CheckKind.NO_FLAP, up=None).outcome is Outcome.UNKNOWN


def test_the_whole_is_as_good_as_its_worst_line() -> None:
    passed = Check(kind=CheckKind.MARGIN, outcome=Outcome.PASSED)
    lines = [passed, replace(passed, outcome=Outcome.UNKNOWN)]
    assert outcome_of(lines) is Outcome.PASSED
    lines.append(replace(passed, outcome=Outcome.PENDING))
    assert outcome_of(lines) is Outcome.PENDING
    assert outcome_of([*lines, replace(passed, outcome=Outcome.FAILED)]) is Outcome.FAILED


def row(time_ms: int, octets: int | None, errors: int | None = 0, **more: Any) -> EndRow:
    deltas = Deltas(in_octets=octets, fcs_errors=errors)
    return EndRow(time_ms=time_ms, end=more.pop("end", End.B), deltas=deltas, **more)


def counted(
    rows: list[EndRow], before: Counted | None = None, rate: float | None = GIGABIT
) -> Counted:
    begun = Counted() if before is None else before
    return count_bits(begun, rows, Direction.AB, from_ms=100, line_rate_bd=rate)


def test_only_what_came_after_the_work_is_counted_to_the_bit() -> None:
    rows = [
        row(50, 1000),
        row(150, 777),  # in part from before: marks where the counters stood
        row(200, 10, end=End.A),  # the other direction
        row(250, 1_234_567, 2),
        row(350, 3, 1),
    ]
    # 1234570 octets, ten line bits each
    assert counted(rows) == Counted(
        bits=12_345_700, errors=3, unknown=0, counted_ms=200, through_ms=350
    )


def test_counting_in_pieces_counts_the_same() -> None:
    rows = [row(100 + 50 * n, 1000 + n, n % 2) for n in range(20)]
    whole = counted(rows)
    for cut in range(len(rows)):
        first = counted(rows[:cut])
        assert counted(rows, first) == whole


def test_what_a_restart_made_unknown_is_not_counted_and_said() -> None:
    rows = [row(150, 1), row(250, 500), row(350, None, None), row(450, 500)]
    found = counted(rows)
    assert (found.bits, found.unknown, found.counted_ms) == (10_000, 1, 200)


def test_a_silent_row_counts_nothing_and_marks_nothing() -> None:
    rows = [row(150, 1), row(250, None, None, answered=False), row(350, 800)]
    found = counted(rows)
    assert (found.bits, found.unknown) == (8_000, 0)


@pytest.mark.parametrize(
    ("rate", "bits"),
    [(GIGABIT, 10_000), (125e6, 10_000), (10.3125e9, 8250), (None, 8000), (25.78125e9, 8000)],
)
def test_an_octet_is_as_many_line_bits_as_the_code_says(rate: float | None, bits: int) -> None:
    # 8B/10B and 4B/5B: ten; 64B/66B: 8.25; not known: the eight that are certain
    assert counted([row(150, 1), row(250, 1000)], rate=rate).bits == bits
