"""Every word of the model has its sentence, in plain words, with its cautions."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from tests.strandkeeper.alerts.samples import LINK, finding

from strandkeeper.alerts import wording
from strandkeeper.alerts.wording_cautions import Caution, caution_text, cautions_of
from strandkeeper.alerts.wording_evidence import FACTS, FIGURES, NAMES
from strandkeeper.model.alert import AlertState
from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.link import LimitOrigin
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.verdict import (
    DirectionVerdict,
    EndState,
    Event,
    EventKind,
    Forecast,
    ForecastTo,
    Trend,
)

PLACES = [
    pytest.param(None, None, id="whole link"),
    pytest.param(Direction.AB, None, id="direction"),
    pytest.param(Direction.BA, End.A, id="direction and end"),
    pytest.param(None, End.B, id="end"),
]


def _whole(sentence: str) -> None:
    """A sentence for a person: begins large, ends with a stop, no raw word of the code."""
    assert sentence[0].isupper() or sentence[0].isdigit(), sentence
    assert sentence.endswith((".", "?")), sentence
    assert "  " not in sentence
    assert "None" not in sentence.split()
    assert not re.search(r"[a-z]_[a-z]|\{|\}", sentence), sentence


@pytest.mark.parametrize(("direction", "end"), PLACES)
@pytest.mark.parametrize("kind", list(FindingKind))
def test_every_kind_has_its_headline(
    kind: FindingKind, direction: Direction | None, end: End | None
) -> None:
    _whole(wording.finding_headline(LINK, finding(kind, direction=direction, end=end)) + ".")


@pytest.mark.parametrize("kind", list(FindingKind))
def test_no_two_kinds_share_a_headline(kind: FindingKind) -> None:
    own = wording.finding_headline(LINK, finding(kind, end=End.A))
    others = [
        wording.finding_headline(LINK, finding(k, end=End.A)) for k in FindingKind if k != kind
    ]
    assert own not in others


@pytest.mark.parametrize(("direction", "end"), PLACES)
@pytest.mark.parametrize("confidence", list(Confidence))
@pytest.mark.parametrize("cause", list(Cause))
def test_every_cause_has_its_sentence_at_every_confidence(
    cause: Cause, confidence: Confidence, direction: Direction | None, end: End | None
) -> None:
    found = finding(
        FindingKind.LINK_DOWN,
        direction=direction,
        end=end,
        cause=cause,
        confidence=confidence,
        alternatives=(Cause.CABLE, Cause.SURGE),
    )
    sentence = wording.cause_sentence(LINK, found)
    _whole(sentence)
    assert sentence.startswith(("Certain: ", "Likely: ", "Cannot tell"))


@pytest.mark.parametrize(("direction", "end"), PLACES)
@pytest.mark.parametrize("value", [None, 4.2, -4.2, 0.0])
@pytest.mark.parametrize("kind", list(EvidenceKind))
def test_every_evidence_has_its_sentence(
    kind: EvidenceKind, value: float | None, direction: Direction | None, end: End | None
) -> None:
    _whole(
        wording.evidence_sentence(
            LINK, Evidence(kind=kind, value=value, direction=direction, end=end)
        )
    )


def test_an_evidence_is_either_a_figure_or_a_fact() -> None:
    assert set(FIGURES) | set(FACTS) == set(EvidenceKind)
    assert not set(FIGURES) & set(FACTS)
    assert set(NAMES) == set(FIGURES)


def test_the_kinds_with_a_unit_in_the_model_are_the_ones_said_with_a_figure() -> None:
    """model/finding.py writes the unit of each kind behind it, `# [dB]`."""
    import inspect

    from strandkeeper.model import finding as module

    source = inspect.getsource(module.EvidenceKind)
    with_unit = set(re.findall(r'= "([a-z-]+)"  # \[', source))
    assert {k.value for k in FIGURES} == with_unit


@pytest.mark.parametrize(("direction", "end"), PLACES)
@pytest.mark.parametrize("step", list(NextStep))
def test_every_step_has_its_order(
    step: NextStep, direction: Direction | None, end: End | None
) -> None:
    words = wording.next_step_words(
        LINK, finding(FindingKind.ADDED_LOSS, direction=direction, end=end), step
    )
    _whole(words.order)
    text = wording.next_step_text(LINK, finding(FindingKind.ADDED_LOSS), step)
    assert all(caution in text for caution in words.cautions)


# Steps in which a hand or an eye comes near glass, a plug, a port or a module.
# Judged by hand from the trade's own description of the step, not from the table under test.
AT_THE_FIBRE = {
    NextStep.PUSH_HOME,
    NextStep.CLEAN_PLUGS_AND_BORE,
    NextStep.CHANGE_CORD,
    NextStep.SWAP_STRANDS,
    NextStep.MOVE_TO_SPARE,
    NextStep.CHANGE_MODULE_HERE,
    NextStep.CHANGE_MODULE_THERE,
    NextStep.RETERMINATE,
    NextStep.WALK_THE_ROUTE,
    NextStep.CHECK_BENDS,
    NextStep.SWAP_PLUGS_AT_ONE_END,
    NextStep.ADD_ATTENUATOR,
    NextStep.REPLACE_WRONG_PART,
    NextStep.ENABLE_PORT,
    NextStep.PUT_MODULE_BACK,
    NextStep.LOCATE_FAULT_WITH_VISIBLE_LIGHT,
}


@pytest.mark.parametrize("step", sorted(AT_THE_FIBRE))
def test_whoever_comes_near_a_fibre_is_told_not_to_look_into_it(step: NextStep) -> None:
    assert caution_text(Caution.INVISIBLE_LIGHT) in cautions_of(step)


@pytest.mark.parametrize(
    ("step", "caution"),
    [
        (NextStep.CLEAN_PLUGS_AND_BORE, Caution.SOLVENT),
        (NextStep.CLEAN_PLUGS_AND_BORE, Caution.DARK_FIRST),
        (NextStep.CLEAN_PLUGS_AND_BORE, Caution.NOT_THROUGH_THE_LINK),
        (NextStep.RETERMINATE, Caution.SPLINTERS),
        (NextStep.RETERMINATE, Caution.SOLVENT),
        (NextStep.RETERMINATE, Caution.DARK_FIRST),
        (NextStep.SWAP_STRANDS, Caution.NOT_THROUGH_THE_LINK),
        (NextStep.WALK_THE_ROUTE, Caution.DIGGING),
        (NextStep.WALK_THE_ROUTE, Caution.ARMOUR),
        (NextStep.WALK_THE_ROUTE, Caution.THUNDERSTORM),
        (NextStep.WALK_THE_ROUTE, Caution.PITS),
        (NextStep.CHECK_SURGE_PROTECTION, Caution.ARMOUR),
        (NextStep.CHECK_SURGE_PROTECTION, Caution.THUNDERSTORM),
        (NextStep.CHECK_BATTERY, Caution.MAINS),
        (NextStep.ENABLE_PORT, Caution.NOBODY_AT_THE_FIBRE),
        (NextStep.LOCATE_FAULT_WITH_VISIBLE_LIGHT, Caution.VISIBLE_LASER),
    ],
)
def test_a_danger_is_named_beside_the_step_that_meets_it(step: NextStep, caution: Caution) -> None:
    assert caution_text(caution) in cautions_of(step)


@pytest.mark.parametrize("caution", list(Caution))
def test_every_caution_is_one_short_sentence_and_is_used(caution: Caution) -> None:
    text = caution_text(caution)
    _whole(text)
    assert len(text) <= 130
    assert any(text in cautions_of(step) for step in NextStep)


@pytest.mark.parametrize(("direction", "end"), PLACES)
@pytest.mark.parametrize("value", [None, 3.5, -3.5])
@pytest.mark.parametrize("kind", list(EventKind))
def test_every_event_has_its_sentence(
    kind: EventKind, value: float | None, direction: Direction | None, end: End | None
) -> None:
    event = Event(
        time_ms=0,
        link=LINK.name,
        kind=kind,
        value=value,
        direction=direction,
        end=end,
        text="added-loss" if kind.value.startswith("finding") else "",
    )
    _whole(wording.event_sentence(LINK, event))


def test_trends_confidences_and_severities_are_the_agreed_words() -> None:
    """Design, section 1: 'steady / creeping / jumped / flickering, and certain / likely / ...'"""
    assert {t: wording.trend_word(t) for t in Trend} == {
        Trend.STEADY: "steady",
        Trend.CREEPING: "creeping",
        Trend.JUMPED: "jumped",
        Trend.FLICKERING: "flickering",
        Trend.SWINGS: "swings with the day",
        Trend.TOO_EARLY: "too early to say",
    }
    assert {c: wording.confidence_word(c) for c in Confidence} == {
        Confidence.CERTAIN: "certain",
        Confidence.LIKELY: "likely",
        Confidence.CANNOT_TELL: "cannot tell",
    }
    assert {wording.severity_word(s) for s in Severity} == {
        "for the record",
        "look at it",
        "urgent",
    }


@pytest.mark.parametrize("origin", list(LimitOrigin))
def test_every_origin_of_the_limits_has_its_sentence(origin: LimitOrigin) -> None:
    from strandkeeper.optics.units import Dbm

    unknown = DirectionVerdict(direction=Direction.AB, limits_origin=origin)
    known = DirectionVerdict(
        direction=Direction.AB, limits_origin=origin, sensitivity=Dbm(-19.5), limits_source="x"
    )
    _whole(wording.limits_sentence(unknown))
    _whole(wording.limits_sentence(known))


@pytest.mark.parametrize("status", [None, *OperStatus])
def test_every_port_state_has_its_words(status: OperStatus | None) -> None:
    said = wording.end_sentence(LINK, EndState(end=End.B, answers=True, oper=status))
    assert said.startswith("Pump house: answers")


@pytest.mark.parametrize("state", list(AlertState))
def test_every_state_of_an_alert_has_its_words(state: AlertState) -> None:
    assert wording.alert_state_words(state, "")
    assert wording.alert_state_words(state, "anna").endswith(" by anna")


@pytest.mark.parametrize("to", [None, *ForecastTo])
@pytest.mark.parametrize("latest", [None, 1_800_000_000_000])
@pytest.mark.parametrize("earliest", [None, 1_790_000_000_000])
def test_every_forecast_has_its_sentence(
    to: ForecastTo | None, earliest: int | None, latest: int | None
) -> None:
    _whole(wording.forecast_sentence(Forecast(to=to, earliest_ms=earliest, latest_ms=latest)))


def _everything() -> Iterator[str]:
    for kind in FindingKind:
        yield wording.finding_headline(LINK, finding(kind))
    for cause in Cause:
        yield wording.cause_phrase(LINK, finding(FindingKind.ERRORS), cause)
    for evidence in EvidenceKind:
        for value in (None, 1.0):
            yield wording.evidence_sentence(LINK, Evidence(kind=evidence, value=value))
    for step in NextStep:
        yield wording.next_step_text(LINK, finding(FindingKind.ERRORS), step)
    for kind_of_event in EventKind:
        yield wording.event_sentence(LINK, Event(time_ms=0, link=LINK.name, kind=kind_of_event))


def test_no_sentence_uses_a_word_that_belongs_behind_the_screen() -> None:
    """Design, section 1: 'Never on screen: discontinuity, engine, varbind, OMA ...'"""
    banned = re.compile(
        r"\b(discontinuity|engine|varbind|OMA|OID|GET|poll|ifName|baseline|median|sigma|verdict)\b",
        re.IGNORECASE,
    )
    assert [s for s in _everything() if banned.search(s)] == []
