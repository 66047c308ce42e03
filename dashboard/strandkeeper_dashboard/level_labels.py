"""The words in a level diagram, each at the first of its places where it covers no other. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from strandkeeper.model.power import NoLight
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.optics.units import Db
from strandkeeper_dashboard import figures
from strandkeeper_dashboard.level_scale import (
    FLOOR,
    HEIGHT,
    LAUNCH,
    LEFT,
    RIGHT,
    LevelScale,
    measured_power,
)

__all__ = ["Label", "level_labels"]

_NARROWEST_PX, _LETTER_PX, _LINE_PX = 300, 6.6, 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words in the drawing; `anchor` is the side of the text that `x` speaks of."""

    kind: Literal["axis", "limit", "reserve", "power", "loss", "dark", "end"]
    x: float
    y: float
    text: str
    anchor: Literal["start", "middle", "end"] = "start"


def level_labels(
    scale: LevelScale, verdict: DirectionVerdict, reserve: Db, ends: tuple[str, str]
) -> tuple[Label, ...]:
    """Every label; on the narrowest screen one without a free place is left out."""
    return (*_axis_labels(scale, ends), *_words(scale, verdict, reserve))


def _axis_labels(scale: LevelScale, ends: tuple[str, str]) -> list[Label]:
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


def _words(scale: LevelScale, verdict: DirectionVerdict, reserve: Db) -> list[Label]:
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


def _power_places(scale: LevelScale, verdict: DirectionVerdict) -> list[list[Label]]:
    """Beside the known points, clear of the line, which falls from upper left to lower right."""
    sent, received = measured_power(verdict.tx), measured_power(verdict.rx)
    places = []
    if sent is not None:
        at = scale.y(sent.value) - 8
        places.append([Label(kind="power", x=LAUNCH + 1, y=at, text=figures.dbm(sent))])
    if received is None:
        text = figures.power(verdict.rx)
        kind: Literal["dark", "loss"] = "dark" if isinstance(verdict.rx, NoLight) else "loss"
        places.append([Label(kind=kind, x=RIGHT - 1, y=FLOOR - 34, text=text, anchor="end")])
    else:
        at, text = scale.y(received.value), figures.dbm(received)
        label = Label(kind="power", x=RIGHT - 0.5, y=at + 21, text=text, anchor="end")
        places.append([label])
    return places


def _loss_places(scale: LevelScale, verdict: DirectionVerdict) -> list[list[Label]]:
    """Below the measured line, as near to it as there is room."""
    sent, received = measured_power(verdict.tx), measured_power(verdict.rx)
    if sent is None or received is None:
        return []
    text = f"{figures.db(sent - received)} lost somewhere along here"
    at = scale.y(received.value)
    label = Label(kind="loss", x=LEFT + 1, y=at + 21, text=text)
    return [[replace(label, y=at + down) for down in (21, 36, -30, -45, -60)]]


def _limit_places(scale: LevelScale, verdict: DirectionVerdict) -> list[list[Label]]:
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


def _reserve_places(scale: LevelScale, verdict: DirectionVerdict, reserve: Db) -> list[list[Label]]:
    """Inside the reserve, at its bottom or its top."""
    if verdict.sensitivity is None:
        return []
    top = scale.y((verdict.sensitivity + reserve).value)
    bottom = scale.y(verdict.sensitivity.value)
    text = f"keep at least {figures.reserve(reserve)}"
    label = Label(kind="reserve", x=LEFT + 1, y=bottom - 5, text=text)
    return [[label, replace(label, y=top + 14)]]
