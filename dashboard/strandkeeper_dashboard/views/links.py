"""The first screen: all links, worst first."""

from __future__ import annotations

from flask import Blueprint, render_template, url_for

from strandkeeper_dashboard import queries
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("links", __name__)


@page.get("/")
def index() -> str:
    """All links as statements, each with its two level diagrams."""
    context = here()
    shown = queries.overview(context.settings, context.slugs, context.record, context.now_ms)
    return render_template(
        "links.html",
        overview=shown,
        page_standing=shown.standing,
        live_url=url_for("api.live"),
    )
