"""Everything that is true now and worth a word, over all links, and what happened lately."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, render_template, url_for

from strandkeeper.alerts import wording
from strandkeeper_dashboard import queries
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("findings", __name__)

_LATELY_MS: Final = 14 * 86_400_000
_EVENTS: Final = 100
_AT_ONCE: Final = 20


@page.get("/findings")
def index() -> str:
    """Findings by severity, then the events of the last two weeks."""
    context = here()
    overview = queries.overview(context.settings, context.slugs, context.record, context.now_ms)
    found = [(card, said) for card in overview.cards for said in card.findings]
    found.sort(key=lambda pair: (-pair[1].finding.severity, pair[1].finding.since_ms))
    links = {link.name: link for link in context.settings.links}
    lately = context.record.events(from_ms=context.now_ms - _LATELY_MS, limit=_EVENTS)
    return render_template(
        "findings.html",
        found=found,
        judged=any(card.verdict is not None for card in overview.cards),
        events=[
            (context.slugs[event.link], event, wording.event_sentence(links[event.link], event))
            for event in lately
            if event.link in links
        ],
        shown_at_once=_AT_ONCE,
        page_standing=overview.standing,
        live_url=url_for("api.live"),
    )
