"""Which addresses are of this machine alone."""

from __future__ import annotations

import ipaddress

__all__ = ["is_loopback"]


def is_loopback(host: str) -> bool:
    """Whether what listens on `host` can be reached from this machine only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
