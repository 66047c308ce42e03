"""Page colours: light, dark, or as the device; kept in a cookie, no script needed."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response, abort, redirect, request

from strandkeeper_dashboard.way_back import way_back

__all__ = ["COOKIE", "THEMES", "page"]

COOKIE: Final = "strandkeeper-colours"
THEMES: Final = ("auto", "light", "dark")
_YEAR_S: Final = 365 * 86400

page = Blueprint("theme", __name__)


@page.post("/colours")
def choose() -> Response:
    """Keep the choice and go back to the page it was made on."""
    chosen = request.form.get("theme", "")
    if chosen not in THEMES:
        abort(400, "The page colours are auto, light or dark.")
    response = redirect(way_back(), 303)
    response.set_cookie(
        COOKIE,
        chosen,
        max_age=_YEAR_S,
        path=f"{request.script_root}/",
        httponly=True,
        samesite="Strict",
        secure=request.is_secure,
    )
    return response  # type: ignore[return-value]
