"""Work on a link: begun, ended, and followed until nothing more can be learned of it.

Start:       {"link", "what", "direction", "end", "cable", "strand", "why", "matings"}
Finish:      {"link", "note", "matings", "new_plugs"}
Commission:  {"link", "matings"}: a new link has no before; acceptance begins at once
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from strandkeeper.analysis.acceptance import (
    Demands,
    acceptance_checks,
    count_bits,
    outcome_of,
)
from strandkeeper.analysis.rework import cold_night, judge_work, side
from strandkeeper.errors import InputError
from strandkeeper.jobs.payload import Fields
from strandkeeper.jobs.prove import Known, Quiet, Ruling, link_of, strand_of
from strandkeeper.model.entry import StoredEntry
from strandkeeper.model.ledger import Strand
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.mark import Mark, MarkKind
from strandkeeper.model.meter_reading import Bench
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.reading import EndRow
from strandkeeper.model.rework import (
    CheckKind,
    DirectionReport,
    Outcome,
    Rework,
    ReworkVerdict,
    Side,
    Worth,
)
from strandkeeper.model.verdict import Interval, LinkVerdict
from strandkeeper.store.changes import Changes

__all__ = [
    "AFTER_MS",
    "Review",
    "Seen",
    "begun_anew",
    "commission",
    "finish",
    "review",
    "start",
]

BEFORE_MS: Final = (60_000, 150_000, 600_000, 3_600_000)
AFTER_MS: Final = 15 * 86_400_000
QUIET_MS: Final = 2 * 3_600_000
GIVEN_UP_MS: Final = 90 * 86_400_000
_FEW: Final = 5
_BITS: Final = (CheckKind.BITS, CheckKind.BITS_STAGE)


def start(stored: StoredEntry, known: Known, now_ms: int) -> Ruling:
    """Begin work: note what the link is like now and hold its alerts. Raises InputError."""
    fields = Fields(
        stored.entry.payload,
        ("link", "what", "direction", "end", "cable", "strand", "why", "matings"),
    )
    link = link_of(stored, known)
    if known.open_work is not None:
        raise InputError(
            f"work on {link.name!r} has been open since before: {known.open_work.what}",
            hint="finish it first",
        )
    direction = fields.direction()
    strand = strand_of(known, fields.text("cable"), fields.whole("strand"), link.name, direction)
    work = Rework(
        id=stored.id,
        link=link.name,
        what=fields.needed(fields.text("what"), "say what will be done"),
        who=stored.entry.who,
        started_ms=now_ms,
        direction=direction,
        end=fields.end(),
        cable=None if strand is None else strand.cable,
        strand=None if strand is None else strand.number,
        why=fields.text("why"),
        matings=_matings(fields, 1),
        old_baseline=_old_baseline(known.verdict),
        coldest_before_c=dict(known.coldest_c),
        swing_before_c=dict(known.swing_c),
    )
    before = {way: _before(known.rows, way, now_ms) for way in work.directions}
    work = replace(work, reports={way: _unjudged(s, now_ms) for way, s in before.items()})
    return Ruling(
        changes=Changes(reworks=[*_superseded(known, now_ms), work]),
        quiet=Quiet(link=link.name, who=stored.entry.who, until_ms=now_ms + QUIET_MS),
    )


def _matings(fields: Fields, default: int) -> int:
    count = fields.whole("matings", least=0, most=20)
    return default if count is None else count


def _old_baseline(verdict: LinkVerdict | None) -> dict[Direction, Interval]:
    found: dict[Direction, Interval] = {}
    for way in Direction if verdict is not None else ():
        note = None if verdict is None else verdict.direction(way).baseline
        if note is not None:
            loss, half = note.loss.value, 1.96 * note.spread.value
            found[way] = Interval(value=loss, low=loss - half, high=loss + half)
    return found


def _before(rows: Sequence[EndRow], way: Direction, now_ms: int) -> Side:
    """The level as it was last, over the shortest span with a few readings; restlessness over more.

    A jump a few minutes ago is what the work is for: the level before it must not count.
    """
    spans = [side(rows, way, from_ms=now_ms - span, to_ms=now_ms) for span in BEFORE_MS]
    found = next((s for s in spans if s.n + s.dark >= _FEW), spans[-1])
    longer = next((s for s in spans[-2:] if s.n >= _FEW), found)
    return replace(found, spread=longer.spread, peak=longer.peak)


def _unjudged(before: Side, now_ms: int) -> DirectionReport:
    after = Side(from_ms=now_ms, to_ms=now_ms, by_loss=before.by_loss)
    return DirectionReport(
        before=before, after=after, verdict=ReworkVerdict(worth=Worth.NOT_YET_KNOWN)
    )


def _superseded(known: Known, now_ms: int) -> list[Rework]:
    """Earlier work that was still followed: what is measured from now on is not its doing."""
    return [replace(w, closed_ms=now_ms) for w in known.works if not w.open]


def finish(stored: StoredEntry, known: Known, now_ms: int) -> Ruling:
    """End work: alerts speak again at once, acceptance begins. Raises InputError."""
    fields = Fields(stored.entry.payload, ("link", "note", "matings", "new_plugs"))
    link = link_of(stored, known)
    work = known.open_work
    if work is None:
        raise InputError(f"no work on {link.name!r} is open")
    done = replace(
        work,
        finished_ms=now_ms,
        note=fields.text("note"),
        matings=_matings(fields, work.matings),
    )
    strands = _with_attempts(known, done, fields.whole("new_plugs", most=99) or 0)
    return Ruling(
        changes=Changes(reworks=[done], strands=strands),
        quiet=Quiet(link=link.name, who=stored.entry.who, until_ms=now_ms),
    )


def _with_attempts(known: Known, work: Rework, plugs: int) -> list[Strand]:
    if not plugs:
        return []
    if work.end is None or work.strand is None:
        raise InputError(
            "new plugs are counted by strand and end, and this work names none",
            hint="enter the attempts in the ledger instead",
        )
    for strand in known.strands:
        if (strand.cable, strand.number) == (work.cable, work.strand):
            ends = list(strand.ends)
            ends[work.end] = replace(ends[work.end], attempts=ends[work.end].attempts + plugs)
            return [replace(strand, ends=(ends[0], ends[1]))]
    return []


def commission(stored: StoredEntry, known: Known, now_ms: int) -> Ruling:
    """A new link is handed over: acceptance begins, without a before. Raises InputError."""
    fields = Fields(stored.entry.payload, ("link", "matings", "note"))
    link = link_of(stored, known)
    if known.open_work is not None:
        raise InputError(f"work on {link.name!r} is open", hint="finish it first")
    nothing = Side(from_ms=now_ms, to_ms=now_ms)
    work = Rework(
        id=stored.id,
        link=link.name,
        what="commissioning",
        who=stored.entry.who,
        started_ms=now_ms,
        finished_ms=now_ms,
        commissioning=True,
        matings=_matings(fields, link.matings),
        note=fields.text("note"),
        reports={way: _unjudged(nothing, now_ms) for way in Direction},
    )
    return Ruling(changes=Changes(reworks=[*_superseded(known, now_ms), work]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What has been recorded of a link since its work ended. `flaps` since then."""

    rows: Sequence[EndRow]
    flaps: int
    up: bool | None
    benches: Sequence[Bench] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """The work as it stands now; `mark` when it is good enough for a new baseline."""

    work: Rework
    mark: Mark | None = None


def review(work: Rework, facts: LinkFacts, seen: Seen, now_ms: int) -> Review:
    """Look again at finished work: verdict, counted bits, acceptance, and whether it is done.

    The baseline is made anew as soon as everything but the bits is in order and nothing is worse:
    until then the old one goes on speaking.
    """
    if work.finished_ms is None:
        return Review(work=work)
    reports = {way: _look(work, way, facts, seen, now_ms) for way in work.directions}
    checks = [c for r in reports.values() for c in r.checks]
    outcome = outcome_of(checks)
    work = replace(work, reports=reports)
    mark = None
    if work.baseline_ms is None and _good(work, reports):
        work = replace(work, baseline_ms=now_ms)
        mark = begun_anew(work, now_ms)
    if outcome is Outcome.PASSED and work.accepted_ms is None:
        work = replace(work, accepted_ms=now_ms)
    settled = not any(r.verdict.provisional for r in reports.values())
    old = now_ms - (work.finished_ms or 0) >= GIVEN_UP_MS
    if (settled and work.accepted_ms is not None) or old:
        work = replace(work, closed_ms=now_ms)
    return Review(work=work, mark=mark)


def begun_anew(work: Rework, at_ms: int) -> Mark:
    """What good work says to the analysis: a new baseline from here on."""
    return Mark(time_ms=at_ms, kind=MarkKind.REWORK_FINISH, direction=work.direction)


def _good(work: Rework, reports: dict[Direction, DirectionReport]) -> bool:
    checks = [c for r in reports.values() for c in r.checks if c.kind not in _BITS]
    worths = {r.verdict.worth for r in reports.values()}
    known = work.commissioning or not worths & {Worth.WORSE, Worth.NOT_YET_KNOWN}
    return known and outcome_of(checks) is Outcome.PASSED


def _look(
    work: Rework, way: Direction, facts: LinkFacts, seen: Seen, now_ms: int
) -> DirectionReport:
    old, finished = work.reports[way], work.finished_ms or 0
    known = facts.direction(way)
    counted = count_bits(
        old.counted, seen.rows, way, from_ms=finished, line_rate_bd=known.line_rate_bd
    )
    after, verdict = old.after, old.verdict
    if verdict.provisional:
        after = side(seen.rows, way, from_ms=finished, to_ms=now_ms)
        night = cold_night(
            finished,
            after,
            now_ms=now_ms,
            coldest_before_c=work.coldest_before_c.get(way),
            swing_before_c=work.swing_before_c.get(way),
        )
        verdict = judge_work(old.before, after, matings=work.matings, night_passed=night.over)
        verdict = replace(verdict, night=night)
    checks = acceptance_checks(
        _demands(work, way, facts, seen.benches), after, counted, flaps=seen.flaps, up=seen.up
    )
    return DirectionReport(
        before=old.before, after=after, verdict=verdict, counted=counted, checks=checks
    )


def _demands(work: Rework, way: Direction, facts: LinkFacts, benches: Sequence[Bench]) -> Demands:
    known, thresholds = facts.direction(way), facts.thresholds
    bench = next((b.difference for b in benches if _of(b, work.link, way)), None)
    reserve = thresholds.reserve_warn_anchored if known.anchored else thresholds.reserve_warn
    return Demands(
        planned_limit=None if known.planned is None else known.planned.limit,
        bench=bench,
        old=work.old_baseline.get(way),
        matings=work.matings,
        sensitivity=known.limits.sensitivity,
        reserve=reserve,
        ber_objective=known.ber_objective,
    )


def _of(bench: Bench, link: LinkName, way: Direction) -> bool:
    return bench.link == link and bench.direction is way
