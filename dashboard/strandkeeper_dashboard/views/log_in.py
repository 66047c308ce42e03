"""Logging in and out, for whoever is not at this computer."""

from __future__ import annotations

import math
import threading
import time
from typing import Final

from flask import Blueprint, current_app, redirect, render_template, request
from werkzeug.wrappers import Response

from strandkeeper.config.users import verified
from strandkeeper_dashboard import access
from strandkeeper_dashboard.throttle import Throttle
from strandkeeper_dashboard.way_back import own_path, way_back

__all__ = ["page"]

page = Blueprint("log_in", __name__)

_PATIENCE_S: Final = 3.0
# One password is checked at a time: each takes memory and time on purpose.
_CHECKING = threading.Lock()


@page.record_once
def _prepare(state: object) -> None:
    app = state.app  # type: ignore[attr-defined]
    app.extensions["strandkeeper-throttle"] = Throttle(time.monotonic)


@page.get("/log-in")
def index() -> str | Response:
    """The form; whoever is in already goes on."""
    if not access.gate().closed or access.person() != access.ANYBODY:
        return redirect(way_back(), 303)
    return _form("")


@page.post("/log-in")
def enter() -> str | Response | tuple[str, int] | tuple[str, int, dict[str, str]]:
    """Check name and password; wrong guesses have to wait."""
    name, password = request.form.get("name", ""), request.form.get("password", "")
    throttle: Throttle = current_app.extensions["strandkeeper-throttle"]
    keys = (f"name {name[:64]}", f"from {request.remote_addr}")
    if not _CHECKING.acquire(timeout=_PATIENCE_S):
        return _wait(_PATIENCE_S)
    try:
        wait_s = throttle.wait_s(*keys)
        if wait_s > 0:
            return _wait(wait_s)
        user = verified(access.gate().book, name, password)
        if user is None:
            throttle.failed(*keys)
            return _form("That name and that password do not fit."), 403
        throttle.forgive(*keys)
    finally:
        _CHECKING.release()
    access.enter(name, user.mark)
    return redirect(way_back(), 303)


@page.post("/log-out")
def leave() -> Response:
    """End the session and show the first screen, which may ask to log in."""
    access.leave()
    return redirect(f"{request.script_root}/", 303)


def _wait(wait_s: float) -> tuple[str, int, dict[str, str]]:
    seconds = math.ceil(wait_s)
    told = f"Too many wrong guesses: wait {seconds} second{'' if seconds == 1 else 's'}."
    return _form(told), 429, {"Retry-After": str(seconds)}


def _form(trouble: str) -> str:
    return render_template(
        "log_in.html",
        trouble=trouble,
        name=request.form.get("name", ""),
        back=own_path(request.values.get("back", "")),
        anybody_known=bool(access.gate().book.users),
    )
