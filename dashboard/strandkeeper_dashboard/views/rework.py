"""Work on a link, for a phone held in one hand: running figures, start and finish, what it did."""

from __future__ import annotations

from functools import partial
from typing import Final

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as Answer

from strandkeeper.alerts.wording_rework import (
    MAKE_TRAFFIC,
    TUG_TEST,
    outdoor_cautions,
    work_cautions,
)
from strandkeeper.analysis.spares import best_spares
from strandkeeper.errors import InputError
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.ledger import Strand
from strandkeeper.model.link import Link
from strandkeeper.model.live import LiveGrant
from strandkeeper.model.names import Direction, End
from strandkeeper.store import ledger, rework
from strandkeeper_dashboard import form_fields, works
from strandkeeper_dashboard.asking import ask, asked, field
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.way_back import way_back

__all__ = ["live_grant", "page"]

page = Blueprint("rework", __name__)

_SHOWN_MS: Final = 10 * 60_000
_WORKS: Final = 20
_START: Final = ("what", "why", "direction", "end", "matings")
_KINDS: Final = (EntryKind.REWORK_START, EntryKind.REWORK_FINISH)


@page.get("/links/<slug>/rework")
def index(slug: str) -> str:
    """Figures first; then what to do; then what was done."""
    return _page(slug)


def _page(slug: str, trouble: InputError | None = None, typed: dict[str, str] | None = None) -> str:
    context = here()
    link = context.link(slug)
    record, stored = context.record, asked(*_KINDS)
    found = record.ask(partial(rework.reworks, link=link.name, limit=_WORKS))
    return render_template(
        "rework.html",
        link=link,
        slug=slug,
        **_running(link),
        live_url=url_for("api.live"),
        sheets=[works.work_sheet(link, work) for work in found],
        open_work=next((w for w in found if w.open), None),
        asked=stored,
        trouble=trouble,
        typed=typed or _typed(stored),
        cautions=work_cautions(),
        outdoors=outdoor_cautions(),
        tug_test=TUG_TEST,
        make_traffic=MAKE_TRAFFIC,
        ways=[(way.value, link.direction_name(way)) for way in Direction],
        ends=[(end.name, link.end(end).name) for end in End],
        spares=_spares(link)[:3],
    )


def _running(link: Link) -> dict[str, object]:
    """The running figures of both directions since somebody began to look."""
    context, live = here(), live_grant(link)
    since = context.now_ms - _SHOWN_MS if live is None else live.since_ms
    rows = context.record.rows(link.name, max(since, context.now_ms - _SHOWN_MS))
    held = works.tracks(rows)
    verdict = context.record.verdict(link.name)
    spare = bool(_spares(link))
    switches = {switch.name: switch for switch in context.settings.switches}
    panes = works.live_panes(link, held, verdict, spare=spare, switches=switches)
    return {"live": live, "panes": panes}


def _spares(link: Link) -> list[Strand]:
    strands = here().record.ask(ledger.strands)
    mine = sorted({s.cable for s in strands if s.link == link.name})
    return [s for cable in mine for s in best_spares(strands, cable=cable)]


def live_grant(link: Link) -> LiveGrant | None:
    """How often the link is read because somebody looks; None when nobody does."""
    context = here()
    grants = context.record.ask(rework.live_grants)
    return next((g for g in grants if g.link == link.name and g.until_ms > context.now_ms), None)


@page.get("/links/<slug>/rework/running")
def running(slug: str) -> Response:
    """The running figures alone, if something is newer than `seen`; else 204, which costs little.

    The page asks four times a second while somebody looks, so that a reading is on the screen a
    quarter of a second after it is in the record.
    """
    link = here().link(slug)
    tag = _tag(link)
    if request.args.get("seen") == tag:
        return make_response("", 204)
    response = make_response(render_template("live_panes.html", link=link, **_running(link)))
    response.headers["X-Seen"] = tag
    response.headers["Cache-Control"] = "no-store"
    return response


def _tag(link: Link) -> str:
    """Another text whenever the figures are others."""
    rows = here().record.latest(link.name, with_optics=True)
    live = live_grant(link)
    rate = "" if live is None else f"{live.interval_s}{live.why}"
    return "-".join([*(str(rows[end].time_ms) for end in rows), rate])


def _typed(stored: StoredEntry | None) -> dict[str, str]:
    """What was refused is back in its form."""
    payload = {} if stored is None or not stored.refusal else stored.entry.payload
    return {name: str(payload.get(name, "")) for name in _START}


def _after(slug: str, kind: EntryKind, **payload: object) -> Answer:
    link = here().link(slug)
    fields = {k: v for k, v in payload.items() if v not in (None, "")}
    stored = ask(kind, {"link": str(link.name), **fields})
    return redirect(url_for("rework.index", slug=slug, asked=stored.id, _anchor="do"), 303)


@page.post("/links/<slug>/rework/start")
def start(slug: str) -> Answer | tuple[str, int]:
    """Ask for work to begin; the watching program does it or says why not."""
    typed = {name: field(name) for name in _START}
    try:
        matings = form_fields.whole(typed["matings"], "the number of mated pairs", most=20)
    except InputError as error:
        return _page(slug, error, typed), 400
    return _after(slug, EntryKind.REWORK_START, **{**typed, "matings": matings})


@page.post("/links/<slug>/rework/finish")
def finish(slug: str) -> Answer | tuple[str, int]:
    """Ask for it to end."""
    try:
        plugs = form_fields.whole(field("new_plugs"), "the number of plugs made", most=99)
    except InputError as error:
        return _page(slug, error), 400
    return _after(slug, EntryKind.REWORK_FINISH, note=field("note"), new_plugs=plugs or None)


@page.post("/links/<slug>/rework/look")
def look(slug: str) -> Answer:
    """Say that somebody looks; void after 30 s, so the page's script renews it."""
    payload: dict[str, object] = {"link": str(here().link(slug).name)}
    ask(EntryKind.LIVE, {**payload, "end": True} if field("end") else payload)
    back = way_back() if field("back") else url_for("rework.index", slug=slug)
    return redirect(back, 303)
