"""The trade's level diagram of one direction as geometry: what is sent, lost, received, allowed.

Heights are px (dBm downward), positions along the link are per cent of the width, so that the
drawing fits any width while its text keeps its size. Templates draw it; nothing here is markup.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper_dashboard import figures

__all__ = [
    "HEIGHT",
    "Label",
    "LevelDiagram",
    "PlannedParts",
    "Point",
    "Segment",
    "level_diagram",
]

HEIGHT: Final = 236
_TOP, _BOTTOM, _FLOOR = 12, 206, 216
LEFT, LAUNCH, ENTERS, LEAVES, RECEIVER, RIGHT = 11.0, 17.0, 25.0, 76.0, 84.0, 97.0
_LEAST_SPAN_DB: Final = 12.0
_NARROWEST_PX, _LETTER_PX, _LINE_PX = 300, 6.6, 14


@dataclass(frozen=True, slots=True)
class Point:
    """Where: `x` in per cent of the width, `y` in px from the top."""

    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words in the drawing; `anchor` is the side of the text that `x` speaks of."""

    kind: Literal["axis", "limit", "reserve", "power", "loss", "dark", "end"]
    x: float
    y: float
    text: str
    anchor: Literal["start", "middle", "end"] = "start"


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight piece of a line."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedParts:
    """The planned loss in the order that the light meets it."""

    sender_connectors: Db
    fibre: Db
    receiver_connectors: Db


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelDiagram:
    """One direction drawn. None: not known, so not drawn."""

    ticks: tuple[float, ...]
    floor_y: float = _FLOOR
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


@dataclass(frozen=True, slots=True)
class _Scale:
    """dBm to px."""

    high: float
    low: float

    def y(self, dbm: float) -> float:
        inside = min(self.high, max(self.low, dbm))
        return round(_TOP + (self.high - inside) / (self.high - self.low) * (_BOTTOM - _TOP), 1)

    @property
    def ticks(self) -> range:
        """The round levels in view, dBm."""
        step = 5 if self.high - self.low <= 32 else 10
        return range(math.ceil(self.low / step) * step, math.floor(self.high) + 1, step)


def level_diagram(
    verdict: DirectionVerdict,
    reserve: Db,
    *,
    ends: tuple[str, str],
    planned: PlannedParts | None = None,
) -> LevelDiagram:
    """The drawing of one direction; `reserve` is what the owner keeps, `ends` sender, receiver."""
    sent, received = _measured_power(verdict.tx), _measured_power(verdict.rx)
    scale = _scale(verdict, sent, received)
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
        labels=(
            *_axis_labels(scale, ends),
            *_words(scale, verdict, reserve),
        ),
    )


def _measured_power(power: Power) -> Dbm | None:
    return power.power if isinstance(power, Measured) else None


def _scale(verdict: DirectionVerdict, sent: Dbm | None, received: Dbm | None) -> _Scale:
    marks = (sent, received, verdict.sensitivity, verdict.overload)
    levels = [mark.value for mark in marks if mark is not None] or [-10.0]
    if received is not None:
        levels.append(received.value - verdict.accuracy.value)
    high, low = max(levels) + 2.5, min(levels) - 2.5
    if high - low < _LEAST_SPAN_DB:
        low = high - _LEAST_SPAN_DB
    return _Scale(high, low)


def _planned(scale: _Scale, sent: Dbm | None, parts: PlannedParts | None) -> tuple[Segment, ...]:
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


def _measured(scale: _Scale, sent: Dbm | None, received: Dbm | None) -> Segment | None:
    if sent is None or received is None:
        return None
    return Segment(LAUNCH, scale.y(sent.value), RECEIVER, scale.y(received.value))


def _around(scale: _Scale, level: Dbm, accuracy: Db) -> tuple[float, float]:
    return scale.y((level + accuracy).value), scale.y((level - accuracy).value)


def _band(scale: _Scale, sent: Dbm | None, received: Dbm | None, accuracy: Db) -> tuple[Point, ...]:
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


def _axis_labels(scale: _Scale, ends: tuple[str, str]) -> list[Label]:
    numbers = [
        Label(kind="axis", x=LEFT - 1, y=scale.y(level) + 4, text=f"{level}", anchor="end")
        for level in scale.ticks
    ]
    sender, receiver = ends
    return [
        *(replace(label, text=label.text.replace("-", figures.MINUS)) for label in numbers),
        Label(kind="axis", x=LEFT - 1, y=HEIGHT - 5, text="dBm", anchor="end"),
        Label(kind="end", x=LEFT + 1, y=HEIGHT - 5, text=f"{sender} sends"),
        Label(kind="end", x=RIGHT, y=HEIGHT - 5, text=f"{receiver} receives", anchor="end"),
    ]


def _words(scale: _Scale, verdict: DirectionVerdict, reserve: Db) -> list[Label]:
    """Every label at the first of its places where no earlier one stands."""
    placed: list[Label] = []
    for places in (
        *_power_places(scale, verdict),
        *_limit_places(scale, verdict),
        *_loss_places(scale, verdict),
        *_reserve_places(scale, verdict, reserve),
    ):
        free = (place for place in places if not any(_touch(place, other) for other in placed))
        label = next(free, None)
        if label is not None:
            placed.append(label)
    return placed


def _touch(one: Label, other: Label) -> bool:
    """Whether two labels would overlap on the narrowest screen."""
    left, right = _extent(one)
    other_left, other_right = _extent(other)
    return abs(one.y - other.y) < _LINE_PX and left < other_right and other_left < right


def _extent(label: Label) -> tuple[float, float]:
    """From where to where the text reaches on the narrowest screen, px."""
    at, long = label.x / 100 * _NARROWEST_PX, len(label.text) * _LETTER_PX
    return (at - long, at) if label.anchor == "end" else (at, at + long)


def _power_places(scale: _Scale, verdict: DirectionVerdict) -> list[list[Label]]:
    """Beside the known points, clear of the line, which falls from upper left to lower right."""
    sent, received = _measured_power(verdict.tx), _measured_power(verdict.rx)
    places = []
    if sent is not None:
        at = scale.y(sent.value) - 8
        places.append([Label(kind="power", x=LAUNCH + 1, y=at, text=figures.dbm(sent))])
    if received is None:
        text = figures.power(verdict.rx)
        kind: Literal["dark", "loss"] = "dark" if isinstance(verdict.rx, NoLight) else "loss"
        places.append([Label(kind=kind, x=RIGHT - 1, y=_FLOOR - 34, text=text, anchor="end")])
    else:
        at, text = scale.y(received.value), figures.dbm(received)
        label = Label(kind="power", x=RIGHT - 0.5, y=at + 21, text=text, anchor="end")
        places.append([label])
    return places


def _loss_places(scale: _Scale, verdict: DirectionVerdict) -> list[list[Label]]:
    """Below the measured line, as near to it as there is room."""
    sent, received = _measured_power(verdict.tx), _measured_power(verdict.rx)
    if sent is None or received is None:
        return []
    text = f"{figures.db(sent - received)} lost somewhere along here"
    at = scale.y(received.value)
    label = Label(kind="loss", x=LEFT + 1, y=at + 21, text=text)
    return [[replace(label, y=at + down) for down in (21, 36, -30, -45, -60)]]


def _limit_places(scale: _Scale, verdict: DirectionVerdict) -> list[list[Label]]:
    """The strongest above its line at the receiver's side, the weakest below its own."""
    places = []
    if verdict.overload is not None:
        text = f"strongest it can use {figures.dbm(verdict.overload)}"
        at = scale.y(verdict.overload.value)
        label = Label(kind="limit", x=RIGHT - 0.5, y=at - 6, text=text, anchor="end")
        short = replace(label, text=f"strongest {figures.dbm(verdict.overload)}")
        places.append([label, replace(label, y=at + 15), short, replace(short, y=at + 15)])
    if verdict.sensitivity is not None:
        text = f"weakest it can use {figures.dbm(verdict.sensitivity)}"
        at = scale.y(verdict.sensitivity.value)
        label = Label(kind="limit", x=LEFT + 1, y=at + 15, text=text)
        short = replace(label, text=f"weakest {figures.dbm(verdict.sensitivity)}")
        places.append([label, replace(label, x=RIGHT - 0.5, anchor="end"), short])
    return places


def _reserve_places(scale: _Scale, verdict: DirectionVerdict, reserve: Db) -> list[list[Label]]:
    """Inside the reserve, at its bottom or its top."""
    if verdict.sensitivity is None:
        return []
    top = scale.y((verdict.sensitivity + reserve).value)
    bottom = scale.y(verdict.sensitivity.value)
    text = f"keep at least {figures.reserve(reserve)}"
    label = Label(kind="reserve", x=LEFT + 1, y=bottom - 5, text=text)
    return [[label, replace(label, y=top + 14)]]
