"""TOML text to a dictionary; what the parser dislikes, in plain words with the line."""

from __future__ import annotations

import re
import tomllib
from typing import Any, Final

from strandkeeper.errors import ConfigError

__all__ = ["comment", "parse", "quoted"]

_ESCAPES: Final = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}

# the start of the parser's words: ours
PLAIN: Final = (
    ("Expected '=' after a key", "a key needs `= value` after it"),
    (
        "Invalid value",
        "this is not a value; text stands in double quotes, numbers and true/false do not",
    ),
    ("Invalid statement", "this is neither `key = value`, nor a [table], nor a # comment"),
    ("Cannot overwrite a value", "this key is there twice; keep one of them"),
    ("Duplicate inline table key", "this key is there twice; keep one of them"),
    ("Cannot declare", "this table is there twice; a list of things has [[double]] brackets"),
    ("Cannot mutate", "this table is written in one place and continued in another; join them"),
    ("Illegal character", "a text is not closed on its line; a double quote is missing"),
    ("Unterminated string", "a text is not closed; a double quote is missing"),
    ("Expected newline or end", "something follows the value; one `key = value` a line"),
    ("Unclosed array", "a list is not closed; a ] is missing, or a comma"),
    ("Unclosed inline table", "a { ... } is not closed; a } is missing, or a comma"),
    ("Expected ']", "the table's name is not closed; a ] is missing"),
    ("Unescaped", "a backslash inside double quotes must be doubled"),
    ("Invalid initial character for a key", "a key starts with a letter, a digit, _ or -"),
)


def parse(text: str, name: str) -> dict[str, Any]:
    """The file as a dictionary. Raises ConfigError with the line, in plain words.

    Of the line only the start is shown, up to an `=` or a quote: the rest could be a secret.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problem = _plain(str(error), text)
    except RecursionError:
        problem = "lists or tables stand in one another, deeper than any key needs"
    raise ConfigError(f"{name}: cannot be read as TOML", problems=(problem,))


def _plain(message: str, text: str) -> str:
    said = next((ours for theirs, ours in PLAIN if message.startswith(theirs)), None)
    said = said or message.partition(" (at ")[0]
    found = re.search(r"at line (\d+), column \d+", message)
    if found is None:
        return f"at the end: {said}"
    number = int(found.group(1))
    lines = text.splitlines()
    start = re.split(r"[=\"'{]", lines[number - 1])[0].strip() if number <= len(lines) else ""
    return f"line {number} ({start[:40]} ...): {said}" if start else f"line {number}: {said}"


def quoted(text: str) -> str:
    """A basic string of TOML that holds any text; what cannot be printed is escaped."""
    return '"' + "".join(_ESCAPES.get(c) or _printable(c) for c in text) + '"'


def comment(text: str) -> str:
    """A comment line that holds any text: one line, nothing in it that cannot be printed."""
    return "# " + "".join(c if c.isprintable() else " " for c in text).rstrip()


def _printable(char: str) -> str:
    if char.isprintable():
        return char
    number = ord(char)
    if 0xD800 <= number <= 0xDFFF:
        return "\ufffd"  # half of a character: TOML has no way to write it
    return f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"
