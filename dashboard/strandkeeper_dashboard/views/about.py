"""About one installation: releases, record file, what is kept how long, how often is asked."""

from __future__ import annotations

import platform
from importlib.metadata import version

from flask import Blueprint, render_template, url_for

from strandkeeper import __version__
from strandkeeper_dashboard import access
from strandkeeper_dashboard.context import here
from strandkeeper_dashboard.health import record_stale_after_ms

__all__ = ["page"]

page = Blueprint("about", __name__)


@page.get("/about")
def index() -> str:
    """Versions, sizes, retention, intervals."""
    context = here()
    info = context.record.info()
    newest = info.newest_ms
    return render_template(
        "about.html",
        info=info,
        settings=context.settings,
        config_path=context.config_path,
        users=sorted(access.gate().book.users),
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
        live_url=url_for("api.live"),
    )
