"""Who may look in, and that a form was sent from a page of ours.

For a page with a form there are three things to know:

* Inside every `<form method="post">` of a template write `{{ csrf_field() }}`. The view does
  nothing: a POST (or any method but GET, HEAD, OPTIONS) whose token does not fit is refused with
  403 before its view runs, so no view can forget to look, and none needs a decorator.
* `person()` says who acts, for `Entry.who`: the name that logged in, or, where nobody has to
  (this machine only, no user configured), 'someone at this computer'.
* After acting, lead back with `redirect(way_back(), 303)` of way_back.py.

Tests send a form with `post(client, path, data)` of their conftest, which adds the token.
Nobody has to log in as long as the pages are served to this machine alone and there is no user.
A script reads the JSON with a token of its own (scripts.py), and nothing else.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
from pathlib import Path
from typing import Final, cast

from flask import Flask, abort, current_app, g, redirect, request, session, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from strandkeeper.config.users import UserBook, read_users
from strandkeeper.errors import InputError, StoreError
from strandkeeper_dashboard import scripts
from strandkeeper_dashboard.sessions import SignedSessions

__all__ = [
    "ANYBODY",
    "Gate",
    "csrf_field",
    "enter",
    "gate",
    "install",
    "leave",
    "person",
    "written_token",
]

ANYBODY: Final = "someone at this computer"
_HARMLESS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
# What somebody who is not logged in may have: the log-in itself and the colours of its page.
_OPEN: Final = frozenset({"log_in.index", "log_in.enter", "theme.choose"})


class Gate:
    """Knows the users, out of their file as it is now, and whether one has to be one of them."""

    def __init__(self, path: Path, *, this_machine_only: bool) -> None:
        self.path = path
        self._this_machine_only = this_machine_only
        self._own_key = secrets.token_bytes(32)
        self._lock = threading.Lock()
        self._seen: tuple[int, int, int] | None = None
        self._book = UserBook()

    @property
    def book(self) -> UserBook:
        """The users now. Raises StoreError where the file cannot be read."""
        with self._lock:
            seen = self._look()
            if seen != self._seen:
                try:
                    self._book = read_users(self.path)
                except InputError as error:
                    raise StoreError(error.message, hint=error.hint) from error
                self._seen = seen
            return self._book

    def _look(self) -> tuple[int, int, int] | None:
        try:
            found = self.path.stat()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(
                f"the users in {self.path} cannot be reached: {error.strerror}",
                hint="let the user that serves the pages read the file and its directory",
            ) from error
        return found.st_ino, found.st_mtime_ns, found.st_size

    @property
    def closed(self) -> bool:
        """Whether one has to log in. Raises StoreError."""
        return not self._this_machine_only or bool(self.book.users)

    def key(self) -> bytes:
        """What signs sessions: the file's key, this process's own without one."""
        try:
            return self.book.key or self._own_key
        except StoreError:  # the page that says so still has to be made
            return self._own_key


def gate() -> Gate:
    """The gate of the application that serves this request."""
    return cast("Gate", current_app.extensions["strandkeeper-gate"])


def install(app: Flask, path: Path, *, this_machine_only: bool) -> None:
    """Close `app` to whom it does not concern; `path` is the file of the users."""
    at_gate = Gate(path, this_machine_only=this_machine_only)
    app.extensions["strandkeeper-gate"] = at_gate
    app.session_interface = SignedSessions(at_gate.key)
    scripts.install(app)
    app.before_request(_check)
    app.jinja_env.globals.update(csrf_field=csrf_field)


def _check() -> Response | None:
    if request.endpoint == "assets.asset":  # the same for everybody, and kept by caches
        return None
    g.locked = True  # until it is known who asks: an error page then shows no way in
    at_gate = gate()
    if scripts.has_token():
        scripts.check(at_gate.book)
        g.locked = False
        return None
    known = session.get("user")
    user = at_gate.book.users.get(known) if isinstance(known, str) else None
    if user is not None and hmac.compare_digest(str(session.get("mark")), user.mark):
        g.person = known
    g.locked = at_gate.closed and "person" not in g
    if g.locked and request.endpoint not in _OPEN:
        return _log_in_first()
    acts = request.endpoint is not None and request.method not in _HARMLESS
    if acts and not _token_fits():
        abort(403, "This form is older than the log-in or the program that it was made by.")
    return None


def _log_in_first() -> Response:
    if request.path.startswith("/api/"):
        abort(401, "Log in first.")
    back = request.full_path.rstrip("?") if request.method in _HARMLESS else "/"
    return redirect(url_for("log_in.index", back=back), 303)


def _token_fits() -> bool:
    secret, nonce = str(session.get("csrf", "")), request.form.get("csrf", "").partition(".")[0]
    given, wanted = request.form.get("csrf", ""), written_token(secret, nonce)
    return bool(secret) and hmac.compare_digest(given.encode(), wanted.encode())


def _secret() -> str:
    if "csrf" not in session:
        session["csrf"] = secrets.token_urlsafe(24)
    return str(session["csrf"])


def written_token(secret: str, nonce: str) -> str:
    """What stands in a form for the session's `secret`; another nonce, another text.

    A page never holds the secret itself nor the same text twice, so that the size of a compressed
    page, which somebody on the network sees, gives nothing away bit by bit.
    """
    digest = hmac.new(secret.encode(), nonce.encode(), hashlib.sha256).hexdigest()
    return f"{nonce}.{digest}"


def csrf_field() -> Markup:
    """The hidden field that every form of ours carries."""
    token = written_token(_secret(), secrets.token_hex(8))
    return Markup('<input type="hidden" name="csrf" value="{}">').format(token)


def person() -> str:
    """Who asks: the name that logged in, else ANYBODY."""
    return str(g.get("person", ANYBODY))


def enter(name: str, mark: str) -> None:
    """Begin a session of that user, with a token of its own."""
    session.clear()
    session.permanent = True
    session.update(user=name, mark=mark, csrf=secrets.token_urlsafe(24))


def leave() -> None:
    """End the session of this browser."""
    session.clear()
