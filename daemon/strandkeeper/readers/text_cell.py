"""A cell that holds a figure as text, as switches write them: `-5.23 dBm`, `-5,23`, `N/A`, `-inf`.

One number, or the same figure in several units, with or without a label before it and alarm marks
behind it. A comma is a decimal comma: no figure of a module needs thousands separated. What is none
of this is refused, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from strandkeeper.errors import DecodeError
from strandkeeper.model.enterprise_table import SPELLINGS, UNITS, CellUnit

__all__ = ["CellNumber", "folded", "read_numbers"]

_LONGEST = 80  # characters; no switch writes a figure longer
_MINUS = str.maketrans(dict.fromkeys("\u2212\u2012\u2013\ufe63\uff0d", "-"))
_MICRO = str.maketrans({"\u00b5": "u", "\u03bc": "u", "\u00a0": " ", "\u202f": " "})
_NUMBER = r"[+-]?(?:\d{1,20}(?:[.,]\d{0,20})?|[.,]\d{1,20})(?:e[+-]?\d{1,2})?"
_TOKEN = re.compile(
    rf"(?P<number>{_NUMBER})(?![\d.,])|(?P<infinite>[+-]?inf(?:inity)?)(?![a-z])"
    r"|(?P<word>°\s?c|[^\W\d_]+)|(?P<mark>[-*!+/()\[\]|;:=<>#~^])|(?P<blank>\s+)"
)
_PARTING = frozenset("/|;(")
_LABELS_END = frozenset(":=")
# what switches add behind a figure that is beyond a limit, or is not; common practice, no source
_REMARKS: Final = frozenset(
    "alarm warning warn high low hi lo ok normal h l a w ha la hw lw".split()
)


@dataclass(frozen=True, slots=True)
class CellNumber:
    """A number in a cell. `value` None: minus infinity. `unit` None: the cell does not say.

    `half_step`: half of its last decimal place, in the same count.
    """

    value: Fraction | None
    unit: CellUnit | None
    half_step: Fraction = Fraction(0)


def folded(raw: bytes | str) -> str:
    """The text of a cell for comparing words: one kind of minus, no case, padding or rest.

    >>> folded(b" -5.23  DBM ")
    '-5.23 dbm'
    """
    text = raw.decode("utf-8", "replace") if isinstance(raw, bytes) else raw
    text = text.partition("\0")[0]
    return " ".join(text.translate(_MINUS).translate(_MICRO).lower().split())


def read_numbers(text: str) -> tuple[CellNumber, ...]:
    """The numbers in a folded cell, each with the unit that stands behind it; at least one.

    Raises DecodeError when there is none, or something beside them that is neither label, unit,
    sign nor mark.

    >>> [float(n.value) for n in read_numbers("-5,23 dbm / 0,30 mw") if n.value is not None]
    [-5.23, 0.3]
    """
    if len(text) > _LONGEST:
        raise DecodeError(f"a cell of {len(text)} characters is no figure", offset=_LONGEST)
    tokens = _tokens(text)
    start = next((i for i, (kind, _, _) in enumerate(tokens) if kind in _FIGURES), None)
    if start is None:
        raise DecodeError(f"{text!r} holds no number", offset=0)
    _before(text, tokens[:start])
    return tuple(_numbers(text, tokens[start:]))


_FIGURES: Final = ("number", "infinite")
_Token = tuple[str, str, int]  # kind, text, where


def _tokens(text: str) -> list[_Token]:
    tokens: list[_Token] = []
    at = 0
    while at < len(text):
        found = _TOKEN.match(text, at)
        if found is None:
            raise DecodeError(f"{text!r}: what is {text[at]!r} there?", offset=at)
        kind = str(found.lastgroup)
        if kind != "blank":
            tokens.append((kind, found.group(), at))
        at = found.end()
    return tokens


def _before(text: str, tokens: list[_Token]) -> None:
    """Nothing, a label with a colon, or a placeholder parted from the number."""
    if tokens and tokens[-1][1] not in (_PARTING | _LABELS_END):
        raise DecodeError(f"{text!r}: what stands before the number?", offset=tokens[0][2])


def _numbers(text: str, tokens: list[_Token]) -> Iterator[CellNumber]:
    """Numbers with their units; between two of them must be something that parts them."""
    parted = True
    at = 0
    while at < len(tokens):
        kind, part, offset = tokens[at]
        at += 1
        if kind in _FIGURES:
            if not parted:
                raise DecodeError(f"{text!r}: two numbers run into each other", offset=offset)
            unit = _unit_of(tokens[at][1]) if at < len(tokens) else None
            at += unit is not None
            yield _number(part, unit, kind)
            parted = False
        elif kind == "word" and part not in _REMARKS:
            raise DecodeError(f"{text!r}: what is {part!r}?", offset=offset)
        elif part in _PARTING:
            parted = True


def _unit_of(word: str) -> CellUnit | None:
    plain = word.replace(" ", "")
    found = UNITS.get(SPELLINGS.get(plain, plain))
    return None if found is None else CellUnit(found[1], found[0])


def _number(part: str, unit: CellUnit | None, kind: str) -> CellNumber:
    if kind == "infinite":
        if not part.startswith("-"):
            raise DecodeError(f"{part!r} is no figure", offset=0)
        return CellNumber(None, unit)
    plain = part.replace(",", ".")
    mantissa, _, power = plain.partition("e")
    scale = Fraction(10) ** int(power or 0)
    places = len(mantissa.partition(".")[2])
    return CellNumber(Fraction(mantissa) * scale, unit, Fraction(1, 2 * 10**places) * scale)
