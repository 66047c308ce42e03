"""Work on a link, for a phone held in one hand: running figures, start and finish, what it did."""

from __future__ import annotations

from functools import partial

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from strandkeeper.alerts.wording_rework import MAKE_TRAFFIC, TUG_TEST, work_cautions
from strandkeeper.analysis.spares import best_spares
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.model.link import Link
from strandkeeper.model.live import LiveGrant
from strandkeeper.model.names import Direction, End
from strandkeeper.store import ledger, rework
from strandkeeper_dashboard import works
from strandkeeper_dashboard.access import person
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("rework", __name__)

_SHOWN_MS = 10 * 60_000
_WORKS = 20


@page.get("/links/<slug>/rework")
def index(slug: str) -> str:
    """Figures first; then what to do; then what was done."""
    context = here()
    link = context.link(slug)
    record = context.record
    live = _live(link)
    since = context.now_ms - _SHOWN_MS if live is None else live.since_ms
    strands = record.ask(ledger.strands)
    mine = {s.cable for s in strands if s.link == link.name}
    held = works.tracks(record.rows(link.name, max(since, context.now_ms - _SHOWN_MS)))
    found = record.ask(partial(rework.reworks, link=link.name, limit=_WORKS))
    spares = [s for cable in sorted(mine) for s in best_spares(strands, cable=cable)]
    return render_template(
        "rework.html",
        link=link,
        slug=slug,
        live=live,
        live_url=url_for("api.live"),
        panes=works.live_panes(link, held, record.verdict(link.name), spare=bool(spares)),
        sheets=[works.work_sheet(link, work) for work in found],
        open_work=next((w for w in found if w.open), None),
        refused=_refused(link),
        waiting=any(e.entry.payload.get("link") == link.name for e in record.waiting_entries()),
        cautions=work_cautions(outdoors=True),
        tug_test=TUG_TEST,
        make_traffic=MAKE_TRAFFIC,
        ways=[(way.value, link.direction_name(way)) for way in Direction],
        ends=[(end.name, link.end(end).name) for end in End],
        spares=spares[:3],
    )


def _live(link: Link) -> LiveGrant | None:
    context = here()
    grants = context.record.ask(rework.live_grants)
    return next((g for g in grants if g.link == link.name and g.until_ms > context.now_ms), None)


def _refused(link: Link) -> str:
    """Why the newest thing asked for this link was refused, empty if it was not."""
    kinds = (EntryKind.REWORK_START, EntryKind.REWORK_FINISH)
    asked = [e for k in kinds for e in here().record.entries(kind=k, limit=5)]
    mine = [e for e in asked if e.entry.payload.get("link") == link.name]
    return max(mine, key=lambda e: e.id).refusal if mine else ""


def _ask(slug: str, kind: EntryKind, **payload: object) -> Response:
    link = here().link(slug)
    fields = {k: v for k, v in payload.items() if v not in (None, "")}
    here().record.append_entry(
        Entry(kind=kind, who=person(), payload={"link": link.name, **fields})
    )
    return redirect(url_for("rework.index", slug=slug), 303)


def _field(name: str) -> str:
    return request.form.get(name, "").strip()[:200]


@page.post("/links/<slug>/rework/start")
def start(slug: str) -> Response:
    """Ask for work to begin; the watching program does it or says why not."""
    return _ask(
        slug,
        EntryKind.REWORK_START,
        what=_field("what"),
        why=_field("why"),
        direction=_field("direction"),
        end=_field("end"),
    )


@page.post("/links/<slug>/rework/finish")
def finish(slug: str) -> Response:
    """Ask for it to end."""
    plugs = _field("new_plugs")
    count = int(plugs) if plugs.isascii() and plugs.isdigit() else None
    return _ask(slug, EntryKind.REWORK_FINISH, note=_field("note"), new_plugs=count or None)


@page.post("/links/<slug>/rework/look")
def look(slug: str) -> Response:
    """Say that somebody looks; void after 30 s, so the page's script renews it."""
    return _ask(slug, EntryKind.LIVE, end=True if _field("end") else None)
