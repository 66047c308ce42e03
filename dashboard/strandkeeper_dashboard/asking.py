"""Asking the watching program for something from a page, and what became of it.

A page appends an entry, waits a moment for the program to apply or refuse it, and leads back to a
page whose address names the entry (`asked`): that page says what became of it, also when it is
loaded again later. Nothing is remembered between requests.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import Final

from flask import current_app, request

from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper_dashboard.access import person
from strandkeeper_dashboard.context import here

__all__ = ["PATIENCE", "ask", "asked", "field", "typed"]

PATIENCE: Final = "ASK_PATIENCE_S"  # a key of the application's configuration
_PATIENCE_S: Final = 2.5  # the program looks once a second
_STEP_S: Final = 0.05
_LONGEST: Final = 400


def field(name: str) -> str:
    """A field of the form that was sent, without blanks around it; empty if it is not there."""
    return request.form.get(name, "").strip()[:_LONGEST]


def typed(before: Mapping[str, str]) -> dict[str, str]:
    """The fields of the form that was sent; one that the form does not have stays as it was."""
    return {name: field(name) if name in request.form else was for name, was in before.items()}


def ask(kind: EntryKind, payload: Mapping[str, object]) -> StoredEntry:
    """Append it and wait a moment: applied, refused, or (a slow disk, no program) still waiting."""
    record = here().record
    number = record.append_entry(Entry(kind=kind, who=person(), payload=dict(payload)))
    until_s = time.monotonic() + float(current_app.config.get(PATIENCE, _PATIENCE_S))
    while True:
        stored = _find(number, (kind,))
        if stored is None:
            raise LookupError(f"entry {number} is gone from the record")
        if stored.applied_ms is not None or stored.refusal or time.monotonic() >= until_s:
            return stored
        time.sleep(_STEP_S)


def asked(*kinds: EntryKind) -> StoredEntry | None:
    """The entry of these kinds that this request's address names; None without, or for another."""
    text = request.args.get("asked", "")
    if not (text.isascii() and text.isdigit() and len(text) < 16):
        return None
    return _find(int(text), kinds)


def _find(number: int, kinds: tuple[EntryKind, ...]) -> StoredEntry | None:
    found = (e for kind in kinds for e in here().record.entries(kind=kind))
    return next((e for e in found if e.id == number), None)
