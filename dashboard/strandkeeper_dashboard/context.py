"""What every page may use: the settings, the clock, the record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import cast

from flask import abort, current_app, g

from strandkeeper.model.link import Link
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings
from strandkeeper_dashboard.record import OpenRecord, Record

__all__ = ["Context", "here"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """Hung on the application; the same for every request."""

    settings: Settings
    slugs: Mapping[LinkName, str]
    open_record: OpenRecord
    clock: Callable[[], int]
    config_path: str = ""

    @property
    def record(self) -> Record:
        """The reader of this thread. Raises StoreError; the error page then says what to do."""
        return self.open_record()

    @property
    def now_ms(self) -> int:
        """The moment of this request: one for the whole page."""
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
