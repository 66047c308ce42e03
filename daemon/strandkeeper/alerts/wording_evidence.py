"""What speaks for a finding: one sentence for each kind of evidence, unit included."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from strandkeeper.alerts.wording_figures import (
    counted,
    db,
    dbm,
    duration,
    number,
    per_year,
    spare,
)
from strandkeeper.alerts.wording_places import Place, begin
from strandkeeper.model.finding import Evidence, EvidenceKind
from strandkeeper.model.link import Link

__all__ = ["evidence_sentence"]


def evidence_sentence(link: Link, evidence: Evidence) -> str:
    """One fact as a sentence. A figure that is missing where one belongs is said to be unknown."""
    place = Place(link, evidence.direction, evidence.end)
    if evidence.kind in FACTS:
        return begin(FACTS[evidence.kind](place, evidence.text))
    if evidence.value is None:
        return f"{NAMES[evidence.kind]} of {_what(place)} is not known."
    return begin(FIGURES[evidence.kind](place, evidence.value))


def _what(place: Place) -> str:
    return place.way if place.end is None else place.here


def _sending(place: Place) -> str:
    return place.here if place.end is not None else place.sender


def _receiving(place: Place) -> str:
    return place.here if place.end is not None else place.receiver


def _ratio(value: float) -> str:
    if value <= 0:
        return "No frame arrives damaged."
    return f"About 1 frame in {1 / value:,.0f} arrives damaged.".replace(",", " ")


def _one_in(value: float) -> str:
    return f"1 in {1 / value:,.0f}".replace(",", " ") if value > 0 else "none"


def _light_at_errors(place: Place, value: float) -> str:
    if abs(value) < AS_USUAL_DB:
        return f"{_receiving(place)} received as much light as usual while they came."
    how = "less" if value < 0 else "more"
    return f"{_receiving(place)} received {db(abs(value))} {how} light than usual while they came."


def _change(value: float) -> str:
    return f"{'up' if value >= 0 else 'down'} by {db(abs(value))}"


AS_USUAL_DB: Final = 0.3
# kinds that carry a figure, and how the sentence runs with it
FIGURES: Final[dict[EvidenceKind, Callable[[Place, float], str]]] = {
    EvidenceKind.RECEIVE_POWER: lambda p, v: f"{_receiving(p)} receives {dbm(v)}.",
    EvidenceKind.TRANSMIT_POWER: lambda p, v: f"{_sending(p)} sends {dbm(v)}.",
    EvidenceKind.MARGIN: lambda p, v: f"{p.way} has {spare(v)} to spare before too weak.",
    EvidenceKind.HEADROOM: lambda p, v: f"{p.way} has {spare(v)} to spare before too strong.",
    EvidenceKind.LOSS: lambda p, v: f"{p.way} loses {db(v)} on the way.",
    EvidenceKind.ADDED_LOSS: lambda p, v: f"{p.way} has lost {db(v)} since it was good.",
    EvidenceKind.CHANGE: lambda p, v: f"{p.way}: the loss went {_change(v)}.",
    EvidenceKind.SLOPE: lambda p, v: (
        f"{p.way}: the loss goes {'up' if v >= 0 else 'down'} by {per_year(v)}."
    ),
    EvidenceKind.SPREAD: lambda p, v: f"{p.way}: readings scatter by {number(v, 2)} dB.",
    EvidenceKind.SENSITIVITY: lambda p, v: (
        f"The weakest light {_receiving(p)} can use is {dbm(v)}."
    ),
    EvidenceKind.OVERLOAD_LIMIT: lambda p, v: (
        f"The strongest light {_receiving(p)} can use is {dbm(v)}."
    ),
    EvidenceKind.RESERVE: lambda p, v: f"At least {v:g} dB should be to spare.",
    EvidenceKind.TEMPERATURE: lambda p, v: f"The module at {p.here} is at {number(v, 0)} °C.",
    EvidenceKind.BIAS: lambda p, v: f"The laser at {_sending(p)} takes {number(v)} mA.",
    EvidenceKind.BIAS_CHANGE: lambda p, v: (
        f"The laser at {_sending(p)} takes {number(abs(v), 0)} % "
        f"{'more' if v >= 0 else 'less'} current than it did at this temperature."
    ),
    EvidenceKind.SUPPLY: lambda p, v: f"The module at {p.here} is fed {number(v, 2)} V.",
    EvidenceKind.TRANSMITTER_MOVED: lambda p, v: (
        f"The light that {_sending(p)} sends went {_change(v)}."
    ),
    EvidenceKind.MISSES: lambda p, v: f"{p.here} left {counted(v, 'question')} unanswered.",
    EvidenceKind.UPTIME: lambda p, v: f"The switch at {p.here} has been up for {duration(v)}.",
    EvidenceKind.RESTARTS: lambda p, v: f"The switch at {p.here} restarted {counted(v, 'time')}.",
    EvidenceKind.ERROR_FRAMES: lambda p, v: (
        f"{_receiving(p)} received {counted(v, 'damaged frame')}."
    ),
    EvidenceKind.FRAMES: lambda p, v: f"{_receiving(p)} received {counted(v, 'frame')} in all.",
    EvidenceKind.ERROR_RATIO: lambda p, v: _ratio(v),
    EvidenceKind.ERROR_RATIO_LEAST: lambda p, v: (
        f"So few were counted that it may in truth be as little as {_one_in(v)}."
    ),
    EvidenceKind.ERROR_RATIO_MOST: lambda p, v: (
        f"So few were counted that it may in truth be as much as {_one_in(v)}."
    ),
    EvidenceKind.MARGIN_IN_HAND: lambda p, v: (
        f"{p.way} has {spare(v)} to spare all the same, so weak light is not the reason."
    ),
    EvidenceKind.FLAPS: lambda p, v: f"The link went down and up {counted(v, 'time')}.",
    EvidenceKind.DURATION: lambda p, v: f"It has lasted {duration(v)}.",
    EvidenceKind.WORSE_AT_LONGER_WAVELENGTH: lambda p, v: (
        f"The longer wavelength loses {db(v)} more, as in a bend or a crushed spot."
    ),
    EvidenceKind.FOLLOWS_TEMPERATURE: lambda p, v: (
        f"{p.way}: the loss follows the temperature, {number(v, 2)} dB a degree."
    ),
    EvidenceKind.ERRORS_IN_BURSTS: lambda p, v: (
        f"They come in bursts: counts of five minutes vary {number(v, 0)} times as much as chance "
        "would make them."
    ),
    EvidenceKind.ERRORS_BY_CHANCE: lambda p, v: "They come evenly, each by chance, not in bursts.",
    EvidenceKind.LIGHT_AT_ERRORS: lambda p, v: _light_at_errors(p, v),
    EvidenceKind.STEPS: lambda p, v: f"{p.way}: the loss jumped {counted(v, 'time')}.",
    EvidenceKind.SWING: lambda p, v: f"{p.way}: the loss swings by {db(v)} between night and day.",
}

# what such a figure is called when it is missing
NAMES: Final[dict[EvidenceKind, str]] = {
    EvidenceKind.RECEIVE_POWER: "The received light",
    EvidenceKind.TRANSMIT_POWER: "The sent light",
    EvidenceKind.MARGIN: "What is to spare before too weak",
    EvidenceKind.HEADROOM: "What is to spare before too strong",
    EvidenceKind.LOSS: "The loss",
    EvidenceKind.ADDED_LOSS: "The loss since it was good",
    EvidenceKind.CHANGE: "The size of the change",
    EvidenceKind.SLOPE: "The speed of the change",
    EvidenceKind.SPREAD: "The scatter",
    EvidenceKind.SENSITIVITY: "The weakest usable light",
    EvidenceKind.OVERLOAD_LIMIT: "The strongest usable light",
    EvidenceKind.RESERVE: "The reserve",
    EvidenceKind.TEMPERATURE: "The module temperature",
    EvidenceKind.BIAS: "The laser current",
    EvidenceKind.BIAS_CHANGE: "The change of the laser current",
    EvidenceKind.SUPPLY: "The module's supply",
    EvidenceKind.TRANSMITTER_MOVED: "The change of the sent light",
    EvidenceKind.MISSES: "The number of unanswered questions",
    EvidenceKind.UPTIME: "The time since the last start",
    EvidenceKind.RESTARTS: "The number of restarts",
    EvidenceKind.ERROR_FRAMES: "The number of damaged frames",
    EvidenceKind.FRAMES: "The number of frames",
    EvidenceKind.ERROR_RATIO: "The share of damaged frames",
    EvidenceKind.ERROR_RATIO_LEAST: "The least share of damaged frames",
    EvidenceKind.ERROR_RATIO_MOST: "The largest share of damaged frames",
    EvidenceKind.MARGIN_IN_HAND: "What is to spare",
    EvidenceKind.FLAPS: "The number of times down and up",
    EvidenceKind.DURATION: "The duration",
    EvidenceKind.WORSE_AT_LONGER_WAVELENGTH: "The difference between the wavelengths",
    EvidenceKind.FOLLOWS_TEMPERATURE: "The change with temperature",
    EvidenceKind.STEPS: "The number of jumps",
    EvidenceKind.ERRORS_IN_BURSTS: "How the damaged frames come",
    EvidenceKind.ERRORS_BY_CHANCE: "How the damaged frames come",
    EvidenceKind.LIGHT_AT_ERRORS: "The light while frames were damaged",
    EvidenceKind.SWING: "The size of the daily swing",
}

# kinds that are a fact without a figure
FACTS: Final[dict[EvidenceKind, Callable[[Place, str], str]]] = {
    EvidenceKind.NO_LIGHT_HERE: lambda p, _: f"No light arrives at {_receiving(p)}.",
    EvidenceKind.LIGHT_HERE: lambda p, _: f"Light arrives at {_receiving(p)}.",
    EvidenceKind.BOTH_DARK: lambda p, _: "No light arrives at either end.",
    EvidenceKind.ONE_DIRECTION: lambda p, _: f"Only {p.way} is affected.",
    EvidenceKind.BOTH_DIRECTIONS: lambda p, _: "Both directions are affected alike.",
    EvidenceKind.TRANSMITTER_STEADY: lambda p, _: f"{_sending(p)} sends as much light as before.",
    EvidenceKind.PORT_DOWN: lambda p, _: f"The port at {p.here} is down.",
    EvidenceKind.PORT_OFF_BY_A_PERSON: lambda p, _: f"The port at {p.here} was shut by somebody.",
    EvidenceKind.MODULE_NOT_PRESENT: lambda p, _: f"The port at {p.here} has no module in it.",
    EvidenceKind.FAR_END_SILENT: lambda p, _: f"{p.far} does not answer.",
    EvidenceKind.FAR_END_ANSWERS: lambda p, _: f"{p.far} answers.",
    EvidenceKind.REACHED_THROUGH: lambda p, text: (
        f"{p.here} is reached through {text or 'another link'}."
    ),
    EvidenceKind.RESTART_MATCHES_LIGHT: lambda p, _: (
        f"The restart of {p.far} fits the time when the light came back."
    ),
    EvidenceKind.BOTH_RESTARTED: lambda p, _: "Both ends restarted within a minute.",
    EvidenceKind.ALIKE_AT_BOTH_WAVELENGTHS: lambda p, _: (
        "Both wavelengths lose alike, as at a plug or a gap."
    ),
    EvidenceKind.NEAR_FREEZING: lambda p, _: "It happens near freezing.",
    EvidenceKind.SEASON_NOT_EXCLUDED: lambda p, _: (
        "Less than a year is on record: it may be the season."
    ),
    EvidenceKind.MEDIA_NOT_AVAILABLE: lambda p, _: (
        f"The switch at {p.here} says that it gets no usable signal."
    ),
    EvidenceKind.MEDIA_REMOTE_FAULT: lambda p, _: (
        f"The switch at {p.here} is told by the other end that nothing usable arrives there."
    ),
    EvidenceKind.MODULE_ID: lambda p, text: f"The module at {p.here} is {text or 'unnamed'}.",
    EvidenceKind.SINCE_FIRST_DAY: lambda p, _: "It has been so since the first day.",
    EvidenceKind.PROVISIONAL_BASELINE: lambda p, _: (
        "What counts as good is still provisional: less than a week is on record."
    ),
    EvidenceKind.SUPPLY_IN_NEED: lambda p, text: (
        f"The switch at {p.here} last said of its power: {text or 'the supply may soon end'}."
    ),
    EvidenceKind.LARGE_PINGS_LOST: lambda p, text: f"{text or 'Only large pings are lost'}.",
    EvidenceKind.MISFIT: lambda p, text: f"{text or 'Two parts do not fit together'}.",
    EvidenceKind.BEFORE_DAWN: lambda p, _: "It happens before dawn.",
}
