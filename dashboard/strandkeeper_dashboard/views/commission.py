"""Commissioning of a new link: the live checklist, the bench reference, handing it over."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from flask import Blueprint, redirect, render_template, url_for
from werkzeug.wrappers import Response

from strandkeeper.alerts.wording_rework import BENCH_STEPS, work_cautions
from strandkeeper.errors import InputError
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.names import Direction
from strandkeeper.store import ledger, rework
from strandkeeper_dashboard import checks, form_fields, works
from strandkeeper_dashboard.asking import ask, asked, field
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.views.rework import live_grant

__all__ = ["page"]

page = Blueprint("commission", __name__)


@page.get("/links/<slug>/commission")
def index(slug: str) -> str:
    """The checklist first, then what to do with it."""
    return _page(slug)


def _page(slug: str, trouble: InputError | None = None) -> str:
    context = here()
    link, record = context.link(slug), context.record
    verdict = record.verdict(link.name)
    benches = {b.direction: b for b in record.ask(ledger.benches) if b.link == link.name}
    done = record.ask(partial(rework.reworks, link=link.name))
    sheet = next((works.work_sheet(link, w) for w in done if w.commissioning), None)
    return render_template(
        "commission.html",
        link=link,
        slug=slug,
        lines=[]
        if verdict is None
        else checks.check_lines(link, context.settings, verdict, [*benches.values()]),
        verdict=verdict,
        live=live_grant(link),
        live_url=url_for("api.live"),
        benches=[(link.direction_name(way), benches.get(way)) for way in Direction],
        bench_steps=BENCH_STEPS,
        sheet=sheet,
        open_work=next((w for w in done if w.open), None),
        asked=asked(EntryKind.METER, EntryKind.COMMISSION),
        trouble=trouble,
        cautions=work_cautions(),
    )


def _after(slug: str, entry: EntryKind, payload: Mapping[str, object]) -> Response:
    stored = ask(entry, {"link": str(here().link(slug).name), **payload})
    return redirect(url_for("commission.index", slug=slug, asked=stored.id, _anchor="asked"), 303)


@page.post("/links/<slug>/commission/bench")
def bench(slug: str) -> Response:
    """Ask for what both modules say of each other over one short cord to be kept."""
    return _after(slug, EntryKind.METER, {"kind": "bench"})


@page.post("/links/<slug>/commission/accept")
def accept(slug: str) -> Response | tuple[str, int]:
    """Ask for the acceptance to begin."""
    try:
        matings = form_fields.whole(field("matings"), "the number of mated pairs", most=20)
    except InputError as error:
        return _page(slug, error), 400
    payload: dict[str, object] = {} if matings is None else {"matings": matings}
    return _after(slug, EntryKind.COMMISSION, payload)
