"""Metric names, units and help, made afresh from the newest verdicts at every scrape.

Nothing is registered per link, so a link that leaves the configuration leaves no stale series. A
figure that is not known has no sample: neither 0 nor NaN stands for it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric

from strandkeeper.metrics.alert_families import AlertSnapshot, alert_families
from strandkeeper.model.names import Direction, End, SwitchName
from strandkeeper.model.poll import SwitchPoll
from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict

__all__ = ["DaemonCounts", "Families", "Snapshot"]


@dataclass(slots=True, kw_only=True)
class DaemonCounts:
    """What the daemon counts of its own work."""

    polls: dict[tuple[SwitchName, bool], int] = field(default_factory=dict)
    skipped_slots: int = 0
    rows_written: int = 0
    writes_failed: int = 0
    clock_steps: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """What one scrape reads."""

    version: str
    verdicts: tuple[LinkVerdict, ...]
    switches: Mapping[SwitchName, SwitchPoll]
    counts: DaemonCounts
    last_batch_s: float | None = None
    alerts: AlertSnapshot | None = None


_BREATH_S = 0.001
_Sample = tuple[Iterable[str], float]


def _gauge(name: str, text: str, labels: list[str], samples: Iterable[_Sample]) -> Metric:
    family = GaugeMetricFamily(f"strandkeeper_{name}", text, labels=labels)
    for values, figure in samples:
        family.add_metric(list(values), figure)
    return family


class Families:
    """A collector for one registry; `snapshot` is called once a scrape."""

    def __init__(self, snapshot: Callable[[], Snapshot]) -> None:
        self._snapshot = snapshot

    def describe(self) -> list[Metric]:
        """Nothing in advance: the series follow the configuration."""
        return []

    def collect(self) -> Iterator[Metric]:
        """All families, with a breath after each: the loop of the polls waits for no more of it."""
        for family in self._families():
            yield family
            time.sleep(_BREATH_S)

    def _families(self) -> Iterator[Metric]:
        shot = self._snapshot()
        yield _gauge("build_info", "Release of Strandkeeper.", ["version"], [([shot.version], 1)])
        yield from _direction_families(shot.verdicts)
        yield from _link_families(shot.verdicts)
        yield from _switch_families(shot)
        yield from _own_families(shot)
        if shot.alerts is not None:
            yield from alert_families(shot.alerts)


def _directions(verdicts: Iterable[LinkVerdict]) -> list[tuple[list[str], DirectionVerdict]]:
    return [
        ([v.link, d.value], v.direction(d)) for v in verdicts for d in (Direction.AB, Direction.BA)
    ]


def _dbm(power: Power) -> float | None:
    return power.power.value if isinstance(power, Measured) else None


_DIRECTION_FIGURES: tuple[tuple[str, str, Callable[[DirectionVerdict], float | None]], ...] = (
    (
        "receive_power_dbm",
        "Receive power of the direction's receiver, dBm; absent without light or report.",
        lambda d: _dbm(d.rx),
    ),
    (
        "transmit_power_dbm",
        "Transmit power of the direction's sender, dBm.",
        lambda d: _dbm(d.tx),
    ),
    (
        "margin_db",
        "Receive power above the receiver's sensitivity, dB.",
        lambda d: d.margin.value if d.margin else None,
    ),
    (
        "headroom_db",
        "Receiver's overload above the receive power, dB.",
        lambda d: d.headroom.value if d.headroom else None,
    ),
    (
        "accuracy_db",
        "How far the reading may be from truth either way, dB.",
        lambda d: d.accuracy.value,
    ),
    (
        "loss_db",
        "Transmit power at the sender less receive power at the receiver, dB.",
        lambda d: d.loss.value if d.loss else None,
    ),
    (
        "added_loss_db",
        "Loss less the baseline, dB.",
        lambda d: d.added_loss.value if d.added_loss else None,
    ),
    (
        "reading_timestamp_seconds",
        "Record time of the reading that the figures come from, Unix time.",
        lambda d: d.optics_ms / 1000 if d.optics_ms is not None else None,
    ),
)


def _direction_families(verdicts: tuple[LinkVerdict, ...]) -> Iterator[Metric]:
    directions = _directions(verdicts)
    for name, text, figure in _DIRECTION_FIGURES:
        samples = [(labels, value) for labels, d in directions if (value := figure(d)) is not None]
        yield _gauge(name, text, ["link", "direction"], samples)
    dark = [
        (labels, float(isinstance(d.rx, NoLight)))
        for labels, d in directions
        if isinstance(d.rx, Measured | NoLight)
    ]
    yield _gauge("no_light", "1 when the receiver sees no light.", ["link", "direction"], dark)


def _link_families(verdicts: tuple[LinkVerdict, ...]) -> Iterator[Metric]:
    up = [([v.link], float(v.up)) for v in verdicts if v.up is not None]
    yield _gauge("link_up", "1 when the link is up, 0 when it is down.", ["link"], up)
    ports = [
        ([v.link, end.name.lower()], float(state.oper is OperStatus.UP))
        for v in verdicts
        for end in (End.A, End.B)
        if (state := v.end(end)).oper is not None
    ]
    yield _gauge("port_up", "1 when the port says it is up.", ["link", "end"], ports)
    for name, text, attribute, unit in (
        ("module_temperature_celsius", "Temperature of the module.", "temp_c", 1.0),
        ("module_bias_amperes", "Laser bias current of the module.", "bias_ma", 1e-3),
        ("module_supply_volts", "Supply voltage of the module.", "vcc_v", 1.0),
    ):
        samples = [
            ([v.link, end.name.lower()], float(value) * unit)
            for v in verdicts
            for end in (End.A, End.B)
            if (value := getattr(v.end(end), attribute)) is not None
        ]
        yield _gauge(name, text, ["link", "end"], samples)
    findings = [
        (
            [v.link, f.direction or "", f.kind.value, f.severity.name.lower(), f.cause.value],
            1.0,
        )
        for v in verdicts
        for f in v.findings
    ]
    yield _gauge(
        "finding",
        "1 for each thing that is the case now.",
        ["link", "direction", "kind", "severity", "cause"],
        dict.fromkeys((tuple(labels), one) for labels, one in findings),
    )


def _switch_families(shot: Snapshot) -> Iterator[Metric]:
    answers = [([name], float(poll.answered)) for name, poll in shot.switches.items()]
    yield _gauge("switch_answers", "1 when the last poll was answered.", ["switch"], answers)
    trips = [
        ([name], poll.round_trip_ms / 1000)
        for name, poll in shot.switches.items()
        if poll.round_trip_ms is not None
    ]
    yield _gauge("poll_round_trip_seconds", "Duration of the last poll.", ["switch"], trips)
    polls = CounterMetricFamily(
        "strandkeeper_polls", "Polls made, by outcome.", labels=["switch", "outcome"]
    )
    for (switch, answered), count in sorted(shot.counts.polls.items()):
        polls.add_metric([switch, "answered" if answered else "silent"], count)
    yield polls


def _own_families(shot: Snapshot) -> Iterator[Metric]:
    counts = shot.counts
    for name, text, figure in (
        (
            "slots_skipped",
            "Polls skipped, the one before not being over.",
            counts.skipped_slots,
        ),
        ("rows_written", "Rows written to the record.", counts.rows_written),
        ("writes_failed", "Batches that could not be written at once.", counts.writes_failed),
        ("clock_steps", "Steps of the wall clock.", counts.clock_steps),
    ):
        family = CounterMetricFamily(f"strandkeeper_{name}", text)
        family.add_metric([], figure)
        yield family
    last = [] if shot.last_batch_s is None else [((), shot.last_batch_s)]
    yield _gauge(
        "last_batch_timestamp_seconds", "When the record was last written, Unix time.", [], last
    )
