"""Where a form leads back to: a page of this server, never elsewhere."""

from __future__ import annotations

from flask import request

__all__ = ["own_path", "way_back"]


def own_path(back: str) -> str:
    """`back` if it is a plain path of this server, else the first screen."""
    plain = back.startswith("/") and not back.startswith("//") and "\\" not in back
    return back.rstrip("?") if plain and back.isprintable() else "/"


def way_back() -> str:
    """The page that this request's field or argument `back` names, below a proxy's prefix."""
    asked = request.form.get("back") or request.args.get("back") or ""
    return request.script_root + own_path(asked)
