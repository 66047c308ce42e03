"""How damaged frames come: in bursts or by chance, with weaker light or with the usual."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from strandkeeper.analysis.errors import Z_CHANCE, dispersion, light_at_errors
from strandkeeper.analysis.slow import DirectionSlow, HourRow
from strandkeeper.model.finding import EvidenceKind, FindingKind
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import LinkName

WINDOW_MS = 300_000


def day_of(counts: list[int], rx: int = -9000) -> DirectionSlow:
    """A day of five-minute counts."""
    errors = [(n * WINDOW_MS, c, 1000, rx) for n, c in enumerate(counts) if c]
    return DirectionSlow(errors=errors, frames=[(hour, 12_000) for hour in range(24)])


@pytest.mark.parametrize("mean", [0.2, 1.0, 8.0])
def test_counts_by_chance_stay_under_the_limit_in_all_but_about_one_day_of_a_thousand(
    mean: float,
) -> None:
    dice = np.random.default_rng(5)
    over = 0
    for _ in range(1000):
        found = dispersion(day_of(dice.poisson(mean, 288).tolist()))
        assert found is not None
        over += found[0] > found[1]
    assert over <= stats.poisson.ppf(0.9999, 1000 * 2e-3)


def test_the_index_is_variance_by_mean_as_numpy_reckons_it() -> None:
    counts = np.random.default_rng(6).negative_binomial(0.3, 0.2, 288)
    found = dispersion(day_of(counts.tolist()))
    assert found is not None
    assert math.isclose(found[0], counts.var(ddof=1) / counts.mean(), rel_tol=1e-9)


@pytest.mark.parametrize("hours", [2, 6, 24])
def test_the_limit_of_chance_is_the_chi_squared_quantile(hours: int) -> None:
    slow = day_of([1] * 12)
    slow.frames = slow.frames[:hours]
    found = dispersion(slow)
    assert found is not None
    freedom = 12 * hours - 1
    exact = stats.chi2.ppf(stats.norm.cdf(Z_CHANCE), freedom) / freedom
    assert found[1] == pytest.approx(exact, rel=1e-2)


def test_few_damaged_frames_say_nothing_of_bursts() -> None:
    assert dispersion(day_of([9])) is None
    assert dispersion(DirectionSlow()) is None


def test_light_at_errors_is_told_against_the_days_usual() -> None:
    slow = day_of([0, 4, 12], rx=-10_500)
    cells = dict.fromkeys(("tx", "spread", "sender_temp", "receiver_temp"), 0)
    slow.hours = [HourRow(start_ms=h, n=1, level=0, rx=-9000, **cells) for h in range(24)]
    assert light_at_errors(slow) == -1500


def test_errors_that_come_in_bursts_with_weak_light_are_told_so(
    watch: Callable[..., object],
) -> None:
    link = watch()
    link.run(300)  # type: ignore[attr-defined]
    link.loss[0], link.errors[1] = 6.0, 9  # type: ignore[attr-defined]
    link.run(10)  # type: ignore[attr-defined]
    link.loss[0], link.errors[1] = 4.0, 0  # type: ignore[attr-defined]
    link.run(20)  # type: ignore[attr-defined]
    found = link.finding(FindingKind.ERRORS)  # type: ignore[attr-defined]
    told = {item.kind: item.value for item in found.evidence}
    assert told[EvidenceKind.ERRORS_IN_BURSTS] > 10
    assert told[EvidenceKind.LIGHT_AT_ERRORS] == pytest.approx(-2.0, abs=0.1)
    assert told[EvidenceKind.MARGIN_IN_HAND] == pytest.approx(10.0, abs=0.2)
    damaged = told[EvidenceKind.ERROR_FRAMES]
    seen = damaged / told[EvidenceKind.ERROR_RATIO]
    low, high = stats.chi2.ppf(0.025, 2 * damaged) / 2, stats.chi2.ppf(0.975, 2 * damaged + 2) / 2
    assert told[EvidenceKind.ERROR_RATIO_LEAST] == pytest.approx(low / seen, rel=1e-3)
    assert told[EvidenceKind.ERROR_RATIO_MOST] == pytest.approx(high / seen, rel=1e-3)


def test_large_pings_that_are_lost_are_told_beside_damaged_frames(
    watch: Callable[..., object],
) -> None:
    link = watch(LinkFacts(name=LinkName("jetty"), pings="20 of 20 small and 3 of 20 large"))
    link.run(300)  # type: ignore[attr-defined]
    link.errors[1] = 9  # type: ignore[attr-defined]
    link.run(10)  # type: ignore[attr-defined]
    found = link.finding(FindingKind.ERRORS)  # type: ignore[attr-defined]
    told = [item.text for item in found.evidence if item.kind is EvidenceKind.LARGE_PINGS_LOST]
    assert told == ["20 of 20 small and 3 of 20 large"]
