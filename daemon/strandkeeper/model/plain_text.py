"""What somebody else wrote, made fit to stand in a line: of a page, a log, a terminal, a file."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["defused", "one_line", "undefused"]

# with these a spreadsheet takes a cell for a formula; common practice, no source
_FORMULA: Final = re.compile(r"'*[=+\-@\t\r]")


def one_line(text: str) -> str:
    r"""The text with a blank for all that cannot be printed, without blanks at its ends.

    Line ends, control characters (also those of terminals), marks that turn the direction of
    writing, and halves of characters are such.

    >>> one_line("quay-1\r\nall is well\x1b[2J")
    'quay-1  all is well [2J'
    """
    if text.isprintable():
        return text.strip(" ")
    return "".join(c if c.isprintable() else " " for c in text).strip(" ")


def defused(cell: str) -> str:
    """A cell of CSV that no spreadsheet takes for a formula: an apostrophe stands before it.

    >>> defused("=1+1"), defused("'=1+1"), defused("blue")
    ("'=1+1", "''=1+1", 'blue')
    """
    return f"'{cell}" if _FORMULA.match(cell) else cell


def undefused(cell: str) -> str:
    """What `defused` was given.

    >>> undefused("'=1+1"), undefused("''=1+1"), undefused("'tis blue")
    ('=1+1', "'=1+1", "'tis blue")
    """
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
