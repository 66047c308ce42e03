"""JSON, read-only: the objects of `status --json`, and what the pages poll."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from strandkeeper_dashboard import queries
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("api", __name__, url_prefix="/api")


@page.get("/live")
def live() -> Response:
    """The moment, how old the record is, and for each link a tag that changes with its card."""
    context = here()
    known = queries.verdicts(context.record)
    links = [
        {
            "slug": context.slugs[link.name],
            "at_ms": known[link.name].at_ms if link.name in known else None,
        }
        for link in context.settings.links
    ]
    response = jsonify(
        {"schema": 1, "now_ms": context.now_ms, "links": links},
    )
    response.headers["Cache-Control"] = "no-store"
    return response
