"""A card for the wall of each building: what is normal, which strands, what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from html import escape
from typing import Final

from strandkeeper.alerts.wording_figures import db, dbm
from strandkeeper.alerts.wording_rework import six_steps, work_cautions
from strandkeeper.analysis.spares import best_spares
from strandkeeper.cli.report_html import Paper, tag_of
from strandkeeper.cli.report_page import listed, page, paragraphs, section, table
from strandkeeper.cli.rework_text import local_time
from strandkeeper.model.ledger import Strand, StrandUse
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import Measured

__all__ = ["card_html"]

_LINES: Final = 9  # of the strand map: more would push the steps off the page
_NOTE: Final = 36
_NAME: Final = 24
_HEAD: Final = 60


def card_html(paper: Paper) -> str:
    """One page for each end, in one file."""
    body = [_card(paper, end) for end in End]
    return page(f"{paper.link.name}: cards", body)


def _brief(link: Link) -> Link:
    """The same with names that fit into a cell; the card's head has them longer."""
    a, b = (replace(e, name=_short(e.name, _NAME)) for e in (link.a, link.b))
    return replace(link, a=a, b=b)


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _card(paper: Paper, end: End) -> str:
    head = f"{_short(paper.link.name, _HEAD)}: at {_short(paper.link.end(end).name, _HEAD)}"
    paper = replace(paper, link=_brief(paper.link))
    link = paper.link
    port = link.end(end)
    where = "" if port.switch is None else f", {port.switch} port {port.port}"
    parts = [
        f"<h1>{escape(head)}</h1>",
        paragraphs([f"{paper.station}{where}. Card of {local_time(paper.made_ms)[:10]}."]),
        section("What is normal", _normal(paper)),
        section("Lamps", paragraphs([_lamps(port.name)])),
        section("Strands", _strands(paper)),
        section("If it is down, in this order", listed(six_steps(link, _spare(paper)), "ol")),
        section("Cautions", _in_columns(paragraphs(work_cautions(outdoors=True), "caution"))),
    ]
    return f'<div class="card">{"".join(parts)}</div>'


def _in_columns(body: str) -> str:
    return f'<div class="columns">{body}</div>'


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
    """Every strand: those worth a line of their own in a table, the others told in a sentence."""
    names = sorted({s.cable for s in paper.strands if s.link == paper.link.name})
    mine = [s for s in paper.strands if s.cable in names]
    told = sorted(filter(_worth_a_line, mine), key=lambda s: _first_of_all(s, paper.link))[:_LINES]
    shown = sorted(told, key=lambda s: (s.cable, s.number))
    rows = [(_which(s, names), _use(paper, s), _short(s.note, _NOTE)) for s in shown]
    rest = [s for s in mine if s not in told]
    cables = [f"Cable: {', '.join(names)}."] if names else []
    return paragraphs(cables) + table(("Strand", "Use", "Note"), rows) + paragraphs(_others(rest))


def _which(strand: Strand, cables: Sequence[str]) -> str:
    name = f"{strand.number} {strand.label}"
    return name if len(cables) == 1 else f"{_short(strand.cable, _NAME)}: {name}"


def _first_of_all(strand: Strand, link: Link) -> tuple[bool, bool]:
    """The link's own strands, then those that were tried, then the others."""
    return (strand.link != link.name, strand.tested_ms is None)


def _worth_a_line(strand: Strand) -> bool:
    return strand.use is not StrandUse.SPARE or strand.tested_ms is not None or bool(strand.note)


def _others(strands: Sequence[Strand]) -> list[str]:
    """One sentence, such as 'The others: 5 to 9, 11: spare, never tried.'."""
    said = []
    for cable in dict.fromkeys(s.cable for s in strands):
        numbers: dict[str, list[int]] = {}
        for strand in strands:
            if strand.cable == cable:
                numbers.setdefault(_fate(strand), []).append(strand.number)
        said += [f"{_runs(found)}: {fate}" for fate, found in numbers.items()]
    return [f"The others: {'; '.join(said)}."] if said else []


def _runs(numbers: Sequence[int]) -> str:
    """Numbers in order, those that follow one another as 'first to last'."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return ", ".join(f"{a}" if a == b else f"{a} to {b}" for a, b in runs)


def _fate(strand: Strand) -> str:
    if strand.use is StrandUse.SPARE:
        return "spare, never tried" if strand.tested_ms is None else "spare, tried"
    return strand.use.value if strand.link is None else f"in use, {strand.link}"


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
