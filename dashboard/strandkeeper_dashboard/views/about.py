"""About one installation: the record and its care, signs of life, what is kept how long."""

from __future__ import annotations

import platform
from importlib.metadata import version

from flask import Blueprint, render_template, url_for

from strandkeeper import __version__
from strandkeeper.model.telling import Heartbeat
from strandkeeper.store.care import Care, read_care
from strandkeeper.store.database import CHECKED_UP_TO_BYTES
from strandkeeper_dashboard import access
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.health import record_stale_after_ms

__all__ = ["page"]

page = Blueprint("about", __name__)


@page.get("/about")
def index() -> str:
    """Sizes, backups, signs of life, retention, intervals, releases."""
    context = here()
    info = context.record.info()
    newest, care = info.newest_ms, context.record.ask(read_care)
    return render_template(
        "about.html",
        info=info,
        settings=context.settings,
        config_path=context.config_path,
        users=sorted(access.gate().book.users),
        scripts=sorted(access.gate().book.tokens),
        care=care,
        beat_missing=_is_missing(care, context.settings.telling.heartbeat, context.now_ms),
        moves=newest is not None
        and context.now_ms - newest <= record_stale_after_ms(context.settings),
        releases=[
            ("Strandkeeper", __version__),
            ("Python", platform.python_version()),
            ("SQLite", info.sqlite),
            ("Flask", version("flask")),
            ("Waitress", version("waitress")),
            ("Plotly", version("plotly")),
        ],
        checked_at_start=info.size_bytes <= CHECKED_UP_TO_BYTES,
        live_url=url_for("api.live"),
    )


def _is_missing(care: Care, heartbeat: Heartbeat | None, now_ms: int) -> bool:
    """Whether signs of life do not arrive: the last was refused, or none came for two spans."""
    if heartbeat is None:
        return False
    if care.beat is None:
        return care.refused is not None
    late = now_ms - care.beat.at_ms > 2 * heartbeat.every_s * 1000
    return late or (care.refused is not None and care.refused.at_ms > care.beat.at_ms)
