"""The status for people: a table, the worst link first, then what is the case and what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from strandkeeper.alerts import wording
from strandkeeper.alerts.calm import calm_of
from strandkeeper.model.finding import Finding, Severity
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict

__all__ = ["status_text"]

_HEAD = ("LINK", "STATE", "DIRECTION", "TO SPARE", "RECEIVED", "LOST SINCE GOOD", "TREND", "READ")

Verdicts = Mapping[LinkName, LinkVerdict]


def status_text(
    settings: Settings,
    links: Sequence[Link],
    verdicts: Verdicts,
    now_ms: int,
    *,
    details: bool = False,
) -> str:
    """The whole answer. `details` adds limits, baseline, forecast and ends of each link."""
    ordered = sorted(links, key=lambda link: _rank(verdicts.get(link.name)))
    parts = [f"{settings.station}, {_clock(now_ms)}", _table(ordered, verdicts, now_ms)]
    for link in ordered:
        verdict = verdicts.get(link.name)
        if verdict is not None:
            parts += [_details(settings, link, verdict, now_ms)] if details else []
            parts += _findings(link, verdict, now_ms, whole=details)
    parts += _stale(settings, links, verdicts, now_ms)
    if not links:
        parts.append("No link is configured yet: add a [[link]] to the configuration.")
    return "\n\n".join(filter(None, parts))


def _rank(verdict: LinkVerdict | None) -> tuple[int, float]:
    """Urgent first, then warnings, then what is not known, then by what is to spare."""
    if verdict is None:
        return 2, 0.0
    severity = max((f.severity for f in verdict.findings), default=Severity.NOTE)
    weaker = wording.weaker_direction(verdict)
    spare = 0.0 if weaker is None or weaker.margin is None else weaker.margin.value
    if severity is Severity.URGENT:
        return 0, spare
    if severity is Severity.WARNING or verdict.up is False:
        return 1, spare
    return (2 if verdict.up is None else 3), spare


def _table(links: Sequence[Link], verdicts: Verdicts, now_ms: int) -> str:
    rows: list[tuple[str, ...]] = [_HEAD]
    for link in links:
        rows += _rows(link, verdicts.get(link.name), now_ms)
    widths = [max(len(row[n]) for row in rows) for n in range(len(_HEAD))]
    lines = ("  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)) for row in rows)
    return "\n".join(line.rstrip() for line in lines) if links else ""


def _rows(link: Link, verdict: LinkVerdict | None, now_ms: int) -> list[tuple[str, ...]]:
    if verdict is None:
        return [(link.name, "not known", "nothing was read yet", "", "", "", "", "")]
    state = {True: "up", False: "down", None: "not known"}[verdict.up]
    first = _row(link, verdict.ab, now_ms)
    return [(link.name, state, *first), ("", "", *_row(link, verdict.ba, now_ms))]


def _row(link: Link, verdict: DirectionVerdict, now_ms: int) -> tuple[str, ...]:
    added = verdict.added_loss
    return (
        link.direction_name(verdict.direction),
        wording.spare_words(verdict),
        wording.power_words(verdict.rx),
        "not known yet" if added is None else wording.db(max(0.0, added.value)),
        wording.trend_sentence(verdict),
        _age(verdict.optics_ms, now_ms),
    )


def _age(then_ms: int | None, now_ms: int) -> str:
    if then_ms is None:
        return "never"
    return f"{wording.duration((now_ms - then_ms) / 1000)} ago"


def _findings(link: Link, verdict: LinkVerdict, now_ms: int, *, whole: bool) -> list[str]:
    """One paragraph a finding; what is only for the record has one line unless asked for whole.

    Steps that stand above already are not printed again, so that their cautions are read.
    """
    found = wording.worst_first(verdict)
    told = [f for f in found if whole or f.severity > Severity.NOTE]
    notes = [_headline(link, f, now_ms) for f in found if f not in told]
    paragraphs, above = [], set()
    for finding in told:
        again = finding.next_steps in above
        paragraphs.append(_finding(link, finding, now_ms, steps_above=again))
        above.add(finding.next_steps)
    return [*paragraphs, *filter(None, ["\n".join(notes)])]


def _headline(link: Link, finding: Finding, now_ms: int) -> str:
    lasted = wording.duration((now_ms - finding.since_ms) / 1000)
    word = wording.severity_word(finding.severity)
    return f"{link.name}: {wording.finding_headline(link, finding)} ({word}, for {lasted})"


def _finding(link: Link, finding: Finding, now_ms: int, *, steps_above: bool) -> str:
    """Headline, why, what speaks for it, what to do, and the cautions beside the steps."""
    lines = [_headline(link, finding, now_ms)]
    lines += [f"  {s}" for s in wording.finding_sentences(link, finding)]
    if steps_above and finding.next_steps:
        return "\n".join([*lines, "  What to do: the steps above."])
    for number, step in enumerate(wording.next_steps_words(link, finding), start=1):
        lines.append(f"  {number}. {step.order}")
        lines += [f"     Care: {caution}" for caution in step.cautions]
    return "\n".join(lines)


def _details(settings: Settings, link: Link, verdict: LinkVerdict, now_ms: int) -> str:
    lines = [wording.link_statement(link, verdict)]
    calm = calm_of(verdict, settings.thresholds, now_ms)
    lines.append(f"  {wording.calm_sentence(calm)}")
    lines += [f"  {wording.end_sentence(link, verdict.end(end))}" for end in End]
    for direction in Direction:
        figures = verdict.direction(direction)
        lines += [
            f"  {link.direction_name(direction)}",
            f"    {wording.limits_sentence(figures)}",
            f"    {wording.baseline_sentence(figures)}",
            f"    {wording.forecast_sentence(figures.forecast)}",
            f"    {_capital(wording.errors_sentence(figures))}.",
        ]
    return "\n".join(lines)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _stale(settings: Settings, links: Sequence[Link], verdicts: Verdicts, now_ms: int) -> list[str]:
    """A warning when the record stands still: three batches and two polls without a word."""
    newest = max((verdicts[x.name].at_ms for x in links if x.name in verdicts), default=None)
    if newest is None:
        return ["Nothing was judged yet. Is the service running? strandkeeper run CONFIG"]
    still_s = (now_ms - newest) / 1000
    if still_s <= 3 * settings.store.batch_s + 2 * settings.intervals.status_s:
        return []
    return [
        f"These figures are {wording.duration(still_s)} old. Is the service running? "
        "strandkeeper run CONFIG"
    ]


def _clock(time_ms: int) -> str:
    moment = datetime.fromtimestamp(time_ms / 1000, UTC).astimezone()
    return f"{moment.day} {moment.strftime('%B %Y %H:%M %Z')}"
