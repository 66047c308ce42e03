"""Sessions in a signed cookie: HttpOnly, SameSite, Secure where the page came by HTTPS."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from flask import Flask, request
from flask.sessions import SecureCookieSessionInterface
from itsdangerous import URLSafeTimedSerializer

__all__ = ["SignedSessions"]


class SignedSessions(SecureCookieSessionInterface):
    """The framework's signed cookie, with a key that may change and a path below a proxy's."""

    salt = "strandkeeper-session"

    def __init__(self, key: Callable[[], bytes]) -> None:
        self._key = key

    def get_signing_serializer(self, app: Flask) -> URLSafeTimedSerializer:
        """Signs with the key as it is now; HMAC-SHA-256."""
        return URLSafeTimedSerializer(
            self._key(),
            salt=self.salt,
            serializer=self.serializer,
            signer_kwargs={"key_derivation": "hmac", "digest_method": hashlib.sha256},
        )

    def get_cookie_name(self, app: Flask) -> str:
        """What browsers call it."""
        return "strandkeeper-session"

    def get_cookie_path(self, app: Flask) -> str:
        """Everything below the prefix that a proxy put before the pages."""
        return f"{request.script_root}/"

    def get_cookie_secure(self, app: Flask) -> bool:
        """Sent by HTTPS only, if it came by HTTPS."""
        return request.is_secure

    def get_cookie_httponly(self, app: Flask) -> bool:
        """No script reads it."""
        return True

    def get_cookie_samesite(self, app: Flask) -> str:
        """Sent with links that lead here from a message, never with a foreign form."""
        return "Lax"
