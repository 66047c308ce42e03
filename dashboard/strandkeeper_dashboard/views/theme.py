"""Page colours: light, dark, or as the device; kept in a cookie, no script needed."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response, abort, redirect, request

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
    response = redirect(request.script_root + _own_path(request.form.get("back", "")), 303)
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


def _own_path(back: str) -> str:
    """`back` if it is a plain path of this server, else the first screen."""
    plain = back.startswith("/") and not back.startswith("//") and "\\" not in back
    return back.rstrip("?") if plain and back.isprintable() else "/"
