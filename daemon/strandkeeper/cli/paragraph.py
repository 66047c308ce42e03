"""Sentences broken to the width of a terminal."""

from __future__ import annotations

import textwrap

__all__ = ["WIDTH", "paragraph"]

WIDTH = 88


def paragraph(text: str, *, indent: int = 0, hang: int = 0, width: int = WIDTH) -> str:
    """One sentence or several as lines of at most `width`; those that follow hang in."""
    return textwrap.fill(
        text,
        width=width,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    )
