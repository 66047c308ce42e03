"""The ledger: every cable with its strands. Read here; entered on the command line."""

from __future__ import annotations

from flask import Blueprint, render_template

from strandkeeper.analysis.spares import best_spares
from strandkeeper.store import ledger
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("cable", __name__)


@page.get("/cables")
def index() -> str:
    """Cables by name, strands by number, and what was measured."""
    record = here().record
    strands = record.ask(ledger.strands)
    cables = [
        (c, [s for s in strands if s.cable == c.name], best_spares(strands, cable=c.name)[:1])
        for c in record.ask(ledger.cables)
    ]
    return render_template(
        "cable.html",
        cables=cables,
        readings=record.ask(ledger.meter_readings)[:50],
        links={link.name: link for link in here().settings.links},
        slugs=here().slugs,
        config=here().config_path or "CONFIG",
    )
