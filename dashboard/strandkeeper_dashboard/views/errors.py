"""What goes wrong, as a page or as JSON of one shape, always with what to do."""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import Final

from flask import Flask, Response, jsonify, make_response, render_template, request
from werkzeug.exceptions import (
    HTTPException,
    MethodNotAllowed,
    SecurityError,
    TooManyRequests,
    Unauthorized,
)

from strandkeeper.errors import InputError, StoreError
from strandkeeper_dashboard.record import RecordMissingError

__all__ = ["install"]

LOG = logging.getLogger(__name__)

_WORDS: Final = {
    401: (
        "Log in first",
        "Open the pages in a browser and log in there; a script sends its token"
        " (strandkeeper user token) as 'Authorization: Bearer TOKEN'.",
    ),
    403: ("This form cannot be used any more", "Go back, load the page again, and send it again."),
    404: ("There is no such page", "Go to the links, or check the address."),
    405: ("This page cannot be used that way", "Go back and use the links and buttons."),
    429: ("Too many wrong guesses", "Wait as long as the header Retry-After says."),
    500: ("This page failed", "It is our bug; the log of the dashboard has the details."),
}


def install(app: Flask) -> None:
    """Answer every error of `app`."""
    app.register_error_handler(RecordMissingError, _waiting)
    app.register_error_handler(StoreError, _store)
    app.register_error_handler(InputError, _input)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _bug)


def _wants_json() -> bool:
    return request.path.startswith("/api/")


def _json_error(status: int, message: str, hint: str) -> Response:
    code = HTTPStatus(status).phrase.lower().replace(" ", "-")
    body = {"error": {"status": status, "code": code, "message": message, "hint": hint}}
    response = jsonify(body)
    response.status_code = status
    response.headers["Cache-Control"] = "no-store"
    return response


def _answer(status: int, message: str, hint: str, template: str = "error.html") -> Response:
    if _wants_json():
        return _json_error(status, message, hint)
    response = make_response(render_template(template, message=message, hint=hint), status)
    response.headers["Cache-Control"] = "no-store"
    return response


def _waiting(error: RecordMissingError) -> Response:
    response = _answer(503, error.message, error.hint, "waiting.html")
    response.headers["Retry-After"] = "5"
    return response


def _store(error: StoreError) -> Response:
    LOG.error("record could not be read error=%s", error.message)
    return _answer(503, error.message, error.hint)


def _input(error: InputError) -> Response:
    return _answer(400, error.message, error.hint)


def _http(error: HTTPException) -> Response:
    if isinstance(error, SecurityError):  # no page can be made for a host that is not ours
        return make_response(
            "This server is not called that.\n", 400, {"Content-Type": "text/plain"}
        )
    status = error.code or 500
    message, hint = _WORDS.get(status, (error.name, ""))
    said = error.description or ""
    own = said if said != type(error).description else ""
    response = _answer(status, own or message, hint)
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        response.headers["Allow"] = ", ".join(error.valid_methods)
    if isinstance(error, TooManyRequests) and error.retry_after is not None:
        response.headers["Retry-After"] = str(error.retry_after)
    if isinstance(error, Unauthorized):
        response.headers["WWW-Authenticate"] = 'Bearer realm="strandkeeper"'
    return response


def _bug(error: Exception) -> Response:
    LOG.error("page failed path=%s", request.path, exc_info=error)
    return _answer(500, *_WORDS[500])
