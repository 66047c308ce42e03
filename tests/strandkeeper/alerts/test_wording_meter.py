"""A meter reading in words: its method always beside it, compared only with its own kind."""

from __future__ import annotations

from dataclasses import replace

from strandkeeper.alerts.wording_meter import change_sentence, reading_sentences
from strandkeeper.model.meter_reading import MeterKind, MeterReading, last_alike
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.optics.meter import MeterVerdict
from strandkeeper.optics.units import Db, Dbm

FIRST = MeterReading(
    id=1,
    at_ms=1_000,
    who="me",
    kind=MeterKind.LOSS,
    reading=Dbm(-11.3),
    wavelength_nm=1310,
    source="laser",
    link=LinkName("shore"),
    direction=Direction.AB,
    cords=1,
    reference=Dbm(-10.0),
    loss=Db(1.3),
    limit=Db(1.82),
    verdict=MeterVerdict.ACCEPT,
    uncertainty=Db(0.2),
)
LATER = replace(FIRST, id=2, at_ms=2_000, loss=Db(1.9), verdict=MeterVerdict.CLEAN_AND_RETEST)


def test_a_loss_says_its_method_its_limit_and_what_it_means() -> None:
    assert reading_sentences(LATER) == (
        "Loss 1.90 dB ±0.2 dB, one cord at the reference: both end connections are in it.",
        "Limit 1.82 dB: clean all connections and measure again.",
    )
    unlimited = replace(FIRST, limit=None, verdict=None)
    assert reading_sentences(unlimited)[1] == "No limit: the length of the cable is not known."


def test_a_power_says_what_it_does_to_the_modules_readings() -> None:
    power = replace(
        FIRST, kind=MeterKind.POWER, loss=None, reading=Dbm(-8.0), reported=Dbm(-8.7), cords=None
    )
    (said,) = reading_sentences(power)
    assert said.startswith("Power −8.00 dBm; the module reported −8.70 dBm before, so 0.70 dB are")
    assert "added to what it says" in said


def test_a_change_is_told_only_above_what_both_readings_may_be_off() -> None:
    # √(0.2² + 0.2²) = 0.28 dB
    assert change_sentence(LATER, [FIRST, LATER], "3 May") == (
        "0.60 dB more than on 3 May by the same method, ±0.3 dB."
    )
    close = replace(LATER, loss=Db(1.5))
    assert change_sentence(close, [FIRST], "3 May") == (
        "No different from 3 May by the same method, to 0.3 dB."
    )


def test_another_method_another_wavelength_and_another_strand_are_never_compared() -> None:
    for other in (
        replace(FIRST, cords=2),
        replace(FIRST, wavelength_nm=1550),
        replace(FIRST, direction=Direction.BA),
        replace(FIRST, cable="shore cable", strand=3),
        replace(FIRST, at_ms=3_000),
    ):
        assert last_alike(LATER, [other]) is None
        assert change_sentence(LATER, [other], "then") == ""
    assert last_alike(LATER, [FIRST, replace(FIRST, id=3, at_ms=500)]) == FIRST
