"""The sentences people read, whole."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.strandkeeper.alerts.samples import LINK, direction, finding, verdict

from strandkeeper.alerts import wording
from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.link import LimitOrigin, ReceiverLimits
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    Drift,
    EndState,
    Event,
    EventKind,
    Forecast,
    ForecastTo,
    Interval,
    Step,
    Trend,
)
from strandkeeper.optics.units import Db, Dbm

NEVER_LOOK = (
    "Never look into a fibre, plug or port, least of all with a lens: the light is invisible and "
    "may be on."
)


def test_a_link_that_is_well_has_nothing_to_do() -> None:
    assert wording.link_statement(LINK, verdict()) == (
        "Up. 9 dB to spare Lab → Pump house (the weaker way); steady. Nothing to do."
    )


def test_a_link_that_nothing_was_read_from_says_so() -> None:
    assert wording.link_statement(LINK, None) == "Nothing has been read from this link yet."


def test_added_loss_names_figure_direction_step_and_caution() -> None:
    found = finding(
        FindingKind.ADDED_LOSS,
        evidence=(Evidence(kind=EvidenceKind.ADDED_LOSS, value=4.23),),
        next_steps=(NextStep.PUSH_HOME, NextStep.CLEAN_PLUGS_AND_BORE),
    )
    assert wording.link_statement(LINK, verdict(found)) == (
        "Up. 9 dB to spare Lab → Pump house (the weaker way); steady. "
        "Lab → Pump house: 4.2 dB lost since it was good. "
        f"Push the plugs at Pump house and Lab home until they click. {NEVER_LOOK}"
    )


def test_a_link_that_is_down_with_a_silent_far_end_cannot_tell_and_starts_with_the_power() -> None:
    found = finding(
        FindingKind.LINK_DOWN,
        direction=None,
        severity=Severity.URGENT,
        cause=Cause.FAR_END_SILENT,
        alternatives=(Cause.CABLE,),
        next_steps=(NextStep.CHECK_FAR_POWER,),
    )
    assert wording.link_statement(LINK, verdict(found, up=False)) == (
        "Down. Cannot tell: while Pump house does not answer, its power, its module and the cable "
        "look alike. Look at the power of Pump house first: is its switch on? "
        "Leave mains wiring and large batteries to qualified people."
    )


def test_a_link_that_just_went_down_is_not_called_well() -> None:
    assert wording.link_statement(LINK, verdict(up=False)) == "Down. Too early to say why."


def test_no_light_is_said_once() -> None:
    found = finding(FindingKind.LIGHT_LOST, severity=Severity.URGENT)
    dark = direction(Direction.AB, None, rx=NO_LIGHT)
    assert wording.link_statement(LINK, verdict(found, ab=dark)) == (
        "Up. Lab → Pump house: no light arrives at Pump house."
    )


def test_a_dark_direction_is_the_weaker_one_even_before_a_finding() -> None:
    dark = direction(Direction.BA, None, rx=NO_LIGHT)
    assert wording.link_statement(LINK, verdict(ba=dark)) == ("Up. Pump house → Lab: no light.")


def test_the_direction_that_cannot_be_read_is_said_to_be_unknown() -> None:
    unread = direction(Direction.BA, None, rx=NOT_REPORTED)
    assert wording.link_statement(LINK, verdict(ba=unread)) == (
        "Up. 9 dB to spare Lab → Pump house (the other way is not known); steady. Nothing to do."
    )


def test_without_limits_the_change_is_what_can_be_said() -> None:
    ab = direction(Direction.AB, None, added_loss=Interval(value=0.74, low=0.6, high=0.9))
    ba = direction(Direction.BA, None, added_loss=Interval(value=0.1, low=0.0, high=0.2))
    assert wording.link_statement(LINK, verdict(ab=ab, ba=ba)) == (
        "Up. How much is to spare is not known. Lab → Pump house: 0.7 dB lost since it was good. "
        "Nothing to do."
    )


def test_the_restless_direction_is_named_when_the_weaker_one_is_calm() -> None:
    slope = Drift(slope=Interval(value=0.08, low=0.05, high=0.1), window_days=180, reported=True)
    ba = direction(Direction.BA, 12.2, trend=Trend.CREEPING, drift=slope)
    assert wording.link_statement(LINK, verdict(ba=ba)) == (
        "Up. 9 dB to spare Lab → Pump house (the weaker way); steady; "
        "Pump house → Lab creeping, about 1 dB a year. Nothing to do."
    )


def test_an_unknown_state_is_shown_as_unknown() -> None:
    nothing = DirectionVerdict(direction=Direction.AB)
    other = DirectionVerdict(direction=Direction.BA)
    assert wording.link_statement(LINK, verdict(up=None, ab=nothing, ba=other)) == (
        "Not known whether it is up. How much is to spare is not known."
    )


@pytest.mark.parametrize(
    ("kind", "evidence", "headline"),
    [
        (FindingKind.MARGIN_LOW, Evidence(kind=EvidenceKind.MARGIN, value=4.9),
         "Lab → Pump house: 4 dB to spare before the light is too weak"),
        (FindingKind.MARGIN_LOW, Evidence(kind=EvidenceKind.MARGIN, value=-0.5),
         "Lab → Pump house: nothing to spare, the light is weaker than Pump house can use"),
        (FindingKind.DRIFT, Evidence(kind=EvidenceKind.SLOPE, value=0.08),
         "Lab → Pump house: the loss is creeping up, about 1 dB a year"),
        (FindingKind.STEP, Evidence(kind=EvidenceKind.CHANGE, value=0.72),
         "Lab → Pump house: the loss jumped up by 0.7 dB"),
        (FindingKind.DAILY_SWING, Evidence(kind=EvidenceKind.SWING, value=1.2),
         "Lab → Pump house: the loss swings with the day by 1.2 dB"),
        (FindingKind.ERRORS, Evidence(kind=EvidenceKind.ERROR_FRAMES, value=1),
         "Lab → Pump house: 1 damaged frame at Pump house"),
        (FindingKind.FLAPPING, Evidence(kind=EvidenceKind.FLAPS, value=5),
         "The link went down and up, 5 times"),
        (FindingKind.TEMPERATURE, Evidence(kind=EvidenceKind.TEMPERATURE, value=-3.4),
         "The module at Pump house is at −3 °C"),
        (FindingKind.LASER_AGEING, Evidence(kind=EvidenceKind.BIAS_CHANGE, value=31),
         "The laser at Lab is ageing: it takes 31 % more current"),
        (FindingKind.SUPPLY, Evidence(kind=EvidenceKind.SUPPLY, value=2.97),
         "The supply of the module at Pump house is off: 2.97 V"),
        (FindingKind.FROZEN_FIGURE, Evidence(kind=EvidenceKind.DURATION, value=90000),
         "A figure that Pump house reports has stood still for 1 day 1 hour"),
    ],
)  # fmt: skip
def test_a_headline_carries_the_main_figure(
    kind: FindingKind, evidence: Evidence, headline: str
) -> None:
    assert wording.finding_headline(LINK, finding(kind, evidence=(evidence,))) == headline


def test_the_size_of_a_daily_swing_is_told_as_between_night_and_day() -> None:
    swing = Evidence(kind=EvidenceKind.SWING, direction=Direction.AB, value=1.2)
    said = "Lab → Pump house: the loss swings by 1.2 dB between night and day."
    assert wording.evidence_sentence(LINK, swing) == said


def test_an_end_that_does_not_answer_is_named() -> None:
    found = finding(FindingKind.NO_ANSWER, direction=None, end=End.B)
    assert wording.finding_headline(LINK, found) == "The switch at Pump house does not answer"


def test_a_likely_cause_says_what_else_it_could_be() -> None:
    found = finding(
        FindingKind.ADDED_LOSS,
        cause=Cause.CONNECTOR,
        confidence=Confidence.LIKELY,
        alternatives=(Cause.STRAND, Cause.BEND_OR_CRUSH),
        evidence=(
            Evidence(kind=EvidenceKind.ONE_DIRECTION, direction=Direction.AB),
            Evidence(kind=EvidenceKind.TRANSMITTER_STEADY, direction=Direction.AB),
            Evidence(kind=EvidenceKind.ERROR_RATIO, value=0.0002),
        ),
    )
    assert wording.finding_sentences(LINK, found) == (
        "Likely: a plug on the strand Lab → Pump house (blue): dirty, knocked or not home. It "
        "could also be the strand Lab → Pump house (blue), or a plug on it; or a bend that is too "
        "tight, or a crushed spot.",
        "Only Lab → Pump house is affected.",
        "Lab sends as much light as before.",
        "About 1 frame in 5 000 arrives damaged.",
    )


def test_an_unknown_cause_is_not_guessed() -> None:
    assert wording.cause_sentence(LINK, finding(FindingKind.ERRORS)) == "Cannot tell why."


def test_the_second_and_later_steps_do_not_repeat_a_caution() -> None:
    found = finding(
        FindingKind.ADDED_LOSS, next_steps=(NextStep.PUSH_HOME, NextStep.CLEAN_PLUGS_AND_BORE)
    )
    first, second = wording.next_steps_words(LINK, found)
    assert first.cautions == (NEVER_LOOK,)
    assert NEVER_LOOK not in second.cautions
    assert len(second.cautions) == 3
    assert NEVER_LOOK in wording.next_step_text(LINK, found, NextStep.CLEAN_PLUGS_AND_BORE)


def test_the_step_here_is_at_the_end_the_finding_speaks_of() -> None:
    found = finding(FindingKind.TRANSMIT_LOW, end=End.A)
    step = wording.next_step_words(LINK, found, NextStep.CHANGE_MODULE_HERE)
    assert step.order == "Change the module at Lab."
    there = wording.next_step_words(LINK, found, NextStep.CHANGE_MODULE_THERE)
    assert there.order == "Change the module at Pump house."


def test_one_strand_cannot_be_swapped_with_another_so_a_spare_is_tried() -> None:
    single = replace(LINK, strands=1)
    found = finding(FindingKind.ADDED_LOSS)
    step = wording.next_step_words(single, found, NextStep.SWAP_STRANDS)
    assert step.order == "Move the link to a spare strand at both ends and see whether it stays."


def test_a_single_strand_link_has_one_strand() -> None:
    single = replace(LINK, strands=1, strand_ab="white", strand_ba="white")
    found = finding(FindingKind.ADDED_LOSS, cause=Cause.STRAND, confidence=Confidence.CERTAIN)
    assert wording.cause_sentence(single, found) == (
        "Certain: the strand (white), or a plug on it."
    )


@pytest.mark.parametrize(
    ("event", "sentence"),
    [
        (Event(time_ms=0, link=LINK.name, kind=EventKind.LINK_UP, value=75),
         "The link came up after 1 minute."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.LINK_DOWN, uncertainty_ms=10_000),
         "The link went down (to within 10 seconds)."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.RESTARTED, end=End.B, value=12.0),
         "The switch at Pump house restarted."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.LIGHT_LOST, direction=Direction.BA),
         "The light to Lab went out."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.STEP, direction=Direction.AB, value=-0.66),
         "Lab → Pump house: the loss jumped down by 0.7 dB."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.MODULE_CHANGED, end=End.A, text="no. 17"),
         "The module at Lab was changed: no. 17."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.FINDING_ENDED, direction=Direction.AB,
               text="added-loss", value=1.0),
         "Over: Lab → Pump house: light lost since it was good."),
        (Event(time_ms=0, link=LINK.name, kind=EventKind.FINDING_BEGAN, text="of a later release"),
         "Began: of a later release."),
    ],
)  # fmt: skip
def test_events_as_the_record_tells_them(event: Event, sentence: str) -> None:
    assert wording.event_sentence(LINK, event) == sentence


def test_the_limits_say_where_they_come_from() -> None:
    known = DirectionVerdict(
        direction=Direction.AB,
        sensitivity=Dbm(-19.5),
        overload=Dbm(-3.0),
        limits_origin=LimitOrigin.PMD_NAMED,
        limits_source="1000BASE-LX10, IEEE 802.3 clause 59.3",
    )
    assert wording.limits_sentence(known) == (
        "Weakest light it can use −19.5 dBm, strongest −3.0 dBm; by the module type you named: "
        "1000BASE-LX10, IEEE 802.3 clause 59.3."
    )
    owned = replace(known, limits_origin=LimitOrigin.OWNER, limits_source="your own figure")
    assert wording.limits_sentence(owned) == (
        "Weakest light it can use −19.5 dBm, strongest −3.0 dBm; your own figure."
    )
    unknown = DirectionVerdict(direction=Direction.AB, limits_source=ReceiverLimits().source)
    assert wording.limits_sentence(unknown) == (
        "The weakest light it can use is not known (name the module type or its sensitivity)."
    )
    assert wording.limits_sentence(DirectionVerdict(direction=Direction.AB)) == (
        "The weakest light it can use is not known (name the module type or its sensitivity)."
    )


@pytest.mark.parametrize(
    ("rx", "margin", "anchored", "said"),
    [
        (Measured(Dbm(-11)), 8.97, False, "8 dB"),
        (Measured(Dbm(-11)), 8.97, True, "8.9 dB"),
        (NO_LIGHT, None, False, "no light"),
        (NOT_REPORTED, None, False, "not known: no reading"),
        (Measured(Dbm(-11)), None, False, "not known: name the module type"),
    ],
)
def test_what_is_to_spare_never_says_more_than_there_is(
    rx: Measured, margin: float | None, anchored: bool, said: str
) -> None:
    assert wording.spare_words(direction(Direction.AB, margin, rx=rx, anchored=anchored)) == said


def test_a_baseline_says_what_good_means_and_how_firmly() -> None:
    base = Baseline(loss=Db(2.04), spread=Db(0.1), since_ms=1_700_000_000_000, firm=False)
    ab = direction(Direction.AB, 9, baseline=base)
    # 1 700 000 000 s after 1970 is 14 November 2023 (GNU date)
    assert wording.baseline_sentence(ab) == (
        "Good means 2.0 dB lost, as was measured from 14 November 2023; provisional until a week "
        "is on record."
    )
    owned = direction(Direction.AB, 9, baseline=replace(base, firm=True, by_owner=True))
    assert wording.baseline_sentence(owned) == (
        "Good means 2.0 dB lost, as you accepted on 14 November 2023."
    )
    assert wording.baseline_sentence(direction(Direction.AB, 9)) == (
        "It is not known yet how much is lost when it is good."
    )


def test_a_forecast_is_a_range_of_months_or_no_end_in_sight() -> None:
    ahead = Forecast(earliest_ms=1_800_000_000_000, latest_ms=1_830_000_000_000,
                     to=ForecastTo.RESERVE)  # fmt: skip
    # 1.80e9 s: 15 January 2027; 1.83e9 s: 28 December 2027 (GNU date)
    assert wording.forecast_sentence(ahead) == (
        "Going on like this, the reserve is used up between January 2027 and December 2027."
    )
    assert wording.forecast_sentence(Forecast(why_null="no-end-in-sight")) == "No end in sight."
    assert wording.forecast_sentence(Forecast()) == "It is too early to say where this leads."


@pytest.mark.parametrize(
    ("trend", "more", "said"),
    [
        (Trend.JUMPED, {"steps": (Step(time_ms=0, time_low_ms=0, time_high_ms=0,
                                       size=Interval(value=0.7, low=0.6, high=0.8)),)},
         "jumped by 0.7 dB"),
        (Trend.SWINGS, {"daily_swing": Db(0.62)}, "swings with the day, 0.6 dB"),
        (Trend.CREEPING, {}, "creeping"),
        (Trend.TOO_EARLY, {}, "too early to say"),
    ],
)  # fmt: skip
def test_a_trend_carries_its_figure_where_there_is_one(
    trend: Trend, more: dict[str, object], said: str
) -> None:
    assert wording.trend_sentence(direction(Direction.AB, 9, trend=trend, **more)) == said


@pytest.mark.parametrize(
    ("errors", "frames", "said"),
    [
        (0, 1_234_567, "no damaged frame of 1 234 567 in 24 h"),
        (3, None, "3 damaged frames in 24 h"),
        (None, None, "damaged frames not known"),
    ],
)
def test_damaged_frames_in_words(errors: int | None, frames: int | None, said: str) -> None:
    ab = direction(Direction.AB, 9, errors_24h=errors, frames_24h=frames)
    assert wording.errors_sentence(ab) == said


def test_an_end_in_words() -> None:
    assert wording.end_sentence(LINK, EndState(end=End.B, answers=False, temp_c=31.4)) == (
        "Pump house: does not answer, module at 31 °C"
    )
    assert wording.end_sentence(LINK, EndState(end=End.B, managed=False)) == (
        "Pump house: nobody can ask this end"
    )


def test_findings_come_the_most_urgent_first_then_the_oldest() -> None:
    late = finding(FindingKind.ERRORS, since_ms=5)
    early = finding(FindingKind.ADDED_LOSS, since_ms=1)
    note = finding(FindingKind.STEP, severity=Severity.NOTE)
    urgent = finding(FindingKind.LINK_DOWN, severity=Severity.URGENT, since_ms=9)
    assert wording.worst_first(verdict(late, note, early, urgent)) == (urgent, early, late, note)
    assert wording.worst_finding(verdict(note)) is None


def test_a_link_named_by_its_owner_keeps_that_name_where_no_direction_is_meant() -> None:
    named = replace(LINK, name=LinkName("Küstenkabel"))
    found = finding(FindingKind.DAILY_SWING, direction=None)
    assert wording.finding_headline(named, found) == "Küstenkabel: the loss swings with the day"
