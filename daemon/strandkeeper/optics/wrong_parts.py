"""Parts that cannot work together: recognised from module data and the cable's description."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from strandkeeper.optics.fibre import medium
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.recognise import Sureness, from_module, line_rate_mbd
from strandkeeper.optics.sff8472.identity import Identity

__all__ = ["Part", "WrongPart", "WrongPartKind", "part_from_module", "part_from_pmd", "wrong_parts"]


# nm; single strands put 1270, 1310 and 1330 nm to different uses, duplex receivers do not
_DUPLEX_BANDS: Final = ((770, 910), (1260, 1360), (1470, 1515), (1516, 1590))
_SINGLE_STRAND_BANDS: Final = ((1260, 1285), (1286, 1320), (1321, 1360), (1470, 1515), (1516, 1590))


class WrongPartKind(StrEnum):
    """What does not fit."""

    MULTIMODE_ON_SINGLE_MODE = "multimode-module-on-single-mode-cable"
    SINGLE_MODE_ON_MULTIMODE = "single-mode-module-on-multimode-cable"
    LIKE_SINGLE_STRAND = "two-like-single-strand-modules"
    SINGLE_STRAND_WITH_DUPLEX = "single-strand-module-with-duplex"
    UNLIKE_SPEEDS = "unlike-speeds"
    UNLIKE_WAVELENGTHS = "unlike-wavelengths"
    STRANDS = "strands-do-not-fit-modules"
    NO_OPTICS = "no-optics"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What is known of the module at one end; None: not known, and then nothing is concluded."""

    end: str
    speed_mbit: int | None = None
    wavelength_nm: int | None = None
    multimode: bool | None = None
    single_strand: bool | None = None
    no_optics: bool = False
    sure: Sureness = Sureness.LIKELY


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongPart:
    """One misfit, how sure, and a sentence that names the ends."""

    kind: WrongPartKind
    sure: Sureness
    sentence: str


def part_from_module(end: str, identity: Identity) -> Part:
    """What a module's own data say of it as a part of a link.

    Parameters
    ----------
    end : str [-]
        The owner's name of the end, for the sentences.
    identity : Identity [nm, m, MBd]
        Decoded from its A0h page.

    Returns
    -------
    Part [nm, Mbit/s]
        As sure as the module's class is recognised.

    Source
    ------
    SFF-8472 Rev 12.2, tables 5-3 and 5-5.

    Example
    -------
    >>> from strandkeeper.optics.sff8472 import decode_identity
    >>> page = bytes([3, 4, 7, 0, 0, 0, 1, 0, 0, 0, 0, 1, 13])
    >>> part_from_module("Lab", decode_identity(page)).multimode
    True
    """
    found = from_module(identity)
    spec = found.spec
    copper = {"1000BASE-T", "1000BASE-CX"} & set(identity.compliance)
    return Part(
        end=end,
        speed_mbit=line_rate_mbd(identity) or _speed(spec),
        wavelength_nm=identity.wavelength_nm,
        multimode=_multimode(identity, spec),
        single_strand=spec.single_strand if spec else None,
        no_optics=identity.cable_assembly or bool(copper),
        sure=found.sure,
    )


def _multimode(identity: Identity, spec: PmdSpec | None) -> bool | None:
    """The class decides; without one, 850 nm is multimode and beyond 1400 nm is not."""
    if spec is not None:
        return spec.medium == "multimode"
    wavelength = identity.wavelength_nm or 0
    if 770 <= wavelength <= 910:
        return True
    return False if wavelength >= 1400 else None


def part_from_pmd(end: str, spec: PmdSpec) -> Part:
    """What a class says of a module as a part of a link.

    Parameters
    ----------
    end : str [-]
        The owner's name of the end, for the sentences.
    spec : PmdSpec [nm, Bd]
        The class, as the owner named it.

    Returns
    -------
    Part [nm, Mbit/s]
        Certain, as the owner said it.

    Source
    ------
    The class's own row.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> part_from_pmd("Lab", by_name("10GBASE-LR")).speed_mbit
    10000
    """
    return Part(
        end=end,
        speed_mbit=_speed(spec),
        wavelength_nm=spec.wavelength_nm,
        multimode=spec.medium == "multimode",
        single_strand=spec.single_strand,
        sure=Sureness.CERTAIN,
    )


def _speed(spec: PmdSpec | None) -> int | None:
    if spec is None:
        return None
    return {125: 100, 1250: 1000, 10312: 10000, 25781: 25000}.get(int(spec.line_rate_bd / 1e6))


def wrong_parts(
    a: Part | None, b: Part | None, *, fibre: str | None = None, strands: int | None = None
) -> tuple[WrongPart, ...]:
    """What does not fit between two modules and the cable between them.

    Parameters
    ----------
    a, b : Part | None [nm, Mbit/s]
        The modules; None: nothing is known of that end.
    fibre : str | None [-]
        The cable's fibre, a name that `fibre.fibre_name` accepts; None: not known.
    strands : int | None [-, 1 or 2]
        Strands the link uses; None: not known.

    Returns
    -------
    tuple[WrongPart, ...] [-]
        Empty when nothing known speaks against it, which is no proof that it works.

    Raises
    ------
    InputError
        When the fibre's name is not known.

    Notes
    -----
    Never surer than the less sure of the two parts.

    Source
    ------
    Single-strand pairs need unlike ends: IEEE 802.3 clauses 58.4 and 59.4, 'can only connect a
    mating pair' (a switch maker's manual). The others follow from the classes' rows.

    Example
    -------
    >>> u = Part(end="Lab", wavelength_nm=1310, single_strand=True)
    >>> v = Part(end="Jetty", wavelength_nm=1310, single_strand=True)
    >>> wrong_parts(u, v)[0].kind.value
    'two-like-single-strand-modules'
    """
    single_mode = None if fibre is None else medium(fibre) == "single-mode"
    found: list[WrongPart] = []
    for part in (a, b):
        if part is not None:
            found += _against_cable(part, single_mode, strands)
    if a is not None and b is not None and not (a.no_optics or b.no_optics):
        found += _against_each_other(a, b)
    return tuple(found)


def _against_cable(part: Part, single_mode: bool | None, strands: int | None) -> list[WrongPart]:
    if part.no_optics:
        text = f"{part.end}: this is copper or a cable with fixed ends, not an optic"
        return [WrongPart(kind=WrongPartKind.NO_OPTICS, sure=part.sure, sentence=text)]
    found: list[WrongPart] = []
    if part.multimode is True and single_mode is True:
        text = (
            f"{part.end}: a multimode module on single-mode cable. Most of its light does not enter"
            " the fibre: take a single-mode module such as 1000BASE-LX10 at both ends"
        )
        kind = WrongPartKind.MULTIMODE_ON_SINGLE_MODE
        found.append(WrongPart(kind=kind, sure=part.sure, sentence=text))
    if part.multimode is False and single_mode is False:
        text = (
            f"{part.end}: a single-mode module on multimode cable. It may seem to work over short"
            " runs, without promise"
        )
        kind = WrongPartKind.SINGLE_MODE_ON_MULTIMODE
        found.append(WrongPart(kind=kind, sure=part.sure, sentence=text))
    return found + _against_strands(part, strands)


def _against_strands(part: Part, strands: int | None) -> list[WrongPart]:
    if part.single_strand is None or strands is None:
        return []
    needed = 1 if part.single_strand else 2
    if needed == strands:
        return []
    words = "one strand" if needed == 1 else "two strands"
    given = "one" if strands == 1 else "two"
    text = f"{part.end}: this module uses {words}, the link is described with {given}"
    return [WrongPart(kind=WrongPartKind.STRANDS, sure=part.sure, sentence=text)]


def _against_each_other(a: Part, b: Part) -> list[WrongPart]:
    sure = _less_sure(a.sure, b.sure)
    found: list[tuple[WrongPartKind, str]] = []
    ends = f"{a.end} and {b.end}"
    if a.speed_mbit and b.speed_mbit and a.speed_mbit != b.speed_mbit:
        text = f"{ends}: modules for {_speed_words(a)} and {_speed_words(b)} never link"
        found.append((WrongPartKind.UNLIKE_SPEEDS, text))
    if a.single_strand is not None and b.single_strand is not None:
        found += _strand_kinds(a, b, ends)
    return [WrongPart(kind=kind, sure=sure, sentence=text) for kind, text in found]


def _strand_kinds(a: Part, b: Part, ends: str) -> list[tuple[WrongPartKind, str]]:
    if a.single_strand != b.single_strand:
        text = f"{ends}: a single-strand module at one end and one for two strands at the other"
        return [(WrongPartKind.SINGLE_STRAND_WITH_DUPLEX, text)]
    if not a.wavelength_nm or not b.wavelength_nm:
        return []
    bands = _SINGLE_STRAND_BANDS if a.single_strand else _DUPLEX_BANDS
    like = _band(a.wavelength_nm, bands) == _band(b.wavelength_nm, bands)
    both = f"{a.wavelength_nm} and {b.wavelength_nm} nm"
    if a.single_strand and like:
        text = (
            f"{ends}: two like single-strand modules ({both}). Each listens for the wavelength that"
            " the other does not send: swap one for its counterpart"
        )
        return [(WrongPartKind.LIKE_SINGLE_STRAND, text)]
    if not a.single_strand and not like:
        text = f"{ends}: unlike wavelengths ({both}). Many receivers hear both, none promises it"
        return [(WrongPartKind.UNLIKE_WAVELENGTHS, text)]
    return []


def _band(wavelength_nm: int, bands: tuple[tuple[int, int], ...]) -> int:
    """The band's lower edge; a wavelength outside all of them is a band of its own."""
    return next((low for low, high in bands if low <= wavelength_nm <= high), wavelength_nm)


def _less_sure(first: Sureness, second: Sureness) -> Sureness:
    order = tuple(Sureness)
    return max(first, second, key=order.index)


def _speed_words(part: Part) -> str:
    mbit = part.speed_mbit or 0
    return f"{mbit // 1000} Gbit/s" if mbit >= 1000 else f"{mbit} Mbit/s"
