"""A card for the wall of each building: what is normal, which strands, what to do."""

from __future__ import annotations

from html import escape

from strandkeeper.alerts.wording_figures import db, dbm
from strandkeeper.alerts.wording_rework import six_steps, work_cautions
from strandkeeper.analysis.spares import best_spares
from strandkeeper.cli.report_html import Paper, tag_of
from strandkeeper.cli.report_page import listed, page, paragraphs, section, table
from strandkeeper.cli.rework_text import local_time
from strandkeeper.model.ledger import Strand
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import Measured

__all__ = ["card_html"]


def card_html(paper: Paper) -> str:
    """One page for each end, in one file."""
    body = [_card(paper, end) for end in End]
    return page(f"{paper.link.name}: cards", body)


def _card(paper: Paper, end: End) -> str:
    link = paper.link
    port = link.end(end)
    where = "" if port.switch is None else f", {port.switch} port {port.port}"
    parts = [
        f"<h1>{escape(link.name)}: at {escape(port.name)}</h1>",
        paragraphs([f"{paper.station}{where}. Card of {local_time(paper.made_ms)[:10]}."]),
        section("What is normal", _normal(paper)),
        section("Lamps", paragraphs([_lamps(port.name)])),
        section("Strands", _strands(paper)),
        section("If it is down, in this order", listed(six_steps(link, _spare(paper)), "ol")),
        section("Cautions", paragraphs(work_cautions(outdoors=True), "caution")),
    ]
    return f'<div class="card">{"".join(parts)}</div>'


def _lamps(name: str) -> str:
    return (
        f"At {name}: the port's link lamp is lit and flickers with traffic. Dark with the switch "
        "on: no light comes in, or the port is shut. Never look into the port to see."
    )


def _normal(paper: Paper) -> str:
    rows = []
    for way in Direction:
        mine = paper.verdict.direction(way)
        rx = dbm(mine.rx.power) if isinstance(mine.rx, Measured) else "not known now"
        loss = mine.baseline.loss if mine.baseline is not None else mine.loss
        lost = "not known" if loss is None else db(loss.value)
        rows.append((paper.link.direction_name(way), rx, lost, tag_of(mine)))
    return table(("Direction", "Received", "Loses when good", "Trust"), rows)


def _strands(paper: Paper) -> str:
    names = {s.cable for s in paper.strands if s.link == paper.link.name}
    rows = [
        (f"{s.number} {s.label}", s.cable, _use(paper, s), s.note)
        for s in paper.strands
        if s.cable in names
    ]
    return table(("Strand", "Cable", "Use", "Note"), rows)


def _use(paper: Paper, strand: Strand) -> str:
    if strand.link != paper.link.name:
        tried = ", tried" if strand.tested_ms is not None else ""
        return f"{strand.link or strand.use.value}{tried}"
    ways = Direction if strand.direction is None else (strand.direction,)
    return " and ".join(paper.link.direction_name(way) for way in ways)


def _spare(paper: Paper) -> str:
    """The tested spares to move to: as many as the link has strands."""
    cables = {s.cable for s in paper.strands if s.link == paper.link.name}
    tried = [s for c in sorted(cables) for s in best_spares(paper.strands, cable=c) if s.tested_ms]
    wanted = tried[: paper.link.strands]
    if len(wanted) < paper.link.strands:
        return ""
    return " and ".join(f"{s.number} {s.label}" for s in wanted)
