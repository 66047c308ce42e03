"""Addresses of links: readable, safe in a URL, one for each."""

from __future__ import annotations

from collections.abc import Iterable

from strandkeeper.model.link import Link
from strandkeeper.model.names import LinkName

__all__ = ["by_link", "slug"]


def slug(name: str) -> str:
    """`name` in small letters and digits, all else a hyphen: 'Lab – Jetty' is 'lab-jetty'.

    Letters of any script stay; a name without letters or digits becomes 'link'.
    """
    spaced = "".join(c if c.isalnum() else " " for c in name.lower())
    return "-".join(spaced.split()) or "link"


def by_link(links: Iterable[Link]) -> dict[LinkName, str]:
    """A slug for every link; where two would share one, the later gets a number."""
    found: dict[LinkName, str] = {}
    for link in links:
        base = wanted = slug(link.name)
        number = 2
        while wanted in found.values():
            wanted = f"{base}-{number}"
            number += 1
        found[link.name] = wanted
    return found
