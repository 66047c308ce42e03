"""Scripts that read the JSON: a token in the header `Authorization: Bearer ...`, never elsewhere.

`strandkeeper user token` makes one. It opens the addresses below /api/, to read, and nothing else;
no session comes of it. Wrong ones have to wait as wrong passwords do, apart from people who log in.
"""

from __future__ import annotations

import math
import time
from typing import Final, cast

from flask import Flask, abort, current_app, request
from werkzeug.exceptions import TooManyRequests

from strandkeeper.config.users import UserBook, script_of
from strandkeeper_dashboard.throttle import Throttle

__all__ = ["check", "has_token", "install"]

_THROTTLE: Final = "strandkeeper-script-throttle"


def install(app: Flask) -> None:
    """Keep count of wrong tokens."""
    app.extensions[_THROTTLE] = Throttle(time.monotonic)


def has_token() -> bool:
    """Whether this request asks for figures with a token."""
    given = request.authorization
    reads = request.method in ("GET", "HEAD") and request.path.startswith("/api/")
    return reads and given is not None and given.type == "bearer"


def check(book: UserBook) -> None:
    """End the request with 429 or 401 unless its token is a script's."""
    throttle = cast("Throttle", current_app.extensions[_THROTTLE])
    key = f"from {request.remote_addr}"
    wait_s = throttle.wait_s(key)
    if wait_s > 0:
        raise TooManyRequests("Too many wrong tokens.", retry_after=math.ceil(wait_s))
    given = request.authorization
    token = "" if given is None else given.token or ""
    if script_of(book, token) is None:
        throttle.failed(key)
        abort(401, "There is no script with that token.")
    throttle.forgive(key)
