"""What was measured with an instrument, in words: loss, method, verdict, right practice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.alerts.wording_figures import db, number
from strandkeeper.model.meter_reading import MeterKind, MeterReading, last_alike
from strandkeeper.optics.meter import MeterVerdict

__all__ = ["CORDS", "PRACTICE", "change_sentence", "meter_verdict_word", "reading_sentences"]

# what the count of cords leaves out; IEC 61280-4-2 and TIA-526-7 have the three methods
CORDS: Final[dict[int, str]] = {
    1: "one cord at the reference: both end connections are in it",
    2: "two cords at the reference: one end connection is not in it",
    3: "three cords at the reference: neither end connection is in it",
}
# the order to work in, beside every field where a loss is entered
PRACTICE: Final = (
    "Let the source warm up; clean the reference cords and look at them with a camera scope.",
    "Take the reference through the cords alone, and leave the launch cord in the source "
    "afterwards: unplugging it makes the reference void.",
    "Source and meter at the wavelength of the link. A visual fault locator (red light) finds "
    "breaks; it cannot measure loss.",
    "Count the cords and keep to that count: losses by different methods are never compared.",
)
_VERDICTS: Final[dict[MeterVerdict, str]] = {
    MeterVerdict.ACCEPT: "accept",
    MeterVerdict.CLEAN_AND_RETEST: "clean all connections and measure again",
    MeterVerdict.REJECT: "reject: more than cleaning mends",
    MeterVerdict.BAD_REFERENCE: "bad reference",
}


def meter_verdict_word(verdict: MeterVerdict) -> str:
    """What a measured loss means for the work."""
    return _VERDICTS[verdict]


def reading_sentences(reading: MeterReading) -> tuple[str, ...]:
    """What was measured, how far that is certain, and what it means."""
    if reading.kind is MeterKind.POWER or reading.loss is None:
        return (_power(reading),)
    measured = (
        f"Loss {_fine(reading.loss.value)} ±{reading.uncertainty.value:g} dB, "
        f"{CORDS[reading.cords or 1]}."
    )
    if reading.limit is None or reading.verdict is None:
        return measured, "No limit: the length of the cable is not known."
    limit = _fine(reading.limit.value)
    return measured, f"Limit {limit}: {meter_verdict_word(reading.verdict)}."


def _power(reading: MeterReading) -> str:
    said = f"Power {number(reading.reading.value, 2)} dBm"
    if reading.reported is None:
        return f"{said}."
    apart = reading.reading - reading.reported
    return (
        f"{said}; the module reported {number(reading.reported.value, 2)} dBm before, so "
        f"{_fine(abs(apart.value))} are {'added to' if apart.value >= 0 else 'taken off'} what it "
        "says. Its readings are then good to about 1 dB, as long as it stays the same module."
    )


def change_sentence(reading: MeterReading, earlier: Sequence[MeterReading], when: str) -> str:
    """Against the last reading of the same strand by the same method; empty without one.

    `when` is the day of that reading, as the reader's place writes it.
    """
    before = last_alike(reading, earlier)
    if before is None or before.loss is None or reading.loss is None:
        return ""
    change = reading.loss.value - before.loss.value
    both = (reading.uncertainty.value**2 + before.uncertainty.value**2) ** 0.5
    if abs(change) <= both:
        return f"No different from {when} by the same method, to {db(both)}."
    more = "more" if change > 0 else "less"
    return f"{_fine(abs(change))} {more} than on {when} by the same method, ±{db(both)}."


def _fine(value: float) -> str:
    return f"{number(value, 2)} dB"
