"""Kinds of fibre by name, and what a length of each loses."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from typing import Literal

from strandkeeper.errors import InputError
from strandkeeper.optics.fibre_table import ALIASES, ATTENUATION, ITEMS, Attenuation, Item

__all__ = ["attenuation", "carries", "fibre_name", "fibres", "item", "medium"]


def fibres() -> tuple[str, ...]:
    """The names of every known kind of fibre.

    Parameters
    ----------
    None.

    Returns
    -------
    tuple[str, ...] [-]
        In the table's order: single-mode first.

    Source
    ------
    The rows of fibre_table.

    Example
    -------
    >>> fibres()[0]
    'G.652.D'
    """
    return tuple(dict.fromkeys(row.fibre for row in ATTENUATION))


def fibre_name(text: str) -> str:
    """The kind of fibre a person means; case, dots and dashes do not matter.

    Parameters
    ----------
    text : str [-]
        Such as 'G.652.D', 'g652d', 'SMF' or 'om3'.

    Returns
    -------
    str [-]
        A name of `fibres()`.

    Raises
    ------
    InputError
        When no kind of that name is known, or the name leaves open which multimode fibre it is.

    Source
    ------
    Names: ITU-T G.652, G.657; ISO/IEC 11801. Short forms: common practice, no source.

    Example
    -------
    >>> fibre_name("single-mode")
    'G.652.D'
    """
    key = _key(text)
    names = {_key(name): name for name in fibres()}
    if key in names or key in ALIASES:
        return names.get(key) or ALIASES[key]
    if key in {"MM", "MMF", "MULTIMODE", "50125", "62125", "625125"}:
        raise InputError(
            f"the fibre {text!r} is not clear",
            hint="multimode comes as OM1 (62.5 µm), OM2, OM3, OM4, OM5: the cable's jacket says it",
        )
    near = difflib.get_close_matches(key, list(names), n=3, cutoff=0.4)
    listed = ", ".join([names[k] for k in near] or fibres())
    raise InputError(f"there is no fibre {text!r}", hint=f"nearest: {listed}")


def _key(text: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", text.upper())


def medium(fibre: str) -> Literal["single-mode", "multimode"]:
    """Whether a kind of fibre is single-mode or multimode.

    Parameters
    ----------
    fibre : str [-]
        A name that `fibre_name` accepts.

    Returns
    -------
    Literal [-]
        'single-mode' or 'multimode'.

    Raises
    ------
    InputError
        When the fibre is not known.

    Source
    ------
    ISO/IEC 11801: the OM classes are multimode, the OS classes single-mode.

    Example
    -------
    >>> medium("OM4")
    'multimode'
    """
    return "multimode" if fibre_name(fibre).startswith("OM") else "single-mode"


def attenuation(fibre: str, wavelength_nm: float) -> Attenuation:
    """The row that says what a kilometre of a fibre loses at a wavelength.

    Parameters
    ----------
    fibre : str [-]
        A name that `fibre_name` accepts.
    wavelength_nm : float [nm, > 0]
        In vacuum, as modules state it.

    Returns
    -------
    Attenuation [dB/km]
        Expected and limit, each with its tag, and the source.

    Raises
    ------
    InputError
        When the fibre is not known or nothing is known of it at that wavelength.

    Notes
    -----
    ITU-T states its limits from 1310 nm upward; down to 1260 nm they are taken as the same.

    Source
    ------
    The row's own.

    Example
    -------
    >>> attenuation("G.652.D", 1310).limit_db_km
    0.4
    """
    name = fibre_name(fibre)
    rows = [row for row in ATTENUATION if row.fibre == name]
    for row in rows:
        if _covers(row, wavelength_nm):
            return row
    raise InputError(
        f"nothing is known of {name} fibre at {wavelength_nm:g} nm",
        hint=f"{name} is used at {_bands(rows)}; is the fibre or the wavelength mistyped?",
    )


def carries(fibre: str, wavelength_nm: float) -> bool:
    """Whether anything is known of a fibre at a wavelength.

    Parameters
    ----------
    fibre : str [-]
        A name that `fibre_name` accepts.
    wavelength_nm : float [nm, > 0]
        In vacuum.

    Returns
    -------
    bool [-]
        True when `attenuation` has a row.

    Raises
    ------
    InputError
        When the fibre is not known.

    Source
    ------
    The rows of fibre_table.

    Example
    -------
    >>> carries("G.652.D", 850)
    False
    """
    name = fibre_name(fibre)
    return any(row.fibre == name and _covers(row, wavelength_nm) for row in ATTENUATION)


def _covers(row: Attenuation, wavelength_nm: float) -> bool:
    """Both edges are whole nanometres that belong to the band."""
    return row.low_nm <= wavelength_nm < row.high_nm + 1


def _bands(rows: Sequence[Attenuation]) -> str:
    spans: list[list[int]] = []
    for row in rows:
        if spans and row.low_nm <= spans[-1][1] + 1:
            spans[-1][1] = row.high_nm
        else:
            spans.append([row.low_nm, row.high_nm])
    return " and ".join(f"{low} to {high} nm" for low, high in spans)


def item(kind: Literal["mated pair", "splice"], fibre: str) -> Item:
    """The row that says what one mated pair of connectors, or one splice, loses.

    Parameters
    ----------
    kind : Literal [-]
        'mated pair' or 'splice'.
    fibre : str [-]
        A name that `fibre_name` accepts.

    Returns
    -------
    Item [dB]
        Expected and limit, each with its tag, and the source.

    Raises
    ------
    InputError
        When the fibre is not known.

    Notes
    -----
    A factory-polished field connector hides a mechanical splice: count it as a mated pair and a
    splice.

    Source
    ------
    The row's own: TIA-568.3-D limits, typical design values of a trade body.

    Example
    -------
    >>> item("mated pair", "OM3").limit_db
    0.75
    """
    wanted = "MM" if medium(fibre) == "multimode" else "SM"
    return next(row for row in ITEMS if row.kind == kind and row.medium == wanted)
