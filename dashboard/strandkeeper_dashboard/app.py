"""The application put together: settings, the way to the record, pages, headers."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from flask import Flask, request
from werkzeug.middleware.proxy_fix import ProxyFix

from strandkeeper.alerts import wording
from strandkeeper.config.listening import is_loopback
from strandkeeper.config.users import users_path
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.poll import LinkEnd, PortIdentity
from strandkeeper.model.settings import Settings
from strandkeeper.model.times import iso_utc
from strandkeeper_dashboard import access, assets, figures, headers, shrink, slugs
from strandkeeper_dashboard.context import Context, here
from strandkeeper_dashboard.record import Door
from strandkeeper_dashboard.strands import strand_colour
from strandkeeper_dashboard.views import (
    about,
    alerts,
    api,
    api_more,
    budget,
    cable,
    commission,
    errors,
    findings,
    link,
    links,
    log_in,
    meter,
    paper,
    rework,
    switches,
    theme,
)

__all__ = ["create_app"]

PAGES: Final = (
    ("links.index", "Links"),
    ("findings.index", "Findings"),
    ("alerts.index", "Alerts"),
    ("cable.index", "Cables"),
    ("switches.index", "Switches"),
    ("budget.index", "Budget"),
    ("about.index", "About"),
)


_SESSION: Final = timedelta(days=30)


def now_ms() -> int:
    """The wall clock, UTC epoch, in ms."""
    return time.time_ns() // 1_000_000


def create_app(
    settings: Settings,
    door: Door,
    *,
    clock: Callable[[], int] = now_ms,
    config_path: str = "",
) -> Flask:
    """The dashboard of one station.

    `door` leads to the record; `clock` is the wall clock in ms. Nothing is read until the first
    request.
    """
    app = Flask(__name__, static_folder=None)
    app.config["PERMANENT_SESSION_LIFETIME"] = _SESSION
    app.config["SESSION_REFRESH_EACH_REQUEST"] = False
    app.config["TRUSTED_HOSTS"] = headers.trusted_hosts(
        settings.dashboard.host, settings.behind_proxy
    )
    context = Context(
        settings=settings,
        slugs=slugs.by_link(settings.links),
        door=door,
        clock=clock,
        config_path=config_path,
    )
    app.extensions["strandkeeper"] = context
    app.teardown_appcontext(context.give_back)
    headers.add_headers(app)
    shrink.shrink_answers(app)
    access.install(
        app,
        users_path(Path(settings.store.path)),
        this_machine_only=is_loopback(settings.dashboard.host) and not settings.behind_proxy,
    )
    assets.install(app)
    for view in (
        *(links, link, findings, alerts, cable, meter, rework, commission, switches, budget),
        *(paper, about),
        *(api, api_more, theme, log_in),
    ):
        app.register_blueprint(view.page)
    errors.install(app)
    _prepare_templates(app, settings)
    if settings.behind_proxy:
        _believe_proxy(app)
    return app


def _believe_proxy(app: Flask) -> None:
    """Believe one reverse proxy's X-Forwarded-For, -Proto, -Host and -Prefix."""
    app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
        app.wsgi_app, x_for=1, x_proto=1, x_host=1, x_prefix=1
    )


def _port_of(
    ports: Mapping[LinkEnd, PortIdentity], link: LinkName, end: End
) -> PortIdentity | None:
    return ports.get(LinkEnd(link, end))


def _prepare_templates(app: Flask, settings: Settings) -> None:
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.filters.update(
        age=figures.age,
        breakable=figures.breakable,
        clock=figures.clock,
        day_and_clock=figures.day_and_clock,
        duration=wording.duration,
        iso=iso_utc,
        light_source=wording.light_source,
        port_of=_port_of,
        sentence=figures.sentence,
        size=figures.size,
        strand_colour=strand_colour,
    )
    app.jinja_env.globals.update(station=settings.station, pages=PAGES)

    @app.context_processor
    def common() -> dict[str, object]:
        chosen = request.cookies.get(theme.COOKIE, "auto")
        return {
            "theme": chosen if chosen in theme.THEMES else "auto",
            "now_ms": here().now_ms,
            "zone_name": datetime.now(UTC).astimezone().tzname(),
        }
