"""What every page may use: the settings, the clock, the record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import cast

from flask import abort, current_app, g, request

from strandkeeper.alerts.wording_units import Units
from strandkeeper.model.link import Link
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.store import RecordReader
from strandkeeper_dashboard import trends
from strandkeeper_dashboard.record import Door
from strandkeeper_dashboard.window import Window, window

__all__ = ["Context", "here", "window_of_request"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """Hung on the application; the same for every request."""

    settings: Settings
    slugs: Mapping[LinkName, str]
    door: Door
    clock: Callable[[], int]
    config_path: str = ""

    @property
    def record(self) -> RecordReader:
        """The record, lent to this request. Raises StoreError; the error page says what to do."""
        if "record" not in g:
            g.record = self.door.lend()
        return cast("RecordReader", g.record)

    def give_back(self, _error: BaseException | None = None) -> None:
        """Give the record back at the end of a request."""
        if g.pop("record", None) is not None:
            self.door.take_back()

    @property
    def units(self) -> Units:
        """What the owner reads lengths and temperatures in."""
        telling = self.settings.telling
        return Units(feet=telling.feet, fahrenheit=telling.fahrenheit)

    @property
    def now_ms(self) -> int:
        """The moment of this request: one for the whole page."""
        if "now_ms" not in g:
            g.now_ms = self.clock()
        return cast("int", g.now_ms)

    def link(self, slug: str) -> Link:
        """The link of that address; ends the request with 404 if there is none."""
        for link in self.settings.links:
            if self.slugs[link.name] == slug:
                return link
        abort(404, f"There is no link {slug!r} in the configuration.")


def here() -> Context:
    """The context of the application that serves this request."""
    return cast("Context", current_app.extensions["strandkeeper"])


def window_of_request(link: Link) -> Window:
    """The stretch of time this request's address asks for. Raises InputError."""
    context, asked = here(), request.args
    range_id = asked.get("range")
    first = trends.first_ms(link, context.record, context.now_ms) if range_id == "all" else None
    return window(
        range_id, asked.get("from"), asked.get("to"), now_ms=context.now_ms, first_ms=first
    )
