"""One link: how it stands, its trend, what happened, what is behind the figures."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from flask import Blueprint, Response, render_template, request, url_for

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper_dashboard import chart_outlook, plot, queries, trends
from strandkeeper_dashboard.chart import PANEL_IDS, Chart, PanelId
from strandkeeper_dashboard.chart_panels import PANEL_TITLES
from strandkeeper_dashboard.context import here, window_of_request
from strandkeeper_dashboard.facts import end_facts, judged_facts
from strandkeeper_dashboard.story import story
from strandkeeper_dashboard.trend_drawing import trend_drawing
from strandkeeper_dashboard.trend_table import to_csv, trend_table
from strandkeeper_dashboard.window import RANGES, Window

__all__ = ["page"]

page = Blueprint("link", __name__)

# What to spare is the receive power above one of the lines drawn there: shown when asked for.
_SHOWN: Final = tuple(panel for panel in PANEL_IDS if panel != "margin")


def _wanted() -> tuple[PanelId, ...]:
    """The panels this address asks for: `show=power&show=added`; all the usual without any."""
    asked = request.args.getlist("show")
    return tuple(panel for panel in PANEL_IDS if panel in asked) or _SHOWN


def _chart(link: Link, shown: Window) -> Chart:
    context = here()
    return trends.trend(context.settings, link, context.record, shown, frozenset(_wanted()))


def _panels() -> dict[str, list[PanelId]]:
    """The panels in an address, nothing for the usual ones."""
    wanted = _wanted()
    return {} if wanted == _SHOWN else {"show": list(wanted)}


@page.get("/links/<slug>")
def index(slug: str) -> str:
    """The whole page."""
    context = here()
    link = context.link(slug)
    shown = window_of_request(link)
    verdict = context.record.verdict(link.name)
    chart = _chart(link, shown)
    card = queries.card(context.settings, slug, link, verdict, context.now_ms)
    query = {**shown.query(), **_panels()}
    return render_template(
        "link.html",
        card=card,
        page_standing=card.standing,
        live_url=url_for("api.live"),
        window=shown,
        query=query,
        trend_url=lambda asked: url_for("link.index", slug=slug, **{**asked, **_panels()}),
        panels=[(p, PANEL_TITLES[p], p in _wanted()) for p in PANEL_IDS if p != "state"],
        ranges=RANGES,
        later=shown.later(context.now_ms),
        chart=chart,
        drawing=trend_drawing(chart),
        table=trend_table(chart),
        outlook=[] if verdict is None else _outlook(link, verdict),
        story=story(link, context.record, shown),
        ends=[] if verdict is None else end_facts(link, verdict, context.now_ms, context.units),
        judged=[] if verdict is None else judged_facts(link, verdict),
    )


def _outlook(link: Link, verdict: LinkVerdict) -> list[str]:
    """Where it leads, of each direction that leads anywhere."""
    return [
        chart_outlook.told(link, verdict.direction(d))
        for d in Direction
        if verdict.direction(d).forecast.to is not None
    ]


@page.get("/api/links/<slug>/trend")
def trend(slug: str) -> dict[str, object]:
    """The trend as integers; the page's plot is drawn from it."""
    link = here().link(slug)
    shown = window_of_request(link)
    offset = datetime.fromtimestamp(shown.to_ms / 1000, UTC).astimezone().utcoffset()
    seconds = 0 if offset is None else round(offset.total_seconds())
    return plot.to_json(_chart(link, shown), utc_offset_s=seconds)


@page.get("/links/<slug>/trend.csv")
def trend_csv(slug: str) -> Response:
    """The trend as a table for a spreadsheet."""
    link = here().link(slug)
    response = Response(to_csv(_chart(link, window_of_request(link))), mimetype="text/csv")
    response.headers["Content-Disposition"] = f'attachment; filename="{_ascii(slug)}-trend.csv"'
    return response


def _ascii(slug: str) -> str:
    return slug.encode("ascii", "ignore").decode() or "link"
