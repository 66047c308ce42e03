"""The trade's level diagram of one direction as geometry: what is sent, lost, received, allowed.

Heights are px (dBm downward), positions along the link are per cent of the width, so that the
drawing fits any width while its text keeps its size. Templates draw it; nothing here is markup.
"""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.planned_parts import PlannedParts
from strandkeeper.model.power import NoLight
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper_dashboard.level_labels import Label, level_labels
from strandkeeper_dashboard.level_scale import (
    ENTERS,
    FLOOR,
    HEIGHT,
    LAUNCH,
    LEAVES,
    RECEIVER,
    LevelScale,
    level_scale,
    measured_power,
)

__all__ = [
    "HEIGHT",
    "Label",
    "LevelDiagram",
    "Point",
    "Segment",
    "level_diagram",
]


@dataclass(frozen=True, slots=True)
class Point:
    """Where: `x` in per cent of the width, `y` in px from the top."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight piece of a line."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelDiagram:
    """One direction drawn. None: not known, so not drawn."""

    ticks: tuple[float, ...]
    floor_y: float = FLOOR
    planned: tuple[Segment, ...] = ()
    measured: Segment | None = None
    sent: Point | None = None
    received: Point | None = None
    dark: bool = False
    band: tuple[Point, ...] = ()
    accuracy_y: tuple[float, float] | None = None
    overload_y: float | None = None
    sensitivity_y: float | None = None
    reserve_y: tuple[float, float] | None = None
    labels: tuple[Label, ...] = ()

    @property
    def drawable(self) -> bool:
        """Whether there is anything to compare: a level at the receiver, or what it can use."""
        return self.received is not None or self.dark or self.sensitivity_y is not None


def level_diagram(
    verdict: DirectionVerdict,
    reserve: Db,
    *,
    ends: tuple[str, str],
    planned: PlannedParts | None = None,
) -> LevelDiagram:
    """The drawing of one direction; `reserve` is what the owner keeps, `ends` sender, receiver."""
    sent, received = measured_power(verdict.tx), measured_power(verdict.rx)
    scale = level_scale(verdict)
    y = scale.y
    least = verdict.sensitivity
    return LevelDiagram(
        ticks=tuple(y(level) for level in scale.ticks),
        planned=_planned(scale, sent, planned),
        measured=_measured(scale, sent, received),
        sent=None if sent is None else Point(LAUNCH, y(sent.value)),
        received=None if received is None else Point(RECEIVER, y(received.value)),
        dark=isinstance(verdict.rx, NoLight),
        band=_band(scale, sent, received, verdict.accuracy),
        accuracy_y=None if received is None else _around(scale, received, verdict.accuracy),
        overload_y=None if verdict.overload is None else y(verdict.overload.value),
        sensitivity_y=None if least is None else y(least.value),
        reserve_y=None if least is None else (y((least + reserve).value), y(least.value)),
        labels=level_labels(scale, verdict, reserve, ends),
    )


def _planned(
    scale: LevelScale, sent: Dbm | None, parts: PlannedParts | None
) -> tuple[Segment, ...]:
    """Level out of the laser, a step at the plugs, the slope of the fibre, a step, level in."""
    if sent is None or parts is None:
        return ()
    at_fibre = sent - parts.sender_connectors
    at_end = at_fibre - parts.fibre
    at_receiver = at_end - parts.receiver_connectors
    y0, y1, y2, y3 = (scale.y(p.value) for p in (sent, at_fibre, at_end, at_receiver))
    return (
        Segment(LAUNCH, y0, ENTERS, y0),
        Segment(ENTERS, y0, ENTERS, y1),
        Segment(ENTERS, y1, LEAVES, y2),
        Segment(LEAVES, y2, LEAVES, y3),
        Segment(LEAVES, y3, RECEIVER, y3),
    )


def _measured(scale: LevelScale, sent: Dbm | None, received: Dbm | None) -> Segment | None:
    if sent is None or received is None:
        return None
    return Segment(LAUNCH, scale.y(sent.value), RECEIVER, scale.y(received.value))


def _around(scale: LevelScale, level: Dbm, accuracy: Db) -> tuple[float, float]:
    return scale.y((level + accuracy).value), scale.y((level - accuracy).value)


def _band(
    scale: LevelScale, sent: Dbm | None, received: Dbm | None, accuracy: Db
) -> tuple[Point, ...]:
    """The four corners between which the truth may lie."""
    if sent is None or received is None:
        return ()
    high_sent, low_sent = _around(scale, sent, accuracy)
    high_received, low_received = _around(scale, received, accuracy)
    return (
        Point(LAUNCH, high_sent),
        Point(RECEIVER, high_received),
        Point(RECEIVER, low_received),
        Point(LAUNCH, low_sent),
    )
