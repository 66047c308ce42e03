"""Pages and figures sent compressed: on a slow network their size is what a person waits for."""

from __future__ import annotations

import gzip
from typing import Final

from flask import Flask, Response, request

__all__ = ["shrink_answers"]

_KINDS: Final = frozenset({"text/html", "application/json", "text/csv"})
_LEAST: Final = 1_000  # bytes; below that a packet is a packet
_LEVEL: Final = 4  # a third of the work of level 6 for a twentieth more bytes, on our own pages


def shrink_answers(app: Flask) -> None:
    """Send what `app` makes with gzip to whoever takes it; assets are compressed already.

    Safe beside secrets because the only one in a page, the token of its forms, is written
    differently each time (access.csrf_field): sizes tell nothing about it.
    """
    app.after_request(_shrunk)


def _shrunk(response: Response) -> Response:
    if response.mimetype not in _KINDS or response.is_streamed:
        return response
    response.vary.add("Accept-Encoding")
    body = response.get_data()
    if (
        len(body) < _LEAST
        or "Content-Encoding" in response.headers
        or request.accept_encodings["gzip"] <= 0
    ):
        return response
    response.set_data(gzip.compress(body, _LEVEL, mtime=0))
    response.headers["Content-Encoding"] = "gzip"
    return response
