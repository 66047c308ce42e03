"""Standard optics (PMD): what a class of module promises, looked up by name or ifMauType."""

from __future__ import annotations

import difflib
import re
from functools import cache
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.optics.mau_table import MAU_TYPES
from strandkeeper.optics.pmd_spec import PmdSpec, spec_from_rows
from strandkeeper.optics.pmd_table import IDENTITIES, POWERS
from strandkeeper.optics.receiver import PmdLimits, receiver_limits

__all__ = ["PmdLimits", "PmdSpec", "all_pmds", "by_mau_type", "by_name", "receiver_limits"]


_AMBIGUOUS: Final = {
    "1000BASELH": "makers use it for 1000BASE-LX10 and for 1000BASE-EX: say which of the two",
    "1000BASELXLH": "makers use it for 1000BASE-LX10 (10 km): say 1000BASE-LX10",
    "BX": "a single-strand pair has two unlike ends: say -D or -U (-D sends the longer wavelength)",
}


@cache
def _specs() -> dict[str, PmdSpec]:
    powers = {row.name: row for row in POWERS}
    return {row.name: spec_from_rows(row, powers[row.name]) for row in IDENTITIES}


@cache
def _keys() -> dict[str, str]:
    names = {_key(row.name): row.name for row in IDENTITIES}
    return names | {_key(a): row.name for row in IDENTITIES for a in row.aliases.split()}


def _key(name: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", name.upper())


def all_pmds() -> tuple[PmdSpec, ...]:
    """Every known class, in the table's order: rising rate, the non-standard ones last.

    Parameters
    ----------
    None.

    Returns
    -------
    tuple[PmdSpec, ...] [-]
        Never empty.

    Source
    ------
    The rows of pmd_table, each with its clause.

    Example
    -------
    >>> all_pmds()[0].name
    '100BASE-FX'
    """
    return tuple(_specs().values())


def by_name(name: str) -> PmdSpec:
    """The class of that name; case, blanks and dashes do not matter.

    Parameters
    ----------
    name : str [-]
        As in IEEE 802.3, such as '1000BASE-LX10', or a name the trade uses for the same class.

    Returns
    -------
    PmdSpec [dBm, dB, nm, Bd, m]
        The class.

    Raises
    ------
    InputError
        When there is no such class, or the name means more than one; the hint lists the nearest.

    Source
    ------
    Names: IEEE 802.3 clause 1.4 definitions; the trade's: common practice, no source.

    Example
    -------
    >>> by_name("1000base lx10").reach_m
    10000
    """
    key = _key(name)
    if key in _keys():
        return _specs()[_keys()[key]]
    reason = _AMBIGUOUS.get(key)
    if reason is None and re.search(r"B[XR]\d*$|PX\d+$", key):
        reason = _AMBIGUOUS["BX"]
    if reason is not None:
        raise InputError(f"the module type {name!r} is not clear", hint=reason)
    raise InputError(f"there is no module type {name!r}", hint=_nearest(key))


def _nearest(key: str) -> str:
    near = [_keys()[k] for k in difflib.get_close_matches(key, list(_keys()), n=4, cutoff=0.5)]
    listed = ", ".join(dict.fromkeys(near)) or ", ".join(_specs())
    return f"nearest: {listed}; or give launch power, sensitivity and overload from the data sheet"


def by_mau_type(arc: int) -> PmdSpec | None:
    """The class a switch names by ifMauType.

    Parameters
    ----------
    arc : int [-, > 0]
        The last arc N of dot3MauType.N (1.3.6.1.2.1.26.4.N).

    Returns
    -------
    PmdSpec | None [dBm, dB, nm, Bd, m]
        None for copper, for types of unknown PMD (such as 1000BASE-X) and for numbers not in the
        table.

    Notes
    -----
    A switch tells what it believes of the module; `recognise.from_mau_type` says how sure it is.

    Source
    ------
    IANA-MAU-MIB, revision 2011-08-12, dot3MauType; above 78 from memory, unconfirmed.

    Example
    -------
    >>> by_mau_type(49).name
    '1000BASE-LX10'
    """
    name = MAU_TYPES.get(arc)
    return None if name is None else _specs()[name]
