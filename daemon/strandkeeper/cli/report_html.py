"""The record of one link: modules, cable, losses, levels, acceptance, history, trend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape

from strandkeeper.alerts.wording import (
    baseline_sentence,
    event_sentence,
    limits_sentence,
    link_statement,
    power_words,
)
from strandkeeper.alerts.wording_figures import db, dbm
from strandkeeper.alerts.wording_rework import (
    acceptance_sentence,
    check_sentence,
    night_sentence,
    verdict_sentence,
)
from strandkeeper.analysis.acceptance import outcome_of
from strandkeeper.cli.meter import reading_lines
from strandkeeper.cli.report_page import listed, page, paragraphs, section, table
from strandkeeper.cli.report_svg import PLUGS, Levels, levels_svg, trend_svg
from strandkeeper.cli.rework_text import local_time
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.link import Link, LinkFacts
from strandkeeper.model.meter_reading import Bench, MeterReading
from strandkeeper.model.names import Direction, End
from strandkeeper.model.planned_parts import planned_parts
from strandkeeper.model.power import Measured
from strandkeeper.model.rework import Rework
from strandkeeper.model.stats import PeriodStat
from strandkeeper.model.verdict import DirectionVerdict, Event, LinkVerdict

__all__ = ["Paper", "report_html", "tag_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """Everything that may stand on it. Times are record time [ms]."""

    station: str
    link: Link
    facts: LinkFacts
    verdict: LinkVerdict
    made_ms: int
    strands: Sequence[Strand] = ()
    cables: Sequence[Cable] = ()
    readings: Sequence[MeterReading] = ()
    benches: Sequence[Bench] = ()
    works: Sequence[Rework] = ()
    events: Sequence[Event] = ()
    days: Mapping[Direction, Sequence[PeriodStat]]


def tag_of(mine: DirectionVerdict) -> str:
    """How far a figure may be trusted."""
    if mine.anchored:
        return f"anchored by a power meter, ±{mine.accuracy.value:g} dB"
    return f"measured by module, ±{mine.accuracy.value:g} dB"


def report_html(paper: Paper) -> str:
    """The whole file."""
    title = f"{paper.link.name}: record of {local_time(paper.made_ms)}"
    ways = [_way(paper, way) for way in Direction]
    return page(
        title,
        [
            f"<h1>{escape(paper.link.name)}</h1>",
            paragraphs([f"{paper.station}. Record made {local_time(paper.made_ms)}."]),
            paragraphs([link_statement(paper.link, paper.verdict)], "tag"),
            section("Modules", _modules(paper)),
            section("Cable and strands", _cable(paper), _strands(paper)),
            *ways,
            section("Work and acceptance", *(_work(paper, work) for work in paper.works)),
            section(
                "Meter readings",
                listed(" ".join(reading_lines(r, paper.readings)) for r in paper.readings),
            ),
            section("What happened", listed(_events(paper))),
        ],
    )


def _modules(paper: Paper) -> str:
    rows = []
    for end in End:
        port, state = paper.link.end(end), paper.verdict.end(end)
        where = "not asked" if port.switch is None else f"{port.switch} {port.port}"
        rows.append((port.name, where, port.pmd or "not named", state.module_id or "not told"))
    return table(("End", "Switch and port", "Module type", "Module says it is"), rows)


def _cable(paper: Paper) -> str:
    link = paper.link
    length = "length not known" if link.length_m is None else f"{link.length_m:g} m"
    said = f"{length}, {link.fibre}, {link.matings} matings and {link.splices} splices a strand"
    return paragraphs([f"{said}."])


def _strands(paper: Paper) -> str:
    names = {s.cable for s in paper.strands if s.link == paper.link.name}
    rows = [
        (
            f"{s.number} {s.label}",
            s.cable,
            _use(paper, s),
            "" if s.tested_ms is None else local_time(s.tested_ms)[:10],
            "" if s.tested_loss is None else db(s.tested_loss.value),
            " / ".join("?" if e.slack_m is None else f"{e.slack_m:g} m" for e in s.ends),
            " / ".join(str(e.attempts) for e in s.ends),
        )
        for s in paper.strands
        if s.cable in names
    ]
    heads = ("Strand", "Cable", "Use", "Tried", "Loss then", "Slack A / B", "Plugs made A / B")
    return table(heads, rows)


def _use(paper: Paper, strand: Strand) -> str:
    if strand.link != paper.link.name:
        return strand.link or strand.use.value
    ways = Direction if strand.direction is None else (strand.direction,)
    return " and ".join(paper.link.direction_name(way) for way in ways)


def _way(paper: Paper, way: Direction) -> str:
    link, mine = paper.link, paper.verdict.direction(way)
    planned = paper.facts.direction(way).planned
    bench = next((b for b in paper.benches if b.direction is way), None)
    rows = [
        ("Sent", power_words(mine.tx)),
        ("Received", power_words(mine.rx)),
        ("Lost on the way", "not known" if mine.loss is None else db(mine.loss.value)),
        *_bench_row(mine, bench),
        ("Planned, at most", "no plan" if planned is None else db(planned.limit.value)),
        ("To spare before too weak", "not known" if mine.margin is None else db(mine.margin.value)),
        ("Trust", tag_of(mine)),
    ]
    days = [
        (d.start_ms, None if d.loss_mdb is None else d.loss_mdb / 1000) for d in paper.days[way]
    ]
    dates = tuple(local_time(days[i][0])[:10] for i in (0, -1)) if days else ("", "")
    title = f"Loss, day by day, {link.direction_name(way)}"
    trend = trend_svg(title, days, (dates[0], dates[1]), "dB lost")
    return section(
        link.direction_name(way),
        table(("", "Figure"), rows),
        paragraphs([baseline_sentence(mine), limits_sentence(mine)]),
        _levels(paper, way),
        trend,
    )


def _bench_row(mine: DirectionVerdict, bench: Bench | None) -> list[tuple[str, str]]:
    if bench is None or mine.loss is None:
        return []
    loss = mine.loss - bench.difference
    return [("Lost, modules' own errors taken off (bench)", f"{db(loss.value)}, ±0.5 dB")]


def _levels(paper: Paper, way: Direction) -> str:
    link, mine = paper.link, paper.verdict.direction(way)
    sent = mine.tx.power.value if isinstance(mine.tx, Measured) else None
    got = mine.rx.power.value if isinstance(mine.rx, Measured) else None
    if sent is None or got is None:
        return ""
    limits = [
        (f"{name} {dbm(level)}", level.value)
        for name, level in (
            ("weakest it can use", mine.sensitivity),
            ("strongest it can use", mine.overload),
        )
        if level is not None
    ]
    thresholds = paper.facts.thresholds
    keep = thresholds.reserve_warn_anchored if mine.anchored else thresholds.reserve_warn
    least = mine.sensitivity
    drawn = levels_svg(
        f"Levels, {link.direction_name(way)}",
        Levels(
            ends=(link.end(way.sender).name, link.end(way.receiver).name),
            planned=_planned(paper, way, sent),
            measured=(sent, got),
            accuracy=mine.accuracy.value,
            limits=limits,
            reserve=None if least is None else ((least + keep).value, least.value),
        ),
    )
    shaded = "" if least is None else f" Grey above the weakest: kept in reserve, {db(keep.value)}."
    words = (
        f"Dashed: as planned, through the plugs, the fibre and the plugs. Plain: measured at its "
        f"two ends, {db(sent - got)} lost somewhere along here; shaded around it: how far the "
        f"readings may be off.{shaded}"
    )
    return drawn + paragraphs([words])


def _planned(paper: Paper, way: Direction, sent: float) -> list[tuple[float, float]]:
    """Level out of the laser, a step at the plugs, the fibre's slope, a step, level in."""
    planned = paper.facts.direction(way).planned
    parts = planned_parts(paper.link, way, None if planned is None else planned.expected)
    if parts is None:
        return []
    enters = sent - parts.sender_connectors.value
    leaves = enters - parts.fibre.value
    arrives = leaves - parts.receiver_connectors.value
    first, last = PLUGS
    levels = [(0.0, sent), (first, sent), (first, enters), (last, leaves), (last, arrives)]
    return [*levels, (1.0, arrives)]


def _work(paper: Paper, work: Rework) -> str:
    until = "under way" if work.finished_ms is None else local_time(work.finished_ms)
    head = f"{local_time(work.started_ms)} to {until}: {work.what}, by {work.who}"
    lines = [work.why and f"Why: {work.why}", work.note and f"Note: {work.note}"]
    checks = [c for r in work.reports.values() for c in r.checks]
    for way, report in work.reports.items():
        if not work.commissioning and not work.open:
            lines.append(verdict_sentence(paper.link.direction_name(way), report.verdict))
            receiver = paper.link.end(way.receiver).name
            lines.append(night_sentence(receiver, report, work.coldest_before_c.get(way)))
        lines += [f"{paper.link.direction_name(way)}: {check_sentence(c)}" for c in report.checks]
    if checks:
        lines.append(acceptance_sentence(checks, outcome_of(checks)))
    return paragraphs([head], "tag") + listed(line for line in lines if line)


def _measured(paper: Paper) -> list[str]:
    return [" ".join(reading_lines(r, paper.readings)) for r in paper.readings]


def _events(paper: Paper) -> list[str]:
    return [f"{local_time(e.time_ms)}  {event_sentence(paper.link, e)}" for e in paper.events]
