"""What a class of optic promises, as one value, with how sure each figure is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from strandkeeper.optics.pmd_table import Identity, Powers
from strandkeeper.optics.source import Tag
from strandkeeper.optics.units import Db, Dbm

__all__ = ["Medium", "PmdSpec", "spec_from_rows"]

Medium = Literal["single-mode", "multimode"]

# letters of the table's last column
_LETTERS: Final = {
    "wavelength_nm": "w",
    "reach_m": "r",
    "ber_objective": "e",
    "launch_min": "n",
    "launch_max": "x",
    "sensitivity": "s",
    "sensitivity_oma": "a",
    "stressed": "t",
    "overload": "o",
    "damage": "d",
    "power_budget": "b",
    "insertion_loss": "i",
    "min_path_loss": "m",
    "extinction_ratio_min": "g",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PmdSpec:
    """One class of optic. Powers are average dBm; `sensitivity_oma` alone is OMA. None: not stated.

    `clause` is of IEEE 802.3; empty for the classes that no standard defines. `stressed` is the
    stressed sensitivity as the class states it (OMA from 10 Gb/s up). `min_path_loss` is what the
    cable must at least lose between two ends of this class. `ber_objective` of the 25 Gb/s classes
    is before forward error correction.
    """

    name: str
    clause: str
    medium: Medium
    single_strand: bool
    line_rate_bd: float
    wavelength_min_nm: int | None
    wavelength_max_nm: int | None
    wavelength_nm: int | None
    reach_m: int
    ber_objective: float
    launch_min: Dbm | None
    launch_max: Dbm | None
    sensitivity: Dbm | None
    sensitivity_oma: Dbm | None
    stressed: Dbm | None
    overload: Dbm | None
    damage: Dbm | None
    power_budget: Db | None
    insertion_loss: Db | None
    min_path_loss: Db
    extinction_ratio_min: Db | None
    from_memory: str

    @property
    def standard(self) -> bool:
        """Whether IEEE 802.3 defines the class."""
        return bool(self.clause)

    @property
    def tag(self) -> Tag:
        """How sure the figures that set the receiver's limits are."""
        if not self.standard:
            return Tag.PRACTICE
        deciding = "a" if self.sensitivity is None else "s"
        return Tag.MEMORY if set(deciding + "o") & set(self.from_memory) else Tag.STANDARD

    @property
    def where(self) -> str:
        """The clause, in words for a person."""
        return f"IEEE 802.3 clause {self.clause}" if self.clause else "no standard"

    @property
    def partner(self) -> str:
        """The class at the other end: the opposite letter of a single-strand pair, else itself."""
        if self.name.endswith(("-D", "-U")):
            return self.name[:-1] + ("U" if self.name.endswith("-D") else "D")
        return self.name

    def tag_of(self, field: str) -> Tag:
        """How sure one figure is; `field` is the attribute's name. Raises KeyError for others."""
        letter = _LETTERS[field]
        if not self.standard:
            return Tag.PRACTICE
        return Tag.MEMORY if letter in self.from_memory else Tag.STANDARD


def _dbm(value: float | None) -> Dbm | None:
    return None if value is None else Dbm(float(value))


def _db(value: float | None) -> Db | None:
    return None if value is None else Db(float(value))


def spec_from_rows(row: Identity, power: Powers) -> PmdSpec:
    """The two table rows of one class as one value.

    Parameters
    ----------
    row : Identity [nm, MBd, m]
        What it is.
    power : Powers [dBm, dB]
        How strong; of the same name.

    Returns
    -------
    PmdSpec [dBm, dB, nm, Bd, m]
        The class.

    Source
    ------
    The rows' own clause.

    Example
    -------
    >>> from strandkeeper.optics.pmd_table import IDENTITIES, POWERS
    >>> spec_from_rows(IDENTITIES[0], POWERS[0]).name
    '100BASE-FX'
    """
    return PmdSpec(
        name=row.name,
        clause=row.clause,
        medium="multimode" if row.medium == "MM" else "single-mode",
        single_strand=row.medium == "SM1",
        line_rate_bd=row.rate_mbd * 1e6,
        wavelength_min_nm=row.low_nm,
        wavelength_max_nm=row.high_nm,
        wavelength_nm=row.nominal_nm,
        reach_m=row.reach_m,
        ber_objective=row.ber,
        launch_min=_dbm(power.tx_min),
        launch_max=_dbm(power.tx_max),
        sensitivity=_dbm(power.sens),
        sensitivity_oma=_dbm(power.oma),
        stressed=_dbm(power.stressed),
        overload=_dbm(power.over),
        damage=_dbm(power.damage),
        power_budget=_db(power.budget),
        insertion_loss=_db(power.il),
        min_path_loss=Db(float(power.min_loss)),
        extinction_ratio_min=_db(power.er),
        from_memory=power.memory,
    )
