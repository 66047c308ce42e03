"""The weekly summary: on its day from its time on, once, one paragraph a link."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.jobs.week import Week, weekday
from strandkeeper.model.finding import Cause, Severity
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.message import Message, MessageKind, PageWay, Target
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.telling import TellingSettings
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict, Outage

DAY, HOUR = 86_400_000, 3_600_000
MONDAY = 1_795_996_800_000  # 2026-11-30 00:00 UTC, a Monday by the calendar
SHORE, JETTY = LinkName("Shore"), LinkName("Jetty")


def verdict(name: LinkName, *outages: Outage, downs_7d: int = 0) -> LinkVerdict:
    return LinkVerdict(
        link=name,
        at_ms=MONDAY,
        a=EndState(end=End.A, answers=True),
        b=EndState(end=End.B, answers=True),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
        up=True,
        outages=outages,
        downs_7d=downs_7d,
    )


def settings(*, weekly: bool = True, day: int | None = 0) -> Settings:
    return Settings(
        station="Station",
        switches=(),
        links=tuple(
            Link(name=n, a=PortEnd(name="Lab"), b=PortEnd(name="Pump")) for n in (SHORE, JETTY)
        ),
        store=StoreSettings(path="x"),
        telling=TellingSettings(
            targets=(Target(name="page", way=PageWay(), weekly=weekly),), weekly_day=day
        ),
    )


def due(week: Week, at_ms: int, *verdicts: LinkVerdict, offset_s: int = 0) -> Message | None:
    setting = Setting(now_ms=at_ms, offset_s=offset_s, station="Station")
    return week.due(verdicts or [verdict(SHORE)], setting)


@pytest.mark.parametrize(("days", "number"), [(0, 0), (1, 1), (6, 6), (7, 0), (-1, 6)])
def test_the_days_of_the_week_are_those_of_the_calendar(days: int, number: int) -> None:
    assert weekday(MONDAY + days * DAY, 0) == number


def test_it_comes_once_on_its_day_and_again_a_week_later() -> None:
    week = Week(settings(), None)
    assert due(week, MONDAY + 8 * HOUR - 1000) is None
    message = due(week, MONDAY + 8 * HOUR)
    assert message is not None
    assert (message.kind, message.severity) == (MessageKind.WEEKLY, Severity.NOTE)
    assert due(week, MONDAY + 9 * HOUR) is None
    assert due(week, MONDAY + 2 * DAY) is None
    assert due(week, MONDAY + 7 * DAY + 8 * HOUR) is not None


def test_a_start_after_it_was_made_does_not_make_it_again_and_a_late_one_still_does() -> None:
    assert due(Week(settings(), MONDAY + 8 * HOUR), MONDAY + 10 * HOUR) is None
    assert due(Week(settings(), MONDAY - 7 * DAY), MONDAY + 20 * HOUR) is not None


def test_the_day_is_that_of_the_place() -> None:
    """Ten hours ahead of UTC it is Monday 08:00 when it is Sunday 22:00 in Greenwich."""
    assert due(Week(settings(), None), MONDAY - 2 * HOUR, offset_s=36_000) is not None
    assert due(Week(settings(), None), MONDAY - 2 * HOUR) is None


@pytest.mark.parametrize("chosen", [settings(weekly=False), settings(day=None)])
def test_who_wants_none_gets_none(chosen: Settings) -> None:
    assert due(Week(chosen, None), MONDAY + 9 * HOUR) is None


def test_each_link_has_one_paragraph_with_what_the_week_brought() -> None:
    lately = Outage(from_ms=MONDAY - DAY, to_ms=MONDAY - DAY + 5 * HOUR, cause=Cause.CABLE)
    old = replace(lately, from_ms=MONDAY - 20 * DAY, to_ms=MONDAY - 19 * DAY)
    message = due(
        Week(settings(), None),
        MONDAY + 8 * HOUR,
        verdict(SHORE, old, lately, downs_7d=70),
        verdict(JETTY),
    )
    assert message is not None
    head, shore, jetty = message.text.split("\n\n")
    assert head == "Station: the week until 2026-11-30 08:00"
    assert shore.startswith("Shore. ")
    assert shore.endswith("In seven days down 70 times; the longest time 5 hours.")
    assert jetty.endswith("In seven days it was never down.")


def test_short_times_alone_are_said_to_be_short_and_an_outage_that_lasts_is_counted_on() -> None:
    short = due(Week(settings(), None), MONDAY + 8 * HOUR, verdict(SHORE, downs_7d=1))
    lasts = verdict(SHORE, Outage(from_ms=MONDAY, to_ms=None, cause=Cause.UNKNOWN))
    long = due(Week(settings(), None), MONDAY + 8 * HOUR, lasts)
    assert short is not None
    assert long is not None
    assert "In seven days down 1 time, never for long." in short.text
    assert "In seven days down 1 time; the longest time 8 hours." in long.text
