"""What a gap, a sideways shift or a tilt between two single-mode fibres loses."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.optics.source import Tag
from strandkeeper.optics.units import Db, Milliwatt

__all__ = ["GapEstimate", "explain_by_gap", "gap_loss", "mode_field_um", "offset_loss", "tilt_loss"]

# of the core, as makers of G.652 fibre state it for the reflection
_GLASS_INDEX: Final = 1.468

# wavelength nm, mode field diameter µm of G.652.D and G.657.A fibre
_MODE_FIELD: Final = ((1310.0, 9.2, Tag.MEMORY), (1550.0, 10.4, Tag.MEMORY))


@dataclass(frozen=True, slots=True, kw_only=True)
class GapEstimate:
    """Air gaps [µm] that would lose as much: `shortest` to `longest` for what reflections allow.

    `likely_um` counts both glass faces as reflecting without interference; None: the loss is less
    than those reflections alone. A `shortest_um` of 0: reflection alone may explain it.
    """

    loss: Db
    shortest_um: float
    likely_um: float | None
    longest_um: float
    mode_field_um: float
    tag: Tag


def mode_field_um(wavelength_nm: float) -> float:
    """Usual mode field diameter of single-mode fibre.

    Parameters
    ----------
    wavelength_nm : float [nm, 1260 to 1625]
        Of the light.

    Returns
    -------
    float [µm]
        A straight line through 9.2 µm at 1310 nm and 10.4 µm at 1550 nm.

    Raises
    ------
    InputError
        When the wavelength is not one for single-mode fibre.

    Source
    ------
    ITU-T G.652 nominal range 8.6 to 9.2 µm at 1310 nm; a maker's usual 10.4 µm at 1550 nm: from
    memory, unconfirmed.

    Example
    -------
    >>> mode_field_um(1310)
    9.2
    """
    if not 1260 <= wavelength_nm <= 1625:
        raise InputError(
            f"{wavelength_nm:g} nm is no wavelength of single-mode fibre",
            hint="gap arithmetic holds for single-mode fibre, 1260 to 1625 nm",
        )
    (low_nm, low_um, _), (high_nm, high_um, _) = _MODE_FIELD
    return low_um + (high_um - low_um) * (wavelength_nm - low_nm) / (high_nm - low_nm)


def gap_loss(gap_um: float, *, wavelength_nm: float, index: float = 1.0) -> Db:
    """Loss by diffraction across a gap between two like fibres; reflection comes on top.

    Parameters
    ----------
    gap_um : float [µm, >= 0]
        Distance between the two end faces.
    wavelength_nm : float [nm, 1260 to 1625]
        In vacuum.
    index : float [-, >= 1]
        Of what fills the gap: 1 for air, about 1.46 for index gel.

    Returns
    -------
    Db [dB, positive is loss]
        0 for no gap.

    Raises
    ------
    InputError
        When a figure is out of range.

    Notes
    -----
    Beams taken as Gaussian, mode fields alike. At 1310 nm in air 52 µm lose 1 dB, 101 µm 3 dB.

    Source
    ------
    D. Marcuse, Loss analysis of single-mode fiber splices, Bell System Technical Journal 56 (1977)
    703: T = 1/(1 + Z²) for like fibres, Z = gap·λ/(2π·n·w²), w half the mode field diameter.

    Example
    -------
    >>> print(gap_loss(100, wavelength_nm=1310))
    2.95 dB
    """
    _at_least(gap_um, 0, "gap")
    _at_least(index, 1, "index")
    z = gap_um / _scale_um(wavelength_nm, index)
    return _loss(1 / (1 + z * z))


def offset_loss(offset_um: float, *, wavelength_nm: float) -> Db:
    """Loss by a sideways shift of two like fibres against each other.

    Parameters
    ----------
    offset_um : float [µm, >= 0]
        Between the two cores' axes.
    wavelength_nm : float [nm, 1260 to 1625]
        In vacuum.

    Returns
    -------
    Db [dB, positive is loss]
        0 for no shift.

    Raises
    ------
    InputError
        When a figure is out of range.

    Source
    ------
    Marcuse (1977): T = exp(-(d/w)²).

    Example
    -------
    >>> print(offset_loss(1.0, wavelength_nm=1310))
    0.21 dB
    """
    _at_least(offset_um, 0, "offset")
    w = mode_field_um(wavelength_nm) / 2
    return _loss(math.exp(-((offset_um / w) ** 2)))


def tilt_loss(tilt_degrees: float, *, wavelength_nm: float, index: float = 1.0) -> Db:
    """Loss by a tilt of two like fibres against each other.

    Parameters
    ----------
    tilt_degrees : float [°, >= 0]
        Between the two axes.
    wavelength_nm : float [nm, 1260 to 1625]
        In vacuum.
    index : float [-, >= 1]
        Of what fills the joint.

    Returns
    -------
    Db [dB, positive is loss]
        0 for no tilt.

    Raises
    ------
    InputError
        When a figure is out of range.

    Source
    ------
    Marcuse (1977): T = exp(-(π·n·w·θ/λ)²).

    Example
    -------
    >>> print(tilt_loss(1.0, wavelength_nm=1310))
    0.16 dB
    """
    _at_least(tilt_degrees, 0, "tilt")
    _at_least(index, 1, "index")
    w = mode_field_um(wavelength_nm) / 2
    turn = math.pi * index * w * math.radians(tilt_degrees) / (wavelength_nm / 1000)
    return _loss(math.exp(-turn * turn))


def explain_by_gap(loss: Db, *, wavelength_nm: float) -> GapEstimate:
    """Which air gap, such as a fibre that stops short in its connector, would lose as much.

    Parameters
    ----------
    loss : Db [dB, > 0]
        What one connector loses more than it should.
    wavelength_nm : float [nm, 1260 to 1625]
        In vacuum.

    Returns
    -------
    GapEstimate [µm]
        A band: the two glass faces reflect 0 to 0.62 dB, 0.32 dB without interference.

    Raises
    ------
    InputError
        When the loss is not above 0 dB or the wavelength no single-mode one.

    Notes
    -----
    Dirt, a shift or a tilt lose as well; this says what a gap alone would have to be.

    Source
    ------
    `gap_loss`, solved for the gap; reflection by Fresnel, R = ((n - 1)/(n + 1))², n = 1.468.

    Example
    -------
    >>> round(explain_by_gap(Db(3), wavelength_nm=1310).likely_um)
    94
    """
    if not loss.value > 0:
        raise InputError(f"a loss of {loss} needs no explanation", hint="give a loss above 0 dB")
    plain, most = _reflection()
    scale = _scale_um(wavelength_nm, 1.0)
    return GapEstimate(
        loss=loss,
        shortest_um=_gap_for(loss - most, scale) or 0.0,
        likely_um=_gap_for(loss - plain, scale),
        longest_um=_gap_for(loss, scale) or 0.0,
        mode_field_um=mode_field_um(wavelength_nm),
        tag=Tag.MEMORY,
    )


def _reflection() -> tuple[Db, Db]:
    """Loss at two glass faces: without interference, and at the worst spacing."""
    r = ((_GLASS_INDEX - 1) / (_GLASS_INDEX + 1)) ** 2
    return _loss((1 - r) ** 2), _loss((1 - r) ** 2 / (1 + r) ** 2)


def _gap_for(loss: Db, scale_um: float) -> float | None:
    if loss.value < 0:
        return None
    return scale_um * math.sqrt(10 ** (loss.value / 10) - 1)


def _scale_um(wavelength_nm: float, index: float) -> float:
    w = mode_field_um(wavelength_nm) / 2
    return 2 * math.pi * index * w * w / (wavelength_nm / 1000)


def _loss(transmission: float) -> Db:
    return Milliwatt(1.0).to_dbm() - Milliwatt(transmission).to_dbm()


def _at_least(value: float, least: float, what: str) -> None:
    if not (math.isfinite(value) and value >= least):
        raise InputError(f"the {what} is {value}", hint=f"give a figure of {least:g} or more")
