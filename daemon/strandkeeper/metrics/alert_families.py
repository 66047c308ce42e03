"""Metrics of what is told: open alerts, penalties, and how the ways out do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric

from strandkeeper.model.alert import Alert
from strandkeeper.model.names import LinkName

__all__ = ["AlertSnapshot", "alert_families"]


class _Penalty(Protocol):
    @property
    def merit(self) -> float: ...

    @property
    def held_back(self) -> bool: ...


class LinkCalm(Protocol):
    """How far a link is from being calm."""

    @property
    def penalty(self) -> _Penalty:
        """Figure of merit, and whether notifications are held back."""

    @property
    def released_in_s(self) -> float | None:
        """Until they go again."""

    @property
    def downs_24h(self) -> int:
        """Times down in a day."""

    @property
    def downs_14d(self) -> int:
        """Times down in two weeks."""


class WayCounts(Protocol):
    """What became of the tries to one target."""

    @property
    def delivered(self) -> int:
        """Messages."""

    @property
    def failed(self) -> int:
        """Tries."""

    @property
    def given_up(self) -> int:
        """Messages."""

    @property
    def trouble(self) -> str:
        """Why it is not reached now; empty if it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlertSnapshot:
    """What one scrape reads of the alerts; `waiting` and `targets` by the target's name."""

    alerts: tuple[Alert, ...]
    calm: Mapping[LinkName, LinkCalm]
    waiting: Mapping[str, int]
    targets: Mapping[str, WayCounts]
    heartbeats_failed: int
    traps: Mapping[str, int] | None = None


def _gauge(
    name: str, text: str, labels: list[str], samples: Iterable[tuple[list[str], float]]
) -> Metric:
    family = GaugeMetricFamily(f"strandkeeper_{name}", text, labels=labels)
    for values, figure in samples:
        family.add_metric(values, figure)
    return family


def _counter(
    name: str, text: str, labels: list[str], samples: Iterable[tuple[list[str], float]]
) -> Metric:
    family = CounterMetricFamily(f"strandkeeper_{name}", text, labels=labels)
    for values, figure in samples:
        family.add_metric(values, figure)
    return family


def alert_families(shot: AlertSnapshot) -> Iterator[Metric]:
    """All families."""
    alerts = [
        (
            [
                a.finding.link,
                a.key[1],
                a.key[2],
                a.key[3],
                a.state.value,
                a.finding.severity.name.lower(),
            ],
            1.0,
        )
        for a in shot.alerts
    ]
    labels = ["link", "direction", "end", "kind", "state", "severity"]
    yield _gauge("alert", "1 for each open alert.", labels, alerts)
    yield from _calm_families(shot)
    yield from _way_families(shot)
    if shot.traps is not None:
        traps = [([outcome], float(n)) for outcome, n in sorted(shot.traps.items())]
        yield _counter(
            "traps", "Traps and informs received, by what became of them.", ["outcome"], traps
        )


def _calm_families(shot: AlertSnapshot) -> Iterator[Metric]:
    calm = sorted(shot.calm.items())
    yield _gauge(
        "flap_penalty",
        "Figure of merit after RFC 2439; 1 for each time down, halved over time.",
        ["link"],
        [([name], c.penalty.merit) for name, c in calm],
    )
    yield _gauge(
        "flap_held_back",
        "1 while notifications of a flapping link are held back.",
        ["link"],
        [([name], float(c.penalty.held_back)) for name, c in calm],
    )
    yield _gauge(
        "flap_released_in_seconds",
        "Calm needed until notifications go again.",
        ["link"],
        [([name], c.released_in_s) for name, c in calm if c.released_in_s is not None],
    )
    yield _gauge(
        "flaps_24h",
        "Times the link went down in 24 hours.",
        ["link"],
        [([name], float(c.downs_24h)) for name, c in calm],
    )
    yield _gauge(
        "flaps_14d",
        "Times the link went down in 14 days.",
        ["link"],
        [([name], float(c.downs_14d)) for name, c in calm],
    )


def _way_families(shot: AlertSnapshot) -> Iterator[Metric]:
    yield _gauge(
        "messages_waiting",
        "Messages that still have to go out.",
        ["target"],
        [([name], float(n)) for name, n in sorted(shot.waiting.items())],
    )
    ways = sorted(shot.targets.items())
    yield _gauge(
        "target_reached",
        "0 while the last try to reach the target failed.",
        ["target"],
        [([name], float(not way.trouble)) for name, way in ways],
    )
    for which, text in (
        ("delivered", "Messages delivered."),
        ("given_up", "Messages given up."),
    ):
        yield _counter(
            f"messages_{which}",
            text,
            ["target"],
            [([name], float(getattr(way, which))) for name, way in ways],
        )
    yield _counter(
        "deliveries_failed",
        "Tries that failed.",
        ["target"],
        [([name], float(way.failed)) for name, way in ways],
    )
    yield _counter(
        "heartbeats_failed",
        "Signs of life that could not be sent.",
        [],
        [([], float(shot.heartbeats_failed))],
    )
