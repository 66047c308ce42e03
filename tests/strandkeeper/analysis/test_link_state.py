"""What rows say of the link itself: down and up, silence, restarts, modules, light."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from strandkeeper.model.finding import Cause, Confidence, FindingKind, Severity
from strandkeeper.model.reading import AdminStatus
from strandkeeper.model.verdict import EventKind

Build = Callable[..., Any]
START_MS = 1_750_000_200_000


def test_a_link_that_goes_down_and_comes_back_is_an_outage_with_both_times(watch: Build) -> None:
    link = watch().run(10)
    link.up = [False, False]
    link.dark = [True, True]
    link.run(5)
    assert link.finding(FindingKind.LINK_DOWN).severity is Severity.URGENT
    assert link.verdict.up is False
    link.up = [True, True]
    link.dark = [False, False]
    link.run(5)
    assert link.finding(FindingKind.LINK_DOWN) is None
    (outage,) = link.verdict.outages
    assert (outage.from_ms - START_MS, outage.to_ms - START_MS) == (600_000, 900_000)


def test_a_short_time_down_is_a_flap(watch: Build) -> None:
    link = watch().run(10)
    link.up = [False, True]
    link.run(0.5)
    link.up = [True, True]
    link.run(2)
    assert link.verdict.outages == ()
    assert len(link.verdict.flaps) == 1


def test_a_change_between_two_polls_is_a_flap_seen_once_from_both_ends(watch: Build) -> None:
    link = watch().run(10)
    link.change_s = [595.0, 597.0]
    link.run(2)
    (event,) = link.told(EventKind.FLAP_BETWEEN_POLLS)
    assert event.time_ms - START_MS == 595_000
    (flap,) = link.verdict.flaps
    assert flap.seen_by == ("last change of A", "last change of B")


def test_a_restart_is_told_with_its_time_and_two_in_a_week_are_a_finding(watch: Build) -> None:
    link = watch().run(10)
    link.boot_s[1] = 580.0
    link.run(60)
    (event,) = link.told(EventKind.RESTARTED)
    assert event.time_ms - START_MS == 580_000
    assert link.finding(FindingKind.RESTARTS) is None
    link.boot_s[1] = 4000.0
    link.time_s = 4030
    link.run(10)
    assert link.finding(FindingKind.RESTARTS).severity is Severity.WARNING


def test_the_wrap_of_the_uptime_after_497_days_is_no_restart(watch: Build) -> None:
    # RFC 3418: sysUpTime is TimeTicks, 2^32 hundredths of a second: 497.1 days.
    link = watch()
    link.boot_s = [-(2**32) / 100 + 300.0] * 2
    link.change_s = [-(2**32) / 100 + 400.0] * 2
    link.run(20)
    assert link.told(EventKind.RESTARTED) == []


def test_three_misses_and_three_minutes_make_silence(watch: Build) -> None:
    link = watch().run(10)
    link.answers[1] = False
    link.run(2.5)
    assert link.told(EventKind.NO_ANSWER)
    assert link.finding(FindingKind.NO_ANSWER) is None
    link.run(1)
    assert link.finding(FindingKind.NO_ANSWER).severity is Severity.WARNING
    link.answers[1] = True
    link.run(1)
    assert link.finding(FindingKind.NO_ANSWER) is None
    assert link.told(EventKind.ANSWERS_AGAIN)


def test_silence_behind_the_link_that_is_down_is_its_consequence(watch: Build) -> None:
    link = watch().run(10)
    link.answers[1] = False
    link.up[0] = False
    link.dark[0] = True
    link.run(10)
    silent = link.finding(FindingKind.NO_ANSWER)
    assert (silent.cause, silent.confidence) == (
        Cause.BEHIND_A_LINK_THAT_IS_DOWN,
        Confidence.CERTAIN,
    )
    assert silent.severity is Severity.NOTE
    down = link.finding(FindingKind.LINK_DOWN)
    assert down.confidence is Confidence.CANNOT_TELL
    assert Cause.FAR_END_OFF_OR_RESTARTED in down.alternatives


def test_an_outage_is_revised_when_the_far_end_says_that_it_was_off(watch: Build) -> None:
    link = watch().run(10)
    link.answers[1], link.up[0], link.dark[0] = False, False, True
    link.run(30)
    link.boot_s[1] = link.time_s - 60.0
    link.answers[1], link.up[0], link.dark[0] = True, True, False
    link.run(5)
    (outage,) = link.verdict.outages
    assert (outage.cause, outage.revised) == (Cause.FAR_END_OFF_OR_RESTARTED, True)


def test_an_outage_is_the_cables_when_the_far_end_ran_all_the_time(watch: Build) -> None:
    link = watch().run(10)
    link.answers[1], link.up[0], link.dark[0] = False, False, True
    link.run(30)
    link.answers[1], link.up[0], link.dark[0] = True, True, False
    link.run(5)
    (outage,) = link.verdict.outages
    assert (outage.cause, outage.revised) == (Cause.CABLE, True)


def test_one_dark_reading_on_a_link_that_stays_up_is_no_lost_light(watch: Build) -> None:
    link = watch().run(10)
    link.dark[1] = True
    link.run(0.5)
    link.dark[1] = False
    link.run(5)
    assert link.told(EventKind.LIGHT_LOST) == []


def test_light_that_stays_away_is_lost_and_the_strand_is_blamed(watch: Build) -> None:
    link = watch().run(10)
    link.dark[1], link.up = True, [True, False]
    link.run(3)
    lost = link.finding(FindingKind.LIGHT_LOST)
    assert (lost.direction, lost.cause, lost.confidence) == ("ab", Cause.STRAND, Confidence.CERTAIN)


def test_a_port_shut_by_a_person_is_said_to_be(watch: Build) -> None:
    link = watch().run(10)
    link.admin[0], link.up = AdminStatus.DOWN, [False, False]
    link.run(3)
    assert link.finding(FindingKind.LINK_DOWN).cause is Cause.SWITCHED_OFF_BY_A_PERSON
    assert len(link.told(EventKind.PORT_OFF)) == 1


def test_another_module_breaks_the_baseline_of_both_directions(watch: Build) -> None:
    link = watch().run(90)
    assert link.verdict.ab.baseline is not None
    link.module[1] = "three"
    link.loss[0] = 5.0
    link.run(10)
    assert len(link.told(EventKind.MODULE_CHANGED)) == 1
    assert len(link.told(EventKind.BASELINE_BROKEN)) == 2
    assert link.verdict.ab.added_loss is None
    link.run(90)
    assert abs(link.verdict.ab.baseline.loss.value - 5.0) < 0.02


def test_a_pair_not_crossed_shows_from_the_first_day(watch: Build) -> None:
    link = watch()
    link.dark, link.up = [True, True], [False, False]
    link.run(30)
    found = link.finding(FindingKind.PAIR_NOT_CROSSED)
    assert (found.cause, found.confidence) == (Cause.PAIR_NOT_CROSSED, Confidence.LIKELY)
