"""Meter readings: entered here, judged by the watching program, listed with what they are worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from strandkeeper.alerts.wording_meter import (
    CORDS,
    PRACTICE,
    change_sentence,
    reading_sentences,
)
from strandkeeper.alerts.wording_rework import meter_cautions
from strandkeeper.errors import InputError
from strandkeeper.model.entry import EntryKind, StoredEntry
from strandkeeper.model.meter_reading import MeterReading, last_alike
from strandkeeper.model.names import End
from strandkeeper.store import ledger
from strandkeeper_dashboard import figures, meter_form
from strandkeeper_dashboard.asking import ask, asked, field
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.meter_form import LOSS, POWER, SOURCES, Target

__all__ = ["ReadingSheet", "page", "sheets"]

page = Blueprint("meter", __name__)

_FORMS: Final = {"loss": LOSS, "power": POWER}
_SHOWN: Final = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSheet:
    """One reading in words."""

    reading: MeterReading
    what: str
    said: tuple[str, ...]


def sheets(readings: list[MeterReading]) -> list[ReadingSheet]:
    """Readings as pages show them, newest first; each against the last by its own method."""
    links = {link.name: link for link in here().settings.links}
    found = []
    for reading in readings[:_SHOWN]:
        link = None if reading.link is None else links.get(reading.link)
        what = reading.link or f"{reading.cable}, strand {reading.strand}"
        if link is not None and reading.direction is not None:
            what = f"{link.name}, {link.direction_name(reading.direction)}"
        before = last_alike(reading, readings)
        when = "" if before is None else figures.day_and_clock(before.at_ms)
        said = (*reading_sentences(reading), change_sentence(reading, readings, when))
        found.append(
            ReadingSheet(reading=reading, what=what, said=tuple(text for text in said if text))
        )
    return found


@page.get("/meter")
def index() -> str:
    """Both forms, then what was measured; a refused reading is back in its form."""
    known, stored = _known(), asked(EntryKind.METER)
    typed = {kind: dict(empty) for kind, empty in _FORMS.items()}
    kind = "" if stored is None else str(stored.entry.payload.get("kind", "loss"))
    if stored is not None and stored.refusal and kind in _FORMS:
        typed[kind] = meter_form.typed_before(stored, known, _FORMS[kind])
    else:
        chosen = _chosen(known)
        for one in typed.values():
            one["of"] = chosen
    return _page(known, typed, stored=stored)


def _page(
    known: tuple[Target, ...],
    typed: Mapping[str, Mapping[str, str]],
    *,
    stored: StoredEntry | None = None,
    trouble: InputError | None = None,
    of: str = "",
) -> str:
    return render_template(
        "meter.html",
        targets=known,
        typed=typed,
        asked=stored,
        trouble=trouble,
        trouble_of=of,
        sources=SOURCES,
        cords=CORDS,
        practice=PRACTICE,
        cautions=meter_cautions(),
        ends=[(end.name, f"end {end.name}") for end in End],
        sheets=sheets(here().record.ask(ledger.meter_readings)),
        live_url=url_for("api.live"),
    )


def _known() -> tuple[Target, ...]:
    return meter_form.targets(here().settings.links, here().record.ask(ledger.strands))


def _chosen(known: tuple[Target, ...]) -> str:
    """What the address asks to measure: `cable` and `strand`, or `link` and `direction`."""
    given = {name: request.args.get(name) for name in ("cable", "strand", "link", "direction")}
    for target in known:
        if all(str(value) == given[name] for name, value in target.fields.items()):
            return target.id
    return ""


@page.post("/meter/<any(loss, power):kind>")
def enter(kind: str) -> Response | tuple[str, int]:
    """Ask for a reading to be entered; what cannot be read is said at once."""
    known = _known()
    typed = {name: field(name) for name in _FORMS[kind]}
    try:
        payload = meter_form.payload_of(kind, typed, known, here().now_ms)
    except InputError as error:
        both = {**{k: dict(empty) for k, empty in _FORMS.items()}, kind: typed}
        return _page(known, both, trouble=error, of=kind), 400
    stored = ask(EntryKind.METER, payload)
    return redirect(url_for("meter.index", asked=stored.id, _anchor="asked"), 303)
