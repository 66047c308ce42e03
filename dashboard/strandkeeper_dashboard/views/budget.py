"""Planning a link: what it should lose, whether two modules fit, kept in the address."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from strandkeeper.errors import InputError
from strandkeeper.optics.fibre import fibres
from strandkeeper.optics.pmd import all_pmds
from strandkeeper_dashboard import budget_form
from strandkeeper_dashboard.context import here

__all__ = ["page"]

page = Blueprint("budget", __name__)


@page.get("/budget")
def index() -> str | tuple[str, int]:
    """A form and its answer; `link=` fills it in as a configured link is."""
    feet = here().units.feet
    names, fields = ("this end", "far end"), budget_form.usual_fields(feet=feet)
    slug = request.args.get("link", "")
    if slug:
        link = here().link(slug)
        names, fields = (link.a.name, link.b.name), budget_form.fields_of_link(link, feet=feet)
    fields |= {name: value for name, value in request.args.items() if name in fields}
    trouble = None
    try:
        sheet = budget_form.sheets(fields, names)
    except InputError as error:
        sheet, trouble = None, error
    made = render_template(
        "budget.html",
        fields=fields,
        slug=slug,
        sheet=sheet,
        trouble=trouble,
        fibres=fibres(),
        pmds=[spec.name for spec in all_pmds()],
        links=[(here().slugs[link.name], link.name) for link in here().settings.links],
    )
    return made if trouble is None else (made, 400)
