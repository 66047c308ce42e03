"""The public JSON of a verdict: its words are the agreed ones, and nothing is lost either way."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from strandkeeper.errors import DecodeError
from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    Finding,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.link import LimitOrigin
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    Drift,
    EndState,
    Flap,
    Forecast,
    ForecastTo,
    Interval,
    LinkVerdict,
    Outage,
    Step,
    Trend,
)
from strandkeeper.model.verdict_json import verdict_from_json, verdict_to_json
from strandkeeper.optics.units import Db, Dbm

LINK = LinkName("shore link")
AT = 1_700_000_000_250  # 2023-11-14T22:13:20.250Z, checked with `date -u -d @1700000000`


def _rich_direction() -> DirectionVerdict:
    return DirectionVerdict(
        direction=Direction.AB,
        rx=Measured(Dbm(-11.3)),
        tx=Measured(Dbm(-5.1)),
        optics_ms=AT - 3000,
        sensitivity=Dbm(-19.5),
        overload=Dbm(-3.0),
        limits_origin=LimitOrigin.PMD_NAMED,
        limits_source="a source",
        accuracy=Db(1.0),
        anchored=True,
        margin=Db(0.1 + 0.2),  # a float with a long tail must survive
        headroom=Db(8.3),
        loss=Db(6.2),
        planned_loss=Db(1.2),
        planned_limit=Db(2.0),
        baseline=Baseline(loss=Db(2.0), spread=Db(0.05), since_ms=AT - 9, firm=True, by_owner=True),
        added_loss=Interval(value=4.2, low=4.0, high=4.4),
        compensation_db_per_c=(0.01, -0.02),
        drift=Drift(
            slope=Interval(value=0.08, low=0.05, high=0.11),
            window_days=180,
            reported=True,
            season_excluded=True,
        ),
        forecast=Forecast(earliest_ms=AT + 5, latest_ms=AT + 6000, to=ForecastTo.RESERVE),
        steps=(
            Step(
                time_ms=AT - 50,
                time_low_ms=AT - 80,
                time_high_ms=AT - 20,
                size=Interval(value=0.7, low=0.6, high=0.8),
                transmitter_moved=True,
            ),
        ),
        flicker=True,
        daily_swing=Db(0.6),
        trend=Trend.JUMPED,
        errors_24h=3,
        frames_24h=12345,
    )


def rich() -> LinkVerdict:
    """Every field holds something other than its default."""
    return LinkVerdict(
        link=LINK,
        at_ms=AT,
        a=EndState(
            end=End.A,
            managed=True,
            answers=True,
            heard_ms=AT - 1,
            oper=OperStatus.LOWER_LAYER_DOWN,
            oper_since_ms=AT - 100,
            uptime_cs=4242,
            temp_c=31.5,
            bias_ma=12.25,
            vcc_v=3.3,
            module_id="1234 / 5",
        ),
        b=EndState(end=End.B, managed=False),
        ab=_rich_direction(),
        ba=DirectionVerdict(
            direction=Direction.BA, rx=NO_LIGHT, forecast=Forecast(why_null="no-end-in-sight")
        ),
        up=False,
        up_since_ms=AT - 7,
        downs_24h=3,
        downs_7d=40,
        downs_14d=70,
        flaps=(
            Flap(
                from_ms=AT - 90,
                to_ms=AT - 60,
                seen_by=("poll of A", "trap of B"),
                uncertainty_s=2.5,
            ),
        ),
        outages=(
            Outage(
                from_ms=AT - 500,
                to_ms=None,
                cause=Cause.CABLE,
                revised=True,
                seen_by=("trap of B",),
                uncertainty_s=0.5,
            ),
        ),
        findings=(
            Finding(
                link=LINK,
                kind=FindingKind.ADDED_LOSS,
                severity=Severity.URGENT,
                since_ms=AT - 5,
                direction=Direction.AB,
                end=End.B,
                cause=Cause.CONNECTOR,
                confidence=Confidence.LIKELY,
                alternatives=(Cause.STRAND,),
                evidence=(
                    Evidence(
                        kind=EvidenceKind.ADDED_LOSS,
                        end=End.B,
                        direction=Direction.AB,
                        value=4.2,
                        text="t",
                    ),
                ),
                next_steps=(NextStep.PUSH_HOME, NextStep.CLEAN_PLUGS_AND_BORE),
            ),
        ),
    )


def test_a_full_verdict_comes_back_the_same_through_json_text() -> None:
    text = json.dumps(verdict_to_json(rich()), allow_nan=False)
    assert verdict_from_json(json.loads(text)) == rich()


def test_an_empty_verdict_comes_back_the_same() -> None:
    empty = LinkVerdict(
        link=LINK,
        at_ms=0,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
    )
    assert verdict_from_json(json.loads(json.dumps(verdict_to_json(empty)))) == empty


def test_the_words_of_the_public_schema() -> None:
    """Design, section 5, 'JSON': names and spellings scripts rely on."""
    data = verdict_to_json(rich())
    assert data["schema"] == 1
    assert data["at"] == "2023-11-14T22:13:20.250Z"
    ab, ba = data["directions"]["ab"], data["directions"]["ba"]
    assert (ab["rx_dbm"], ba["rx_dbm"], ba["tx_dbm"]) == (-11.3, "no-light", None)
    assert ab["margin_db"] == pytest.approx(0.3)
    assert ab["added_loss"] == {"value": 4.2, "low": 4.0, "high": 4.4}
    assert {k: ab["drift"][k] for k in ("value", "low", "high", "window_days", "reported")} == {
        "value": 0.08,
        "low": 0.05,
        "high": 0.11,
        "window_days": 180,
        "reported": True,
    }
    assert ab["forecast"] == {
        "earliest": "2023-11-14T22:13:20.255Z",
        "latest": "2023-11-14T22:13:26.250Z",
        "to": "reserve",
    }
    assert (ba["forecast"], ba["why_null"]) == (None, "no-end-in-sight")
    assert (ab["steps"][0]["db"], ab["flicker"], ab["daily_swing_db"]) == (0.7, True, 0.6)
    assert (data["downs_24h"], data["downs_7d"], data["downs_14d"]) == (3, 40, 70)
    assert data["flaps"][0]["seen_by"] == ["poll of A", "trap of B"]
    assert data["outages"][0] == {
        "from": "2023-11-14T22:13:19.750Z",
        "to": None,
        "cause": "cable",
        "revised": True,
        "seen_by": ["trap of B"],
        "uncertainty_s": 0.5,
    }
    finding = data["findings"][0]
    assert (finding["kind"], finding["direction"], finding["end"]) == ("added-loss", "ab", "b")
    assert finding["next_steps"] == ["push-home", "clean-plugs-and-bore"]
    assert data["ends"]["a"]["oper"] == "lower-layer-down"


@pytest.mark.parametrize("status", list(OperStatus))
def test_every_port_state_comes_back(status: OperStatus) -> None:
    verdict = replace(rich(), a=EndState(end=End.A, oper=status))
    assert verdict_from_json(verdict_to_json(verdict)).a.oper is status


def test_another_schema_is_refused_and_both_are_named() -> None:
    with pytest.raises(DecodeError) as caught:
        verdict_from_json({"schema": 2})
    assert str(caught.value) == (
        "a verdict of schema 2; this release reads schema 1\n"
        "  it was written by another release: run that one, or let the verdict be made anew"
    )


def test_a_verdict_without_one_of_its_fields_is_refused_by_name() -> None:
    data = verdict_to_json(rich())
    del data["directions"]["ab"]["margin_db"]
    with pytest.raises(DecodeError, match="wrong shape: KeyError: 'margin_db'"):
        verdict_from_json(data)
