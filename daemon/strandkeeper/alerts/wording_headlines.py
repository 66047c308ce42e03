"""What is the case: one line for each kind of finding, with its main figure where there is one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from strandkeeper.alerts.wording_figures import counted, db, duration, number, per_year, spare
from strandkeeper.alerts.wording_places import Place, begin
from strandkeeper.model.finding import EvidenceKind, Finding, FindingKind
from strandkeeper.model.link import Link

__all__ = ["finding_headline", "kind_headline"]

Figure = Callable[[EvidenceKind], float | None]
Headline = Callable[[Place, Figure], str]


def finding_headline(link: Link, finding: Finding) -> str:
    """What is the case, in one line without a full stop; the link's own name is not in it."""
    values = {e.kind: e.value for e in finding.evidence if e.value is not None}
    place = Place(link, finding.direction, finding.end)
    return begin(HEADLINES[finding.kind](place, values.get))


def kind_headline(kind: FindingKind, place: Place) -> str:
    """The same where no figures are known, as for an event of the record."""
    return begin(HEADLINES[kind](place, lambda _: None))


def _added_loss(place: Place, figure: Figure) -> str:
    lost = figure(EvidenceKind.ADDED_LOSS)
    if lost is None:
        return f"{place.way}: light lost since it was good"
    return f"{place.way}: {db(lost)} lost since it was good"


def _margin_low(place: Place, figure: Figure) -> str:
    left = figure(EvidenceKind.MARGIN)
    if left is None:
        return f"{place.way}: little to spare before the light is too weak"
    if left < 0:
        return f"{place.way}: nothing to spare, the light is weaker than {place.receiver} can use"
    return f"{place.way}: {spare(left)} to spare before the light is too weak"


def _overload(place: Place, figure: Figure) -> str:
    return f"{place.way}: more light than {place.receiver} can use"


def _errors(place: Place, figure: Figure) -> str:
    count = figure(EvidenceKind.ERROR_FRAMES)
    what = "damaged frames" if count is None else counted(count, "damaged frame")
    return f"{place.way}: {what} at {place.receiver}"


def _flapping(place: Place, figure: Figure) -> str:
    count = figure(EvidenceKind.FLAPS)
    times = "" if count is None else f", {counted(count, 'time')}"
    return f"The link went down and up{times}"


def _restarts(place: Place, figure: Figure) -> str:
    count = figure(EvidenceKind.RESTARTS)
    times = "" if count is None else f", {counted(count, 'time')}"
    return f"The switch at {place.here} restarted unplanned{times}"


def _drift(place: Place, figure: Figure) -> str:
    slope = figure(EvidenceKind.SLOPE)
    speed = "" if slope is None else f", {per_year(slope)}"
    if slope is not None and slope < 0:
        return f"{place.way}: the loss is creeping down{speed}"
    return f"{place.way}: the loss is creeping up{speed}"


def _step(place: Place, figure: Figure) -> str:
    size = figure(EvidenceKind.CHANGE)
    if size is None:
        return f"{place.way}: the loss jumped"
    return f"{place.way}: the loss jumped {'up' if size > 0 else 'down'} by {db(abs(size))}"


def _repeated_steps(place: Place, figure: Figure) -> str:
    count = figure(EvidenceKind.STEPS)
    times = "several times" if count is None else counted(count, "time")
    return f"{place.way}: the loss jumped {times}"


def _swing(place: Place, figure: Figure) -> str:
    size = figure(EvidenceKind.SWING)
    by = "" if size is None else f" by {db(abs(size))}"
    return f"{place.way}: the loss swings with the day{by}"


def _transmit_low(place: Place, figure: Figure) -> str:
    who = place.here if place.end is not None else place.sender
    change = figure(EvidenceKind.TRANSMITTER_MOVED)
    by = "" if change is None else f", by {db(abs(change))}"
    return f"{who} sends less light than it did{by}"


def _ageing(place: Place, figure: Figure) -> str:
    who = place.here if place.end is not None else place.sender
    rise = figure(EvidenceKind.BIAS_CHANGE)
    by = "" if rise is None else f": it takes {number(rise, 0)} % more current"
    return f"The laser at {who} is ageing{by}"


def _temperature(place: Place, figure: Figure) -> str:
    degrees = figure(EvidenceKind.TEMPERATURE)
    if degrees is None:
        return f"The module at {place.here} is too hot or too cold"
    return f"The module at {place.here} is at {number(degrees, 0)} °C"


def _supply(place: Place, figure: Figure) -> str:
    volts = figure(EvidenceKind.SUPPLY)
    got = "" if volts is None else f": {number(volts, 2)} V"
    return f"The supply of the module at {place.here} is off{got}"


def _frozen(place: Place, figure: Figure) -> str:
    lasted = figure(EvidenceKind.DURATION)
    since = "" if lasted is None else f" for {duration(lasted)}"
    return f"A figure that {place.here} reports has stood still{since}"


HEADLINES: Final[dict[FindingKind, Headline]] = {
    FindingKind.LINK_DOWN: lambda place, _: "The link is down",
    FindingKind.NO_ANSWER: lambda place, _: f"The switch at {place.here} does not answer",
    FindingKind.LIGHT_LOST: lambda place, _: f"{place.way}: no light arrives at {place.receiver}",
    FindingKind.ADDED_LOSS: _added_loss,
    FindingKind.MARGIN_LOW: _margin_low,
    FindingKind.OVERLOAD: _overload,
    FindingKind.ERRORS: _errors,
    FindingKind.FLAPPING: _flapping,
    FindingKind.RESTARTS: _restarts,
    FindingKind.DRIFT: _drift,
    FindingKind.STEP: _step,
    FindingKind.REPEATED_STEPS: _repeated_steps,
    FindingKind.FLICKER: lambda place, _: f"{place.way}: the light is flickering",
    FindingKind.DAILY_SWING: _swing,
    FindingKind.FREEZING: lambda place, _: f"{place.way}: the loss rises when it freezes",
    FindingKind.TRANSMIT_LOW: _transmit_low,
    FindingKind.LASER_AGEING: _ageing,
    FindingKind.TEMPERATURE: _temperature,
    FindingKind.SUPPLY: _supply,
    FindingKind.FROZEN_FIGURE: _frozen,
    FindingKind.MODULE_CHANGED: lambda place, _: f"The module at {place.here} is another one",
    FindingKind.MODULE_MISSING: lambda place, _: f"There is no module in the port at {place.here}",
    FindingKind.WRONG_PART: lambda place, _: "Parts of this link do not fit together",
    FindingKind.PAIR_NOT_CROSSED: lambda place, _: "Transmit is plugged into transmit",
    FindingKind.DAMAGE_IN_PROGRESS: lambda place, _: "The cable seems to be under damage now",
    FindingKind.NO_READINGS: lambda place, _: f"No light readings come from {place.here}",
    FindingKind.WATCH_WAS_OFF: lambda place, _: "The watch itself was off",
    FindingKind.CLOCK_UNTRUSTED: lambda place, _: "This computer's clock cannot be trusted",
    FindingKind.RECORD_TROUBLE: lambda place, _: "The record cannot be written",
}
