"""One link: how it stands, its trend, what happened, what is behind the figures."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint, Response, render_template, url_for

from strandkeeper.alerts import wording
from strandkeeper.model.link import Link
from strandkeeper_dashboard import plot, queries, trends
from strandkeeper_dashboard.chart import Chart
from strandkeeper_dashboard.context import here, window_of_request
from strandkeeper_dashboard.facts import end_facts, judged_facts
from strandkeeper_dashboard.trend_drawing import trend_drawing
from strandkeeper_dashboard.trend_table import to_csv, trend_table
from strandkeeper_dashboard.window import RANGES, Window

__all__ = ["page"]

page = Blueprint("link", __name__)


def _chart(link: Link, shown: Window) -> Chart:
    context = here()
    return trends.trend(context.settings, link, context.record, shown)


@page.get("/links/<slug>")
def index(slug: str) -> str:
    """The whole page."""
    context = here()
    link = context.link(slug)
    shown = window_of_request(link)
    verdict = context.record.verdict(link.name)
    chart = _chart(link, shown)
    card = queries.card(context.settings, slug, link, verdict, context.now_ms)
    return render_template(
        "link.html",
        card=card,
        page_standing=card.standing,
        live_url=url_for("api.live"),
        window=shown,
        ranges=RANGES,
        later=shown.later(context.now_ms),
        chart=chart,
        drawing=trend_drawing(chart),
        table=trend_table(chart),
        events=[
            (event, wording.event_sentence(link, event))
            for event in trends.happened(link, context.record, shown)
        ],
        ends=[] if verdict is None else end_facts(link, verdict, context.now_ms),
        judged=[] if verdict is None else judged_facts(link, verdict),
    )


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
