"""Work on a link from start to acceptance, decision by decision."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from tests.strandkeeper.jobs.prove_samples import (
    NOW_MS,
    SHORE,
    asked,
    known,
    link,
    readings,
    settings,
)

from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.prove import Ruling
from strandkeeper.jobs.prove_rework import Review, Seen, review
from strandkeeper.jobs.prove_rule import rule
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.ledger import Strand, StrandUse
from strandkeeper.model.mark import MarkKind
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import EndRow
from strandkeeper.model.rework import CheckKind, Outcome, Rework, Worth
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    EndState,
    LinkVerdict,
)
from strandkeeper.optics.units import Db

STRAND = Strand(
    cable="shore", number=1, label="blue", use=StrandUse.IN_USE, link=SHORE, direction=Direction.AB
)
VERDICT = LinkVerdict(
    link=SHORE,
    at_ms=NOW_MS,
    a=EndState(end=End.A),
    b=EndState(end=End.B),
    ab=DirectionVerdict(
        direction=Direction.AB,
        baseline=Baseline(loss=Db(2.0), spread=Db(0.05), since_ms=0, firm=True),
    ),
    ba=DirectionVerdict(direction=Direction.BA),
    up=True,
)
HOUR_MS = 3_600_000
DAY_S = 86_400


def started(rows: Sequence[EndRow], **payload: object) -> Rework:
    before = known(rows=rows, strands=[STRAND], verdict=VERDICT)
    ruling = rule(
        asked(EntryKind.REWORK_START, 5, link="shore", what="new plug", **payload), before, NOW_MS
    )
    assert ruling.refusal == ""
    (work,) = ruling.changes.reworks
    return work


def finished(work: Rework, *, ago_s: float = 0, **payload: object) -> Rework:
    ruling = rule(
        asked(EntryKind.REWORK_FINISH, 6, link="shore", **payload),
        known(works=[work], strands=[STRAND]),
        NOW_MS,
    )
    assert ruling.refusal == ""
    done = ruling.changes.reworks[-1]
    return replace(
        done,
        started_ms=NOW_MS - HOUR_MS - round(ago_s * 1000),
        finished_ms=NOW_MS - round(ago_s * 1000),
    )


def reviewed(work: Rework, rows: Sequence[EndRow], **more: Any) -> Review:
    facts = link_facts(link(), settings(link()))
    seen = Seen(**{"rows": rows, "flaps": 0, "up": True, **more})
    return review(work, facts, seen, NOW_MS)


BAD = readings(-12.5, from_s=600, to_s=0)  # loses 6.5 dB
GOOD = readings(-8.1, from_s=120, to_s=0, octets=1_000_000)  # loses 2.1 dB


def test_work_begins_with_what_the_link_is_like_and_holds_its_alerts_two_hours() -> None:
    before = known(rows=BAD, strands=[STRAND], verdict=VERDICT)
    stored = asked(
        EntryKind.REWORK_START, 5, link="shore", what="new plug", direction="ab", end="B"
    )
    ruling = rule(stored, before, NOW_MS)
    (work,) = ruling.changes.reworks
    assert (work.id, work.cable, work.strand, work.end) == (5, "shore", 1, End.B)
    level = work.reports[Direction.AB].before.level
    assert level is not None
    assert level.value == pytest.approx(6.5)
    assert set(work.reports) == {Direction.AB}
    assert work.old_baseline[Direction.AB].value == 2.0
    assert ruling.quiet is not None
    assert ruling.quiet.until_ms == NOW_MS + 2 * HOUR_MS


def test_a_jump_a_few_minutes_ago_is_what_it_was_like_before() -> None:
    rows = [*readings(-8.1, from_s=590, to_s=80), *readings(-12.5, from_s=70, to_s=0)]
    before = started(rows, direction="ab").reports[Direction.AB].before
    assert before.level is not None
    assert before.level.value == pytest.approx(6.5)


def test_without_enough_in_ten_minutes_the_hour_before_is_taken() -> None:
    work = started(readings(-12.5, from_s=3000, to_s=1200))
    assert work.reports[Direction.AB].before.n > 100


@pytest.mark.parametrize(
    ("payload", "words"),
    [
        ({}, "say what will be done"),
        ({"what": "x", "strand": 9, "cable": "shore"}, "strand 9 of cable 'shore' is not in the"),
        ({"what": "x", "direction": "up"}, "there is no direction 'up': write 'ab' or 'ba'"),
        ({"what": "x", "matings": -1}, "matings is -1"),
    ],
)
def test_work_that_is_not_told_well_is_refused(payload: dict[str, object], words: str) -> None:
    stored = asked(EntryKind.REWORK_START, link="shore", **payload)
    assert rule(stored, known(), NOW_MS).refusal.startswith(words)


def test_two_pieces_of_work_at_once_and_an_end_without_a_begin_are_refused() -> None:
    work = started(BAD)
    stored = asked(EntryKind.REWORK_START, 9, link="shore", what="again")
    assert rule(stored, known(works=[work]), NOW_MS).refusal.startswith(
        "work on 'shore' has been open since before: new plug"
    )
    ended = rule(asked(EntryKind.REWORK_FINISH, link="shore"), known(), NOW_MS)
    assert ended.refusal == "no work on 'shore' is open"


def test_the_end_lets_alerts_speak_at_once_and_counts_the_plugs_made() -> None:
    work = started(BAD, direction="ab", end="B")
    ruling: Ruling = rule(
        asked(EntryKind.REWORK_FINISH, 6, link="shore", new_plugs=2, note="cold hands"),
        known(works=[work], strands=[STRAND]),
        NOW_MS,
    )
    assert ruling.quiet is not None
    assert ruling.quiet.until_ms == NOW_MS
    (strand,) = ruling.changes.strands
    assert (strand.ends[End.A].attempts, strand.ends[End.B].attempts) == (0, 2)
    assert ruling.changes.reworks[0].note == "cold hands"


def test_better_work_renews_the_baseline_while_bits_are_pending() -> None:
    work = finished(started(BAD, direction="ab"), ago_s=125)
    result = reviewed(work, [*BAD[:2], *GOOD])
    report = result.work.reports[Direction.AB]
    assert report.verdict.worth is Worth.BETTER
    assert report.verdict.provisional
    assert report.verdict.change is not None
    assert report.verdict.change.value == pytest.approx(-4.4)
    # 13 rows since the end; the first marks where the counters stood; ten line bits an octet
    assert report.counted.bits == 12 * 1_000_000 * 10
    outcomes = {c.kind: c.outcome for c in report.checks}
    assert outcomes == {
        CheckKind.LOSS_IN_BUDGET: Outcome.FAILED,
        CheckKind.LOSS_AS_BEFORE: Outcome.PASSED,
        CheckKind.MARGIN: Outcome.PASSED,
        CheckKind.NO_FLAP: Outcome.PASSED,
        CheckKind.BITS_STAGE: Outcome.PENDING,
        CheckKind.BITS: Outcome.PENDING,
    }
    assert result.mark is None  # 2.1 dB is more than the 1.82 dB of the plan
    within = reviewed(work, readings(-7.7, from_s=120, to_s=0))
    assert within.mark is not None
    assert (within.mark.kind, within.mark.direction) == (MarkKind.REWORK_FINISH, Direction.AB)
    assert within.work.baseline_ms == NOW_MS
    assert reviewed(within.work, readings(-7.7, from_s=120, to_s=0)).mark is None


def test_worse_work_keeps_the_old_baseline_speaking() -> None:
    work = finished(started(readings(-7.7, from_s=600, to_s=0), direction="ab"), ago_s=125)
    result = reviewed(work, readings(-9.5, from_s=120, to_s=0))
    assert result.work.reports[Direction.AB].verdict.worth is Worth.WORSE
    assert result.mark is None


def test_work_is_accepted_to_the_bit_and_done_with_after_a_night() -> None:
    # 1e-12 at 95 %: 2.995732273553991e12 line bits = 299573227355.4 octets
    def rows(octets: int) -> list[EndRow]:
        first, *rest = [r for r in readings(-7.7, from_s=110, to_s=0, octets=0) if r.end is End.B]
        last = replace(rest[-1], deltas=replace(rest[-1].deltas, in_octets=octets))
        sent = [r for r in readings(-7.7, from_s=110, to_s=0) if r.end is End.A]
        merged = [first, *rest[:-1], last, *sent]
        return sorted(merged, key=lambda r: (r.time_ms, r.end))

    work = finished(started(BAD, direction="ab"), ago_s=115)
    short = reviewed(work, rows(299_573_227_355))
    assert short.work.accepted_ms is None
    enough = reviewed(work, rows(299_573_227_356))
    assert enough.work.accepted_ms == NOW_MS
    assert enough.work.closed_ms is None
    later = replace(enough.work, finished_ms=NOW_MS - 2 * DAY_S * 1000)
    assert reviewed(later, rows(0)).work.closed_ms == NOW_MS


def test_a_new_link_has_no_before_and_is_accepted_on_its_own() -> None:
    ruling = rule(asked(EntryKind.COMMISSION, 8, link="shore"), known(), NOW_MS)
    (work,) = ruling.changes.reworks
    assert (work.commissioning, work.finished_ms) == (True, NOW_MS)
    work = replace(work, started_ms=NOW_MS - 125_000, finished_ms=NOW_MS - 125_000)
    result = reviewed(work, readings(-7.7, rx_a=-8.0, from_s=120, to_s=0))
    assert result.mark is not None
    kinds = {c.kind: c.outcome for c in result.work.reports[Direction.BA].checks}
    assert kinds[CheckKind.LOSS_AS_BEFORE] is Outcome.UNKNOWN
    assert kinds[CheckKind.LOSS_IN_BUDGET] is Outcome.PASSED


def test_new_work_ends_the_following_of_earlier_work() -> None:
    old = finished(started(BAD))
    ruling = rule(
        asked(EntryKind.REWORK_START, 9, link="shore", what="again"), known(works=[old]), NOW_MS
    )
    before, after = ruling.changes.reworks
    assert (before.id, before.closed_ms) == (5, NOW_MS)
    assert (after.id, after.closed_ms) == (9, None)
