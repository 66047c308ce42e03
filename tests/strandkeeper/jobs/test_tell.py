"""From what is true to what is told: targets, quiet hours, silences, suppression, restarts."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from strandkeeper.alerts.calm import calm_of
from strandkeeper.jobs.tell import Teller
from strandkeeper.jobs.watch_over import ReadingsWatch, watch_was_off
from strandkeeper.model.alert import Alert, AlertState
from strandkeeper.model.finding import Cause, Finding, FindingKind, NextStep, Severity
from strandkeeper.model.link import Link, PortEnd, Thresholds
from strandkeeper.model.message import CommandWay, MessageKind, Outgoing, Target
from strandkeeper.model.names import Direction, End, LinkName, SwitchName
from strandkeeper.model.power import NOT_REPORTED, Measured
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.telling import TellingSettings
from strandkeeper.model.verdict import DirectionVerdict, EndState, Flap, LinkVerdict, Outage
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import open_writer
from strandkeeper.store.last_light import LastLight
from strandkeeper.store.telling import TellingBatch, TellingState

SHORE, JETTY = LinkName("Shore"), LinkName("Jetty")
WAY = CommandWay(command=("/bin/true",))
PHONE = Target(name="phone", way=WAY)
LOG = Target(name="log", way=WAY, quiet=False)
URGENT_ONLY = Target(name="pager", way=WAY, least=Severity.URGENT)
NOON = 12 * 3_600_000 + 86_400_000 * 20_000
NIGHT = NOON + 11 * 3_600_000  # 23:00 UTC
MORNING = NOON + 19 * 3_600_000  # 07:00 UTC


def link(name: LinkName, behind: LinkName | None = None) -> Link:
    return Link(
        name=name,
        a=PortEnd(name="Lab", switch=SwitchName("lab")),
        b=PortEnd(name="Pump house", switch=SwitchName(f"{name}-far")),
        near=End.A,
        behind=behind,
    )


def teller(*targets: Target, state: TellingState | None = None) -> Teller:
    return Teller(
        Settings(
            station="Station",
            switches=(),
            links=(link(SHORE), link(JETTY, behind=SHORE)),
            store=StoreSettings(path="x"),
            thresholds=Thresholds(link_down_tell_s=60, clear_steady_s=600),
            telling=TellingSettings(targets=targets or (PHONE,)),
        ),
        state or TellingState(),
    )


def verdict(name: LinkName, *findings: Finding, up: bool = True) -> LinkVerdict:
    lit = DirectionVerdict(direction=Direction.AB, rx=Measured(Dbm(-12.0)), margin=Db(7.6))
    return LinkVerdict(
        link=name,
        at_ms=0,
        a=EndState(end=End.A, answers=True),
        b=EndState(end=End.B, answers=True),
        ab=lit,
        ba=replace(lit, direction=Direction.BA, margin=Db(9.0)),
        up=up,
        findings=findings,
    )


def finding(
    kind: FindingKind = FindingKind.LINK_DOWN,
    *,
    since_ms: int,
    severity: Severity = Severity.URGENT,
    name: LinkName = SHORE,
    end: End | None = None,
    direction: Direction | None = None,
) -> Finding:
    return Finding(
        link=name,
        kind=kind,
        severity=severity,
        since_ms=since_ms,
        end=end,
        direction=direction,
        cause=Cause.FAR_END_SILENT,
        next_steps=(NextStep.CHECK_FAR_POWER, NextStep.PUSH_HOME),
    )


def down(since_ms: int) -> LinkVerdict:
    return verdict(SHORE, finding(since_ms=since_ms), up=False)


def heard(told: Teller, at_ms: int, *verdicts: LinkVerdict) -> list[Outgoing]:
    return list(told.look(at_ms, 0, verdicts).messages)


def summary(messages: list[Outgoing]) -> list[tuple[str, MessageKind, bool]]:
    return [(m.target, m.message.kind, m.not_before_ms > m.message.time_ms) for m in messages]


def test_an_outage_by_day_is_told_once_to_everyone_and_once_its_end() -> None:
    told = teller(PHONE, LOG, URGENT_ONLY)
    assert heard(told, NOON, down(NOON)) == []
    first = heard(told, NOON + 60_000, down(NOON))
    assert summary(first) == [(t, MessageKind.RAISED, False) for t in ("phone", "log", "pager")]
    assert heard(told, NOON + 400_000, down(NOON)) == []  # it lasts, and everyone knows
    assert heard(told, NOON + 500_000, verdict(SHORE)) == []
    last = heard(told, NOON + 1_100_000, verdict(SHORE))
    assert summary(last) == [(t, MessageKind.CLEARED, False) for t in ("phone", "log", "pager")]
    assert len({m.message.key for m in (*first, *last)}) == 2


def test_the_end_of_an_outage_tells_the_cause_as_it_was_found_afterwards() -> None:
    told = teller()
    heard(told, NOON, down(NOON))
    heard(told, NOON + 60_000, down(NOON))
    outage = Outage(
        from_ms=NOON, to_ms=NOON + 200_000, cause=Cause.FAR_END_OFF_OR_RESTARTED, revised=True
    )
    after = replace(verdict(SHORE), outages=(outage,))
    heard(told, NOON + 210_000, after)
    (message,) = heard(told, NOON + 810_000, after)
    assert message.message.title == "Over: Shore: the link is down"
    assert "Likely: Pump house was off or restarted" in message.message.text


def test_by_night_a_short_outage_waits_and_a_lasting_one_wakes() -> None:
    told = teller(PHONE, LOG)
    heard(told, NIGHT, down(NIGHT))
    short = heard(told, NIGHT + 60_000, down(NIGHT))
    assert summary(short) == [
        ("phone", MessageKind.RAISED, True),
        ("log", MessageKind.RAISED, False),
    ]
    assert short[0].not_before_ms == MORNING
    lasting = heard(told, NIGHT + 300_000, down(NIGHT))
    assert summary(lasting) == [("phone", MessageKind.LASTING, False)]
    assert lasting[0].message.title == "Still: Shore: the link is down"


def test_by_night_a_warning_waits_for_the_morning_and_speaks_of_the_day() -> None:
    told = teller(PHONE, LOG)
    loss = finding(
        FindingKind.ADDED_LOSS, since_ms=NIGHT, severity=Severity.WARNING, direction=Direction.AB
    )
    phone, log = heard(told, NIGHT, verdict(SHORE, loss))
    assert (phone.not_before_ms, log.not_before_ms > log.message.time_ms) == (MORNING, False)
    assert "Nothing to do tonight; tomorrow" in log.message.text
    assert "In the next days" in phone.message.text


def test_a_target_hears_from_its_severity_on_and_of_the_end_of_what_it_heard() -> None:
    told = teller(URGENT_ONLY)
    warm = finding(FindingKind.MODULE_CHANGED, since_ms=NOON, severity=Severity.WARNING)
    assert heard(told, NOON, verdict(SHORE, warm)) == []
    assert heard(told, NOON + 1000, verdict(SHORE, warm)) == []


def test_what_follows_from_an_outage_is_not_told() -> None:
    told = teller()
    lost = finding(FindingKind.LIGHT_LOST, since_ms=NOON, direction=Direction.AB)
    quiet = finding(FindingKind.NO_ANSWER, since_ms=NOON, severity=Severity.WARNING, end=End.B)
    beyond = replace(quiet, link=JETTY)
    ill = verdict(SHORE, finding(since_ms=NOON), lost, quiet, up=False)
    for at in range(NOON, NOON + 900_000, 30_000):
        for message in heard(told, at, ill, verdict(JETTY, beyond)):
            assert message.message.facts["finding"]["kind"] == "link-down"  # type: ignore[index]


def test_a_margin_that_cannot_be_seen_during_an_outage_is_not_taken_for_mended() -> None:
    told = teller()
    low = finding(
        FindingKind.MARGIN_LOW, since_ms=NOON, severity=Severity.WARNING, direction=Direction.AB
    )
    heard(told, NOON, verdict(SHORE, low))
    assert len(heard(told, NOON + 120_000, verdict(SHORE, low))) == 1
    for at in range(NOON + 130_000, NOON + 9_000_000, 60_000):
        said = [m.message.title for m in heard(told, at, down(NOON + 130_000))]
        assert not [title for title in said if "spare" in title], said


def test_a_finding_before_the_first_verdict_of_a_start_is_left_alone() -> None:
    told = teller()
    heard(told, NOON, down(NOON))
    heard(told, NOON + 60_000, down(NOON))
    (alert,) = told.alerts
    again = teller(state=TellingState(alerts=(alert,), last_number=1))
    assert heard(again, NOON + 4_000_000) == []
    assert heard(again, NOON + 4_001_000, down(NOON)) == [] or again.alerts[0].lasting
    assert [a.number for a in again.alerts] == [1]


def test_an_acknowledged_alert_is_quiet_until_its_end() -> None:
    told = teller(LOG)
    heard(told, NOON, down(NOON))
    heard(told, NOON + 60_000, down(NOON))
    assert not isinstance(told.acknowledge(1, "anna", NOON + 70_000), str)
    assert told.alerts[0].who == "anna"
    assert heard(told, NOON + 400_000, down(NOON)) == []
    assert told.acknowledge(9, "anna", NOON) == "there is no open alert 9"


def test_a_pending_alert_cannot_be_acknowledged_and_the_answer_says_why() -> None:
    told = teller()
    heard(told, NOON, down(NOON))
    assert told.acknowledge(1, "anna", NOON) == "alert 1 is pending: it cannot be acknowledged"


def test_a_muted_alert_speaks_again_when_the_mute_is_over() -> None:
    told = teller()
    heard(told, NOON, down(NOON))
    heard(told, NOON + 60_000, down(NOON))
    told.mute(1, "anna", NOON + 70_000, NOON + 3_600_000)
    assert heard(told, NOON + 3_500_000, down(NOON)) == []
    (message,) = heard(told, NOON + 3_600_000, down(NOON))
    assert message.message.kind is MessageKind.RAISED


def test_of_a_silenced_link_one_summary_is_told_afterwards() -> None:
    told = teller()
    told.silence(SHORE, "anna", NOON, NOON + 7_200_000, "rework")
    heard(told, NOON, down(NOON))
    assert heard(told, NOON + 60_000, down(NOON)) == []
    assert told.alerts[0].state is AlertState.MUTED
    assert heard(told, NOON + 100_000, verdict(SHORE)) == []
    assert heard(told, NOON + 800_000, verdict(SHORE)) == []
    flicker = finding(
        FindingKind.FLICKER, since_ms=NOON, severity=Severity.WARNING, direction=Direction.AB
    )
    for at in (900_000, 901_000, 902_000):
        assert heard(told, NOON + at, verdict(SHORE, flicker)) == []
    told.speak(SHORE, NOON + 1_000_000)
    (message,) = heard(told, NOON + 1_001_000, verdict(SHORE, flicker))
    assert message.message.kind is MessageKind.AFTER_SILENCE
    assert message.message.title == "Shore: the work on the link is over; 2 alerts meanwhile"
    assert "- over again: The link is down" in message.message.text
    assert "- still so: Lab → Pump house: the light is flickering" in message.message.text
    assert told.silences == ()


def test_flapping_is_held_back_and_shown_with_its_release() -> None:
    told = teller()
    flaps = tuple(
        Flap(
            from_ms=NOON + n * 10_000, to_ms=NOON + n * 10_000 + 2_000, seen_by=(), uncertainty_s=0
        )
        for n in range(5)
    )
    ill = replace(down(NOON + 60_000), flaps=flaps)
    heard(told, NOON + 60_000, ill)
    assert heard(told, NOON + 130_000, ill) == []
    calm = calm_of(replace(ill, downs_14d=40), Thresholds(), NOON + 130_000)
    assert calm.penalty.held_back
    assert calm.downs_14d == 40
    assert calm.released_in_s is not None
    assert heard(told, NOON + 360_000, ill)[0].message.kind is MessageKind.RAISED


def test_an_alert_of_a_link_that_is_no_longer_configured_ends() -> None:
    lost = finding(since_ms=NOON, name=LinkName("Gone"))
    alert = Alert(
        number=4,
        finding=lost,
        state=AlertState.FIRING,
        began_ms=NOON,
        changed_ms=NOON,
        held_from_ms=NOON,
        told=1,
    )
    told = teller(state=TellingState(alerts=(alert,), last_number=4))
    heard(told, NOON, verdict(SHORE))
    heard(told, NOON + 600_000, verdict(SHORE))
    assert told.alerts == ()


def lit(read_ms: int) -> LinkVerdict:
    """Both ends gave a light reading at that time."""
    well = verdict(SHORE)
    return replace(
        well, ab=replace(well.ab, optics_ms=read_ms), ba=replace(well.ba, optics_ms=read_ms)
    )


def blind(read_ms: int, *, answers: bool = True) -> LinkVerdict:
    """B gives none any more; A's is as old as it may be."""
    well = lit(read_ms)
    return replace(well, ab=replace(well.ab, rx=NOT_REPORTED), b=replace(well.b, answers=answers))


def looked(
    watch: ReadingsWatch, from_ms: int, seconds: int, *, answers: bool = True
) -> list[Finding]:
    """What the last of so many looks finds, a second apart; A goes on giving readings."""
    for at_ms in range(from_ms, from_ms + 1000 * seconds + 1, 1000):
        ill = blind(at_ms, answers=answers)
        found = watch.look([replace(ill, ab=replace(ill.ab, optics_ms=from_ms))], at_ms)
    return found


def test_an_end_that_stops_giving_readings_is_told_and_one_that_never_gave_any_is_not() -> None:
    watch = ReadingsWatch(600)
    assert watch.look([lit(NOON)], NOON) == []
    assert looked(watch, NOON, 599) == []
    (found,) = looked(watch, NOON + 600_000, 1)
    assert (found.kind, found.end, found.since_ms) == (FindingKind.NO_READINGS, End.B, NOON)
    assert looked(ReadingsWatch(600), NOON, 700) == []


def test_a_module_whose_figures_no_longer_come_is_told_though_its_last_reading_stands() -> None:
    """The table of its figures is gone: nothing says `not reported`, the reading only grows old."""
    watch = ReadingsWatch(600)
    for at_ms in range(NOON, NOON + 601_000, 1000):
        found = watch.look([replace(lit(NOON), ba=replace(lit(at_ms).ba))], at_ms)
    assert [(f.end, f.since_ms) for f in found] == [(End.B, NOON)]


def test_missing_readings_are_counted_on_after_a_restart_and_not_while_nobody_watched() -> None:
    """6 of 10 minutes before the restart, three hours off: 4 more are needed, not a moment less."""
    known = {(SHORE, End.B): LastLight(read_ms=NOON, heard_ms=NOON + 360_000)}
    watch, again = ReadingsWatch(600, known), NOON + 3 * 3_600_000
    assert looked(watch, again, 239) == []
    (found,) = looked(watch, again + 240_000, 1)
    assert (found.end, found.since_ms) == (End.B, NOON)


def test_a_reading_as_old_as_the_one_on_record_is_no_new_one() -> None:
    """After a start the verdict of before stands until the first poll."""
    known = {(SHORE, End.B): LastLight(read_ms=NOON, heard_ms=NOON + 600_000)}
    stale = replace(lit(NOON), ba=replace(lit(NOON + 900_000).ba))
    (found,) = ReadingsWatch(600, known).look([stale], NOON + 900_000)
    assert found.end is End.B


def test_while_a_switch_is_silent_its_missing_readings_are_not_counted() -> None:
    watch = ReadingsWatch(600)
    watch.look([lit(NOON)], NOON)
    assert looked(watch, NOON, 3600, answers=False) == []
    assert looked(watch, NOON + 3_601_000, 590) == []
    assert looked(watch, NOON + 3_601_000 + 591_000, 10) != []


def restarted(path: Path, *batches: TellingBatch) -> Teller:
    """A record on disk, and a watch that was started anew on it."""
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    for batch in batches:
        assert telling.write(batch).written
    writer.close()
    writer = open_writer(path, reserve=False)
    _, state = writer.telling()
    writer.close()
    return teller(state=state)


def test_the_summary_after_a_silence_knows_what_began_and_ended_before_a_restart(
    tmp_path: Path,
) -> None:
    told = teller()
    batches = [told.silence(SHORE, "anna", NOON, NOON + 7_200_000, "rework")]
    looks = [(0, down(NOON)), (60_000, down(NOON)), (100_000, verdict(SHORE))]
    looks += [(700_000, verdict(SHORE)), (701_000, verdict(SHORE))]
    batches += [told.look(NOON + at, 0, [v]) for at, v in looks]
    assert told.alerts == ()
    again = restarted(tmp_path / "record.db", *batches)
    again.speak(SHORE, NOON + 1_000_000)
    (message,) = heard(again, NOON + 1_001_000, verdict(SHORE))
    assert message.message.title == "Shore: the work on the link is over; 1 alert meanwhile"
    assert "- over again: The link is down" in message.message.text


def test_what_ended_before_a_silence_is_not_in_its_summary(tmp_path: Path) -> None:
    told = teller()
    looks = [(0, down(NOON)), (60_000, down(NOON)), (100_000, verdict(SHORE))]
    batches = [told.silence(SHORE, "anna", NOON, NOON + 50_000)]
    batches += [told.look(NOON + at, 0, [v]) for at, v in looks]
    batches += [told.look(NOON + 800_000, 0, [verdict(SHORE)])]
    batches += [told.silence(SHORE, "ben", NOON + 900_000, NOON + 1_000_000)]
    again = restarted(tmp_path / "record.db", *batches)
    assert heard(again, NOON + 1_001_000, verdict(SHORE)) == []


def test_a_silence_given_another_end_stays_one_and_what_it_muted_stays_muted() -> None:
    told = teller()
    told.silence(SHORE, "anna", NOON, NOON + 600_000)
    heard(told, NOON, down(NOON))
    heard(told, NOON + 60_000, down(NOON))
    told.silence(SHORE, "anna", NOON + 500_000, NOON + 7_200_000)
    assert heard(told, NOON + 700_000, down(NOON)) == []
    (message,) = heard(told, NOON + 7_200_000, down(NOON))
    assert message.message.kind is MessageKind.AFTER_SILENCE
    assert "Silenced from 2024-10-04 12:00 to 2024-10-04 14:00 by anna." in message.message.text


def test_when_the_silence_of_open_work_runs_out_it_is_asked_what_became_of_the_work() -> None:
    told = teller()
    told.silence(SHORE, "anna", NOON, NOON + 7_200_000, "rework")
    assert heard(told, NOON + 7_100_000, verdict(SHORE)) == []
    (message,) = heard(told, NOON + 7_200_000, verdict(SHORE))
    assert message.message.title == "Shore: is the work on the link done? 0 alerts meanwhile"
    assert "If it is done, finish it (rework finish)" in message.message.text


@pytest.mark.parametrize(("off_s", "is_told"), [(899, False), (900, True)])
def test_a_watch_that_was_off_for_long_says_so(off_s: int, is_told: bool) -> None:
    found = watch_was_off(NOON, NOON + off_s * 1000, 900)
    assert (found is not None) is is_told
    if found is not None:
        told = teller()
        at_ms = NOON + off_s * 1000
        (message,) = told.look(at_ms, 0, [], [found]).messages
        assert told.look(at_ms + 1000, 0, [], []).messages == []
        assert told.alerts == ()
        assert message.message.title == "Station: The watch itself was off"


def test_a_message_fits_a_phone_and_says_everything_in_its_order() -> None:
    told = teller()
    heard(told, NOON, down(NOON))
    (message,) = heard(told, NOON + 60_000, down(NOON))
    lines = message.message.text.splitlines()
    assert lines[0] == message.message.title == "Shore: The link is down"
    assert lines[1] == "Now: look at the far power first."
    assert lines[2].startswith("Since 2024-10-04 12:00 (1 minute).")
    assert lines[3].startswith("Cannot tell: ")
    assert lines[4:6] == ["Next:", "1. Look at the power of Pump house first: is its switch on?"]
    assert lines[-1].startswith("Caution: ")
    assert len(lines[0]) < 80
