"""The ledger: every cable with its strands, what was measured and done, and entering it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from flask import Blueprint, abort, redirect, render_template, request, url_for
from flask import Response as FileResponse
from werkzeug.wrappers import Response

from strandkeeper.alerts.wording_rework import work_cautions
from strandkeeper.analysis.spares import best_spares
from strandkeeper.errors import InputError
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.ledger_files import readings_to_csv, to_csv, to_json, works_to_csv
from strandkeeper.model.rework import Rework
from strandkeeper.optics.fibre import fibres
from strandkeeper.store import ledger, rework
from strandkeeper_dashboard import ledger_form, works
from strandkeeper_dashboard.asking import ask, asked, field, typed
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.views import meter

__all__ = ["page"]

page = Blueprint("cable", __name__)

_ALL = 1_000_000


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
        sheets=meter.sheets(record.ask(ledger.meter_readings)),
        links={link.name: link for link in here().settings.links},
        slugs=here().slugs,
        config=here().config_path or "CONFIG",
        asked=asked(EntryKind.LEDGER),
        live_url=url_for("api.live"),
    )


@page.get("/cables/<any(strands, readings, works):kind>.csv")
def as_csv(kind: str) -> FileResponse:
    """One kind of the ledger's rows for a spreadsheet."""
    record = here().record
    match kind:
        case "strands":
            text = to_csv(record.ask(ledger.strands))
        case "readings":
            text = readings_to_csv(record.ask(ledger.meter_readings))
        case _:
            text = works_to_csv(record.ask(partial(rework.reworks, limit=_ALL)))
    return _file(text, f"{kind}.csv", "text/csv")


@page.get("/cables/ledger.json")
def as_json() -> FileResponse:
    """The whole ledger; its cables and strands can be imported again."""
    text = to_json(*here().record.ask(ledger.everything))
    return _file(text, "ledger.json", "application/json")


def _file(text: str, name: str, mimetype: str) -> FileResponse:
    response = FileResponse(text, mimetype=mimetype)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


# -- a cable ---------------------------------------------------------------------------------------


@page.get("/cables/cable")
def cable() -> str:
    """The form of a cable; without `name` of a new one."""
    known = _cable() if request.args.get("name") else None
    return _cable_page(known, ledger_form.cable_fields(known, feet=here().units.feet))


def _cable() -> Cable:
    name = request.args.get("name", "")
    for known in here().record.ask(ledger.cables):
        if known.name == name:
            return known
    abort(404, f"There is no cable {name!r} in the ledger.")


def _cable_page(
    known: Cable | None, shown: Mapping[str, str], trouble: InputError | None = None
) -> str:
    return render_template(
        "cable_form.html",
        cable=known,
        typed=shown,
        trouble=trouble,
        asked=asked(EntryKind.LEDGER),
        fibres=fibres(),
        live_url=url_for("api.live"),
    )


@page.post("/cables/cable")
def enter_cable() -> Response | tuple[str, int]:
    """Ask for a cable to be entered or changed."""
    known = _cable() if request.args.get("name") else None
    feet = here().units.feet
    sent = typed(ledger_form.cable_fields(known, feet=feet))
    try:
        changed = ledger_form.cable_change(known, sent, feet=feet)
    except InputError as error:
        return _cable_page(known, sent, error), 400
    if not changed:
        return redirect(url_for("cable.index"), 303)
    stored = ask(EntryKind.LEDGER, {"cables": [changed]})
    if stored.refusal and known is None:
        return _cable_page(known, sent, InputError(stored.refusal)), 400
    if stored.refusal and known is not None:
        return redirect(url_for("cable.cable", name=known.name, asked=stored.id), 303)
    return redirect(url_for("cable.index", asked=stored.id), 303)


# -- a strand --------------------------------------------------------------------------------------


@page.get("/cables/strand")
def strand() -> str:
    """One strand: what it is, what was measured and done at it, and the form to change it."""
    known = _strand()
    choices = ledger_form.uses(here().settings.links)
    return _strand_page(known, ledger_form.strand_fields(known, choices, feet=here().units.feet))


def _strand() -> Strand:
    cable, number = request.args.get("cable", ""), request.args.get("number", "")
    for known in here().record.ask(partial(ledger.strands, cable=cable)):
        if str(known.number) == number:
            return known
    abort(404, f"There is no strand {number} of a cable {cable!r} in the ledger.")


def _strand_page(known: Strand, shown: Mapping[str, str], trouble: InputError | None = None) -> str:
    record, links = here().record, {link.name: link for link in here().settings.links}
    done = [w for w in record.ask(rework.reworks) if _is_of(w, known)]
    link = None if known.link is None else links.get(known.link)
    measured = [
        r
        for r in record.ask(ledger.meter_readings)
        if (r.cable, r.strand) == (known.cable, known.number)
        or (link is not None and (r.link, r.direction) == (link.name, known.direction))
    ]
    spares = best_spares(record.ask(ledger.strands), cable=known.cable)
    return render_template(
        "strand.html",
        strand_row=known,
        typed=shown,
        trouble=trouble,
        asked=asked(EntryKind.LEDGER),
        choices=ledger_form.uses(here().settings.links),
        link=link,
        slug=None if link is None else here().slugs[link.name],
        ends=_ends(known),
        sheets=meter.sheets(measured),
        done=[works.work_sheet(links[w.link], w) for w in done if w.link in links],
        spares=[s for s in spares if s.number != known.number],
        cautions=work_cautions(outdoors=False),
        feet=here().units.feet,
        live_url=url_for("api.live"),
    )


def _is_of(work: Rework, strand: Strand) -> bool:
    return (work.cable, work.strand) == (strand.cable, strand.number)


def _ends(strand: Strand) -> tuple[str, str]:
    """What the owner calls the ends of the cable, else A and B."""
    cables = here().record.ask(ledger.cables)
    mine = next((c for c in cables if c.name == strand.cable), None)
    return ("A", "B") if mine is None else (mine.a or "A", mine.b or "B")


def _after(known: Strand, stored: StoredEntry) -> Response:
    where = url_for("cable.strand", cable=known.cable, number=known.number, asked=stored.id)
    return redirect(where, 303)


@page.post("/cables/strand")
def enter_strand() -> Response | tuple[str, int]:
    """Ask for a strand to be changed as the form says."""
    known = _strand()
    choices, feet = ledger_form.uses(here().settings.links), here().units.feet
    sent = typed(ledger_form.strand_fields(known, choices, feet=feet))
    try:
        changed = ledger_form.strand_change(known, sent, choices, now_ms=here().now_ms, feet=feet)
    except InputError as error:
        return _strand_page(known, sent, error), 400
    if not changed:
        return _strand_page(known, sent, InputError("nothing was changed")), 400
    return _after(known, ask(EntryKind.LEDGER, {"strands": [changed]}))


@page.post("/cables/strand/move")
def move() -> Response | tuple[str, int]:
    """Ask for what a strand carries to be entered as moved to another one."""
    known = _strand()
    choices, feet = ledger_form.uses(here().settings.links), here().units.feet
    others = here().record.ask(partial(ledger.strands, cable=known.cable))
    to = next((s for s in others if str(s.number) == field("to")), None)
    if to is None or known.link is None:
        was = ledger_form.strand_fields(known, choices, feet=feet)
        return _strand_page(known, was, InputError("choose the strand it was moved to")), 400
    strands = ledger_form.move(known, to, broken=field("left") != "spare")
    return _after(known, ask(EntryKind.LEDGER, {"strands": strands}))
