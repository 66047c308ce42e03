"""What a module says of itself, out of a table's cells and out of its serial page."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from strandkeeper.model.module import ModuleFacts
from strandkeeper.model.oid import Absent, Oid, Value, as_text
from strandkeeper.optics.sff8472.identity import Identity

__all__ = ["facts_of_cells", "facts_of_page", "wavelength_in", "wavelength_nm"]

SHORTEST_NM, LONGEST_NM = 700.0, 1700.0  # common practice, no source: light of pluggable modules
_COUNTS: Final = (1, 10, 100, 1000)  # counts a nanometre
_WAVELENGTH = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*(nm|um|µm|μm|)\W*$", re.IGNORECASE)
_IN_WORDS = re.compile(r"(?<![\d.,])(\d{3,4}(?:[.,]\d{1,3})?)\s?nm\b", re.IGNORECASE)
_NOT_SAID: Final = (None, Absent.NOT_ANSWERED, Absent.FAILED)


def facts_of_cells(cells: Mapping[str, Oid], values: Mapping[Oid, Value]) -> ModuleFacts | None:
    """The facts in the cells named `serial`, `maker`, `part` and `wavelength`.

    None if there are no cells, or one of them was not answered this time: half an identity would
    look like another module.
    """
    if not cells or any(values.get(oid) in _NOT_SAID for oid in cells.values()):
        return None
    said = {name: values[oid] for name, oid in cells.items()}
    return ModuleFacts(
        serial=as_text(said.get("serial")),
        maker=as_text(said.get("maker")),
        part=as_text(said.get("part")),
        wavelength_nm=wavelength_nm(said.get("wavelength")),
    )


def facts_of_page(identity: Identity | None) -> ModuleFacts | None:
    """The facts in a serial page; None without a page whose checksums are right."""
    if identity is None or not identity.sound:
        return None
    wavelength = None if identity.cable_assembly else identity.wavelength_nm
    return ModuleFacts(
        serial=identity.serial or "",
        maker=identity.vendor or "",
        part=identity.part or "",
        wavelength_nm=float(wavelength) if wavelength else None,
    )


def wavelength_nm(value: Value | None) -> float | None:
    """A wavelength in nm out of a number or a text, None if it is none.

    A bare number may count nm, or tenths, hundredths or thousandths of it: only one of them lies
    between 700 and 1700 nm, so nothing is guessed.

    >>> wavelength_nm(131000), wavelength_nm(b"1550,12 nm"), wavelength_nm(b"1.31 um")
    (1310.0, 1550.12, 1310.0)
    """
    text = str(value) if isinstance(value, int) else as_text(value)
    found = _WAVELENGTH.match(text)
    if found is None:
        return None
    number = float(found[1].replace(",", "."))
    if found[2] and found[2].lower() != "nm":
        number = round(1000 * number, 6)
    counts = (1,) if found[2] else _COUNTS
    return next((number / n for n in counts if SHORTEST_NM <= number / n <= LONGEST_NM), None)


def wavelength_in(text: str) -> float | None:
    """The one wavelength that a description names, in nm; None if it names none, or several.

    >>> wavelength_in("1000BASE-LX, 1310nm, 10 km"), wavelength_in("BiDi 1310nm/1490nm")
    (1310.0, None)
    """
    named = {float(number.replace(",", ".")) for number in _IN_WORDS.findall(text)}
    possible = [n for n in named if SHORTEST_NM <= n <= LONGEST_NM]
    return possible[0] if len(possible) == 1 else None
