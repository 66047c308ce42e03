"""Strict headers on every response, and which hosts may be asked for."""

from __future__ import annotations

import ipaddress
from typing import Final

from flask import Flask, Response, g

__all__ = ["CONTENT_SECURITY_POLICY", "add_headers", "trusted_hosts"]

CONTENT_SECURITY_POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",  # the plot's picture export
        "connect-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)

_HEADERS: Final = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}


def add_headers(app: Flask) -> None:
    """Put the headers on every response of `app`, errors and assets included."""

    @app.after_request
    def strict(response: Response) -> Response:
        for name, value in _HEADERS.items():
            response.headers[name] = value
        kept = "no-store" if "person" in g else "private, no-cache"
        response.headers.setdefault("Cache-Control", kept)
        return response


def trusted_hosts(host: str, behind_proxy: str = "") -> list[str] | None:
    """Names under which a server listening on `host` may be asked for; None: any.

    On loopback only loopback's own names, so that a foreign page cannot reach it by pointing its
    own name at 127.0.0.1; and the name under which a configured reverse proxy serves the pages.
    """
    try:
        address = ipaddress.ip_address("127.0.0.1" if host == "localhost" else host)
    except ValueError:
        return None
    if not address.is_loopback:
        return None
    own = f"[{address}]" if address.version == 6 else f"{address}"
    return sorted({"localhost", "127.0.0.1", "[::1]", own, behind_proxy} - {""})
