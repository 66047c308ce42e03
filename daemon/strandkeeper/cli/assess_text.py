"""The story of a history in words: how it stands, what is the case, what happened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from strandkeeper.alerts import wording
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import Event, EventKind, LinkVerdict

__all__ = ["assess_text"]

TOLD_ONCE: Final = 4  # more of a kind are told in one line
FEWEST_DB: Final = 0.2  # a smaller jump is for --json
DAY_MS: Final = 86_400_000
PLAIN: Final = frozenset(
    {
        EventKind.LINK_DOWN,
        EventKind.FLAP_BETWEEN_POLLS,
        EventKind.RESTARTED,
        EventKind.LIGHT_LOST,
        EventKind.MODULE_CHANGED,
        EventKind.MODULE_REMOVED,
        EventKind.MODULE_INSERTED,
        EventKind.PORT_OFF,
        EventKind.PORT_ON,
        EventKind.STEP,
        EventKind.BASELINE_BROKEN,
    }
)
SPELLS: Final = frozenset(
    kind.value
    for kind in (
        FindingKind.ADDED_LOSS,
        FindingKind.MARGIN_LOW,
        FindingKind.OVERLOAD,
        FindingKind.ERRORS,
        FindingKind.DRIFT,
        FindingKind.REPEATED_STEPS,
        FindingKind.FLICKER,
        FindingKind.DAILY_SWING,
        FindingKind.FREEZING,
        FindingKind.TRANSMIT_LOW,
        FindingKind.LASER_AGEING,
        FindingKind.TEMPERATURE,
        FindingKind.SUPPLY,
        FindingKind.NO_ANSWER,
        FindingKind.DAMAGE_IN_PROGRESS,
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing of the story; `what` groups those of a kind."""

    time_ms: int
    what: tuple[str, str, str]
    text: str


def assess_text(link: Link, verdict: LinkVerdict, events: Sequence[Event], first_ms: int) -> str:
    """The whole answer."""
    days = (verdict.at_ms - first_ms) / DAY_MS
    parts = [
        f"{link.name}: {_day(first_ms)} to {_day(verdict.at_ms)}, {wording.duration(days * 86400)}",
        paragraph(wording.link_statement(link, verdict)),
        *(_direction(link, verdict, direction) for direction in Direction),
        _findings(link, verdict),
        _story(link, verdict, events),
    ]
    return "\n\n".join(filter(None, parts))


def _day(time_ms: int) -> str:
    return datetime.fromtimestamp(time_ms / 1000, UTC).strftime("%Y-%m-%d")


def _minute(time_ms: int) -> str:
    return datetime.fromtimestamp(time_ms / 1000, UTC).strftime("%Y-%m-%d %H:%M")


def _direction(link: Link, verdict: LinkVerdict, direction: Direction) -> str:
    figures = verdict.direction(direction)
    sentences = (
        f"Received: {wording.power_words(figures.rx)}; to spare: {wording.spare_words(figures)}.",
        f"Trend: {wording.trend_sentence(figures)}.",
        wording.added_loss_sentence(figures),
        wording.limits_sentence(figures),
        wording.forecast_sentence(figures.forecast),
    )
    lines = [link.direction_name(direction)]
    lines += [paragraph(sentence, indent=2, hang=2) for sentence in sentences if sentence]
    return "\n".join(lines)


def _findings(link: Link, verdict: LinkVerdict) -> str:
    """One paragraph a finding; a caution is told once."""
    told: set[str] = set()
    return "\n\n".join(_finding(link, f, told) for f in wording.worst_first(verdict))


def _finding(link: Link, finding: Finding, told: set[str]) -> str:
    """Headline, why and how sure, what speaks for it, what to do."""
    word = wording.severity_word(finding.severity)
    since = _minute(finding.since_ms)
    lines = [
        paragraph(f"{wording.finding_headline(link, finding)} ({word}, since {since})", hang=2)
    ]
    if finding.severity is Severity.NOTE:
        return lines[0]
    lines += [paragraph(s, indent=2, hang=2) for s in wording.finding_sentences(link, finding)]
    for number, step in enumerate(wording.next_steps_words(link, finding), start=1):
        lines.append(paragraph(f"{number}. {step.order}", indent=2, hang=3))
        new = [care for care in step.cautions if care not in told]
        told.update(new)
        lines += [paragraph(f"Care: {care}", indent=5, hang=2) for care in new]
    return "\n".join(lines)


def _story(link: Link, verdict: LinkVerdict, events: Sequence[Event]) -> str:
    lines = [*_plain(link, events), *_spells(link, events, verdict.at_ms)]
    groups: dict[tuple[str, str, str], list[Line]] = {}
    for line in lines:
        groups.setdefault(line.what, []).append(line)
    told = [line for group in groups.values() for line in _grouped(group)]
    told.sort(key=lambda line: line.time_ms)
    if not told:
        return "Nothing else happened that the record shows."
    text = [paragraph(f"{_minute(x.time_ms)}  {x.text}", indent=2, hang=18) for x in told]
    return "\n".join(["What happened (UTC)", *text])


def _key(event: Event) -> tuple[str, str, str]:
    end = "" if event.end is None else event.end.name
    return (f"{event.kind.value} {event.text}", event.direction or "", end)


def _plain(link: Link, events: Sequence[Event]) -> Iterator[Line]:
    for event in events:
        small = event.kind is EventKind.STEP and abs(event.value or 0.0) < FEWEST_DB
        if event.kind in PLAIN and not small:
            text = wording.event_sentence(link, event)
            yield Line(time_ms=event.time_ms, what=_key(event), text=text)


def _spells(link: Link, events: Sequence[Event], end_ms: int) -> Iterator[Line]:
    """Findings with how long they lasted."""
    open_since: dict[tuple[str, str, str], Event] = {}
    for event in events:
        if event.text not in SPELLS:
            continue
        key = (event.text, *_key(event)[1:])
        if event.kind is EventKind.FINDING_BEGAN:
            open_since[key] = event
        elif event.kind is EventKind.FINDING_ENDED and key in open_since:
            yield _spell(link, open_since.pop(key), key, event.time_ms, over=True)
    for key, event in open_since.items():
        yield _spell(link, event, key, end_ms, over=False)


def _spell(link: Link, event: Event, key: tuple[str, str, str], end_ms: int, *, over: bool) -> Line:
    said = wording.event_sentence(link, event).removeprefix("Began: ").rstrip(".")
    lasted = wording.duration((end_ms - event.time_ms) / 1000)
    text = f"{said}: for {lasted}." if over else f"{said}: to the end, {lasted} so far."
    return Line(time_ms=event.time_ms, what=key, text=text)


def _grouped(group: list[Line]) -> list[Line]:
    if len(group) <= TOLD_ONCE:
        return group
    first, last = group[0], group[-1]
    text = f"{first.text} The like {len(group)} times in all, the last on {_minute(last.time_ms)}."
    return [Line(time_ms=first.time_ms, what=first.what, text=text)]
