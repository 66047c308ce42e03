"""How far a class promises to reach on a kind of fibre; multimode ends by bandwidth, not loss."""

from __future__ import annotations

from strandkeeper.optics.fibre import fibre_name, medium
from strandkeeper.optics.fibre_table import MODAL
from strandkeeper.optics.pmd_spec import PmdSpec
from strandkeeper.optics.pmd_table import MULTIMODE_REACH

__all__ = ["reach_m", "reach_sentence"]


def reach_m(spec: PmdSpec, fibre: str) -> int | None:
    """The reach a class states on a kind of fibre.

    Parameters
    ----------
    spec : PmdSpec [m, nm]
        The class.
    fibre : str [-]
        A name that `fibre.fibre_name` accepts.

    Returns
    -------
    int | None [m]
        None when the class states none on that fibre.

    Raises
    ------
    InputError
        When the fibre is not known.

    Source
    ------
    The class's rows; modal bandwidth of the OM classes: TIA-568.3-D.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> reach_m(by_name("10GBASE-SR"), "OM2")
    82
    """
    if medium(fibre) != spec.medium:
        return None
    rows = [row for row in MULTIMODE_REACH if row.name == spec.name]
    if not rows:
        return spec.reach_m
    modal = next(row for row in MODAL if row.fibre == fibre_name(fibre))
    short = (spec.wavelength_nm or 0) < 1000
    bandwidth = max(modal.ofl_850, modal.emb_850 or 0) if short else modal.ofl_1300
    fitting = [
        row.reach_m for row in rows if row.core_um == modal.core_um and row.bandwidth <= bandwidth
    ]
    return max(fitting, default=None)


def reach_sentence(spec: PmdSpec, fibre: str, length_m: float) -> str:
    """What a length beyond the class's reach means; empty when it is within.

    Parameters
    ----------
    spec : PmdSpec [m]
        The class.
    fibre : str [-]
        A name that `fibre.fibre_name` accepts.
    length_m : float [m, >= 0]
        Of the cable.

    Returns
    -------
    str [-]
        One sentence without its full stop.

    Raises
    ------
    InputError
        When the fibre is not known.

    Source
    ------
    The class's rows.

    Example
    -------
    >>> from strandkeeper.optics.pmd import by_name
    >>> reach_sentence(by_name("1000BASE-LX10"), "G.652.D", 900)
    ''
    """
    if medium(fibre) != spec.medium:
        return ""
    reach = reach_m(spec, fibre)
    name = f"{spec.name} on {fibre_name(fibre)}"
    if reach is None:
        return f"{name} is not foreseen by the standard: no reach is promised"
    if length_m <= reach:
        return ""
    promised = f"{reach / 1000:g} km" if reach >= 1000 else f"{reach} m"
    remark = " (from memory, unconfirmed)" if spec.tag_of("reach_m").doubtful else ""
    why = (
        "beyond it the pulses blur, whatever light is left"
        if spec.medium == "multimode"
        else "beyond it only the module's data sheet can promise anything"
    )
    return f"{name} is made for {promised}{remark}: {why}"
