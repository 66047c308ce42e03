"""One door to the decisions on what people did at the fibre, and what each may rest on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.jobs.payload import refusal_of
from strandkeeper.jobs.prove import Known, Ruling
from strandkeeper.jobs.prove_ledger import merge
from strandkeeper.jobs.prove_meter import measure, measured_ms
from strandkeeper.jobs.prove_rework import Seen, commission, finish, start
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.link import Link, LinkFacts
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.rework import Rework
from strandkeeper.model.stats import HOUR_S
from strandkeeper.model.verdict import EventKind
from strandkeeper.store import RecordReader, ledger, rework

__all__ = ["look_up", "rule", "seen_since"]

_RECENT_MS: Final = 3_600_000
_WEEK_MS: Final = 7 * 86_400_000
_A_DAY_OF_HOURS: Final = 24
_PAIR_MS: Final = 90_000
_DOWN: Final = (EventKind.LINK_DOWN, EventKind.FLAP_BETWEEN_POLLS)

_RULES: Final[dict[EntryKind, Callable[[StoredEntry, Known, int], Ruling]]] = {
    EntryKind.METER: lambda stored, known, _: measure(stored, known),
    EntryKind.LEDGER: lambda stored, known, _: merge(stored.entry.payload, known),
    EntryKind.REWORK_START: start,
    EntryKind.REWORK_FINISH: finish,
    EntryKind.COMMISSION: commission,
}


def rule(stored: StoredEntry, known: Known, now_ms: int) -> Ruling:
    """Decide on one entry; wrong practice is refused with the reason."""
    try:
        return _RULES[stored.entry.kind](stored, known, now_ms)
    except InputError as error:
        return Ruling(refusal=refusal_of(error))


def look_up(
    record: RecordReader,
    links: Mapping[LinkName, Link],
    facts: Mapping[LinkName, LinkFacts],
    stored: StoredEntry,
    now_ms: int,
) -> Known:
    """Everything that the decision on one entry may rest on, out of the record."""
    name = LinkName(str(stored.entry.payload.get("link", "")))
    known = Known(
        links=links,
        facts=facts,
        cables=record.ask(ledger.cables),
        strands=record.ask(ledger.strands),
    )
    if name not in links:
        return known
    hours = _hours(record, name, now_ms)
    return Known(
        links=links,
        facts=facts,
        cables=known.cables,
        strands=known.strands,
        verdict=record.verdict(name),
        rows=tuple(record.rows(name, *_span(stored, now_ms))),
        works=record.ask(partial(rework.reworks, link=name, unclosed=True)),
        coldest_c={way: min(temps) for way, temps in hours.items()},
        swing_c={way: max(t) - min(t) for way, t in hours.items() if len(t) >= _A_DAY_OF_HOURS},
    )


def _span(stored: StoredEntry, now_ms: int) -> tuple[int, int]:
    """From an hour before it was done to now; of a measurement of earlier on, to a minute after.

    A reading that is entered in the evening rests on what the module said when it was taken.
    """
    done_ms = min(stored.at_ms, now_ms)
    if stored.entry.kind is not EntryKind.METER or "at" not in stored.entry.payload:
        return done_ms - _RECENT_MS, now_ms + 1
    try:
        done_ms = min(done_ms, measured_ms(stored))
    except InputError:  # refused by the rule itself, with the reason
        return done_ms, done_ms
    return done_ms - _RECENT_MS, done_ms + 60_000


def _hours(record: RecordReader, link: LinkName, now_ms: int) -> dict[Direction, list[float]]:
    """The hours of each receiving module in the last week, in °C; none where it tells none."""
    found: dict[Direction, list[float]] = {}
    for way in Direction:
        hours = record.stats(link, way, HOUR_S, now_ms - _WEEK_MS, now_ms)
        temps = [h.receiver_temp_cc / 100 for h in hours if h.receiver_temp_cc is not None]
        if temps:
            found[way] = temps
    return found


def seen_since(record: RecordReader, work: Rework) -> Seen:
    """What the record holds of a link since the work on it ended, as far as it is still needed."""
    finished = work.finished_ms or work.started_ms
    starts = [
        finished if r.verdict.provisional else max(finished, r.counted.through_ms)
        for r in work.reports.values()
    ]
    from_ms = min(starts, default=finished)
    verdict = record.verdict(work.link)
    return Seen(
        rows=tuple(record.rows(work.link, from_ms - _PAIR_MS)),
        flaps=len(record.events(work.link, from_ms=finished, kinds=_DOWN)),
        up=None if verdict is None else verdict.up,
        benches=record.ask(ledger.benches),
    )
