"""The record of one link to print: modules, cable, losses, levels, acceptance, history, trend."""

from __future__ import annotations

from functools import partial
from typing import Final

from flask import Blueprint, abort, render_template, url_for

from strandkeeper.alerts.wording import link_statement
from strandkeeper.alerts.wording_rework import MAKE_TRAFFIC
from strandkeeper.model.meter_reading import Bench
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.store import ledger, rework
from strandkeeper_dashboard import figures, ledger_form, queries, trends, works
from strandkeeper_dashboard.chart import PanelId
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.facts import end_facts, judged_facts
from strandkeeper_dashboard.story import story
from strandkeeper_dashboard.trend_drawing import trend_drawing
from strandkeeper_dashboard.views import meter
from strandkeeper_dashboard.window import window

__all__ = ["page"]

page = Blueprint("paper", __name__)

_PANELS: Final[frozenset[PanelId]] = frozenset({"power", "added"})


@page.get("/links/<slug>/record")
def index(slug: str) -> str:
    """Everything on one page, drawn on the server; the browser prints it on A4 or Letter."""
    context = here()
    link, record, now_ms = context.link(slug), context.record, context.now_ms
    verdict = record.verdict(link.name)
    if verdict is None:
        abort(404, "Nothing has been read from this link yet.")
    year = window("1year", None, None, now_ms=now_ms, first_ms=None)
    chart = trends.trend(context.settings, link, record, year, _PANELS)
    choices = ledger_form.uses(context.settings.links)
    cables = {s.cable for s in record.ask(ledger.strands) if s.link == link.name}
    benches = {b.direction: b for b in record.ask(ledger.benches) if b.link == link.name}
    done = record.ask(partial(rework.reworks, link=link.name))
    return render_template(
        "paper.html",
        link=link,
        slug=slug,
        statement=link_statement(link, verdict),
        card=queries.card(context.settings, slug, link, verdict, now_ms),
        trust=[_trust(verdict.direction(way)) for way in Direction],
        benched=[_benched(verdict.direction(way), benches.get(way)) for way in Direction],
        limits=[figures.db(verdict.direction(way).planned_limit) for way in Direction],
        ends=end_facts(link, verdict, now_ms, context.units),
        judged=judged_facts(link, verdict),
        strands=[
            (s, ledger_form.use_of(s, choices).words)
            for s in record.ask(ledger.strands)
            if s.cable in cables
        ],
        slack=context.units.feet,
        sheets=meter.sheets(record.ask(partial(ledger.meter_readings, link=link.name))),
        done=[works.work_sheet(link, work) for work in done],
        make_traffic=MAKE_TRAFFIC,
        chart=chart,
        drawing=trend_drawing(chart),
        story=story(link, record, year),
        link_url=url_for("link.index", slug=slug),
    )


def _trust(mine: DirectionVerdict) -> str:
    """How far its figures may be off, and by what they were measured."""
    by = "anchored by a power meter" if mine.anchored else "measured by module"
    return f"{by}, ±{mine.accuracy.value:g}{figures.THIN}dB"


def _benched(mine: DirectionVerdict, bench: Bench | None) -> str:
    if bench is None or mine.loss is None:
        return "no bench reference"
    return f"{figures.db(mine.loss - bench.difference)}, ±0.5{figures.THIN}dB"
