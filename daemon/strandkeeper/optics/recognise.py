"""Which class a module is, from its own data or from ifMauType, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from strandkeeper.optics.mau_table import MAU_VERIFIED_TO
from strandkeeper.optics.pmd import by_mau_type, by_name
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.sff8472.identity import Identity, Length

__all__ = ["Recognition", "Sureness", "from_mau_type", "from_module", "line_rate_mbd"]


class Sureness(StrEnum):
    """How sure a class is recognised."""

    CERTAIN = "certain"
    LIKELY = "likely"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recognition:
    """A class, how sure, and why in words. `spec` None: no class can be named."""

    spec: PmdSpec | None
    sure: Sureness
    why: str


# bits that say it all: compliance name, class
_PLAIN: Final = {
    "10GBASE-SR": "10GBASE-SR",
    "10GBASE-LR": "10GBASE-LR",
    "10GBASE-ER": "10GBASE-ER",
    "10GBASE-LRM": "10GBASE-LRM",
    "1000BASE-SX": "1000BASE-SX",
    "100BASE-FX": "100BASE-FX",
    "100BASE-LX/LX10": "100BASE-LX10",
    "25GBASE-SR": "25GBASE-SR",
    "25GBASE-LR": "25GBASE-LR",
    "25GBASE-ER": "25GBASE-ER",
}

# no bit exists for these: rate in Gbit/s class, wavelength nm from and to, reach km from, class
_BY_REACH: Final = (
    (1, 1280, 1340, 30, "1000BASE-EX"),
    (1, 1530, 1570, 60, "1000BASE-ZX"),
    (10, 1530, 1570, 60, "10GBASE-ZR"),
)


def from_mau_type(arc: int) -> Recognition:
    """The class a switch names by ifMauType, and how sure that is.

    Parameters
    ----------
    arc : int [-, >= 0]
        The last arc N of dot3MauType.N.

    Returns
    -------
    Recognition [-]
        Never certain: a switch says what it was told, and many say LX for every long optic.

    Source
    ------
    IANA-MAU-MIB, revision 2011-08-12; above 78 from memory, unconfirmed. 'Many say LX': common
    practice, no source.

    Example
    -------
    >>> from_mau_type(49).sure
    <Sureness.LIKELY: 'likely'>
    """
    spec = by_mau_type(arc)
    if spec is None:
        return Recognition(
            spec=None, sure=Sureness.CANNOT_TELL, why=f"dot3MauType {arc} names no optic known here"
        )
    remark = "" if arc <= MAU_VERIFIED_TO else " (number from memory, unconfirmed)"
    return Recognition(
        spec=spec,
        sure=Sureness.LIKELY,
        why=f"the switch calls it {spec.name} by dot3MauType {arc}{remark}",
    )


def line_rate_mbd(identity: Identity) -> int | None:
    """The Ethernet line rate in Gbit/s classes that the nominal rate stands for.

    Parameters
    ----------
    identity : Identity [MBd]
        Of the module.

    Returns
    -------
    int | None [Mbit/s]
        100, 1000, 10000 or 25000; None when the rate is not given or is none of Ethernet's.

    Notes
    -----
    1250 MBd is written as 13 (1300 MBd) by convention.

    Source
    ------
    SFF-8472 Rev 12.2, section 5.7 and table 5-5 note 1; ranges: own design, no source.

    Example
    -------
    >>> from strandkeeper.optics.sff8472 import decode_identity
    >>> line_rate_mbd(decode_identity(bytes(12) + bytes([13])))
    1000
    """
    rate = identity.rate_mbd
    if rate is None:
        return None
    ranges = ((100, 200, 100), (1200, 1300, 1000), (9900, 11400, 10000), (24500, 26500, 25000))
    return next((speed for low, high, speed in ranges if low <= rate <= high), None)


def from_module(identity: Identity) -> Recognition:
    """The class that a module's own data names.

    Parameters
    ----------
    identity : Identity [nm, m, MBd]
        Decoded from its A0h page.

    Returns
    -------
    Recognition [-]
        Certain by a compliance bit of a sound page, likely by rate, wavelength and reach together.

    Notes
    -----
    1000BASE-LX and 1000BASE-LX10 share one bit; the single-mode length tells them apart. For the
    long-reach and single-strand classes there are no bits, nor standards for most of them.

    Source
    ------
    SFF-8472 Rev 12.2, tables 4-4, 5-3 and 5-5 with its notes 1 and 2. Recognition by wavelength and
    reach alone: common practice, no source.

    Example
    -------
    >>> from strandkeeper.optics.sff8472 import decode_identity
    >>> page = bytes([3, 4, 7, 0, 0, 0, 2, 0, 0, 0, 0, 1, 13, 0, 10, 100])
    >>> from_module(decode_identity(page)).spec.name
    '1000BASE-LX10'
    """
    if identity.cable_assembly:
        return _nothing("it is a cable with fixed ends: there are no optics to judge")
    if "1000BASE-T" in identity.compliance or "1000BASE-CX" in identity.compliance:
        return _nothing("it is a copper module: there is no light to judge")
    found = _by_bits(identity) or _by_wavelengths(identity)
    if found is None:
        return _nothing("its data name no class known here: see its data sheet")
    if found.sure is Sureness.CERTAIN and not identity.sound:
        return Recognition(
            spec=found.spec,
            sure=Sureness.LIKELY,
            why=found.why + "; not certain, as the page is damaged or cut short",
        )
    return found


def _nothing(why: str) -> Recognition:
    return Recognition(spec=None, sure=Sureness.CANNOT_TELL, why=why)


def _certain(name: str, why: str) -> Recognition:
    return Recognition(spec=by_name(name), sure=Sureness.CERTAIN, why=why)


def _likely(name: str, why: str) -> Recognition:
    return Recognition(spec=by_name(name), sure=Sureness.LIKELY, why=why)


def _by_bits(identity: Identity) -> Recognition | None:
    bits = [name for name in identity.compliance if name in _PLAIN]
    if "1000BASE-LX" in identity.compliance:
        return _lx(identity)
    if "BASE-BX10" in identity.compliance:
        return _bx10(identity)
    if "BASE-PX" in identity.compliance:
        return _px(identity)
    if len(bits) == 1:
        return _certain(_PLAIN[bits[0]], f"its compliance code says {bits[0]}")
    if bits:
        return _likely(_PLAIN[bits[-1]], f"its compliance codes say {', '.join(bits)} at once")
    return None


def _reach_m(identity: Identity) -> int:
    return identity.lengths.get("single-mode", Length(0)).metres


def _lx(identity: Identity) -> Recognition:
    """LX and LX10 have the same code; 5 km or 10 km of single-mode tell them apart."""
    reach = _reach_m(identity)
    code = "its compliance code says 1000BASE-LX"
    longer = _by_reach(identity)
    if longer is not None:
        return longer
    if reach == 0:
        return _likely("1000BASE-LX", f"{code}; it states no single-mode length, so 5 km is taken")
    if reach <= 5000:
        return _certain("1000BASE-LX", f"{code} and its reach is {reach / 1000:g} km")
    sure = _certain if reach == 10000 else _likely
    return sure("1000BASE-LX10", f"{code} and its reach is {reach / 1000:g} km, beyond LX's 5 km")


def _bx10(identity: Identity) -> Recognition | None:
    speed = line_rate_mbd(identity)
    letter = _letter(identity.wavelength_nm)
    if letter is None or speed not in (100, 1000):
        return _nothing(
            "its compliance code says BASE-BX10, but not its rate or wavelength which one it is"
        )
    name = f"{speed}BASE-BX10-{letter}"
    return _certain(name, f"its compliance code says BASE-BX10 and it sends {_sends(identity)}")


def _px(identity: Identity) -> Recognition:
    letter = _letter(identity.wavelength_nm)
    reach = _reach_m(identity)
    if letter is None or reach not in (10000, 20000):
        return _nothing("its compliance code says BASE-PX, but not which one")
    name = f"1000BASE-PX{reach // 1000}-{letter}"
    return _certain(name, f"its compliance code says BASE-PX, its reach {reach // 1000} km")


def _letter(wavelength_nm: int | None) -> str | None:
    if wavelength_nm is None:
        return None
    if 1260 <= wavelength_nm <= 1360:
        return "U"
    return "D" if 1470 <= wavelength_nm <= 1580 else None


def _sends(identity: Identity) -> str:
    return f"{identity.wavelength_nm} nm"


def _by_wavelengths(identity: Identity) -> Recognition | None:
    """No bit is set: rate, wavelength and reach together are what is left."""
    return _by_reach(identity) or _single_strand(identity) or _by_rate_alone(identity)


def _by_reach(identity: Identity) -> Recognition | None:
    speed, wavelength, reach = _rate_wavelength_reach(identity)
    for giga, low, high, from_km, name in _BY_REACH:
        if speed == giga * 1000 and low <= wavelength <= high and reach >= from_km * 1000:
            why = f"{reach / 1000:g} km at {wavelength} nm is no class of the standard"
            return _likely(
                name, f"{why}: by common practice {name}, powers vary from maker to maker"
            )
    return None


def _rate_wavelength_reach(identity: Identity) -> tuple[int, int, int]:
    return line_rate_mbd(identity) or 0, identity.wavelength_nm or 0, _reach_m(identity)


def _single_strand(identity: Identity) -> Recognition | None:
    """1490, 1270 and 1330 nm are used on single strands; 1310 and 1550 alone prove nothing."""
    speed, wavelength, reach = _rate_wavelength_reach(identity)
    km = next((k for k in (10, 20, 40, 60, 80) if reach <= k * 1000), 80)
    why = f"{wavelength} nm is used by single-strand pairs; no bit says so"
    if speed == 1000 and 1480 <= wavelength <= 1500 and reach:
        return _likely(f"1000BASE-BX{km}-{'U' if km == 80 else 'D'}", why)
    if speed == 10000 and km <= 40 and reach:
        letter = {1270: "U", 1330: "D"}.get(wavelength)
        return _likely(f"10GBASE-BR{km}-{letter}", why) if letter else None
    return None


def _by_rate_alone(identity: Identity) -> Recognition | None:
    speed, wavelength, reach = _rate_wavelength_reach(identity)
    why = f"no compliance bit; {wavelength} nm, {reach / 1000:g} km"
    if 1290 <= wavelength <= 1330 and 0 < reach <= 10000:
        name = {100: "100BASE-LX10", 1000: "1000BASE-LX10", 10000: "10GBASE-LR"}.get(speed)
        return _likely(name, why) if name else None
    if 840 <= wavelength <= 860:
        name = {1000: "1000BASE-SX", 10000: "10GBASE-SR", 25000: "25GBASE-SR"}.get(speed)
        return _likely(name, f"no compliance bit; {wavelength} nm is multimode") if name else None
    return None
