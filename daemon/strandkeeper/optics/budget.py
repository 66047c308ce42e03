"""The loss budget: what a cable should lose by the book, item by item."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from strandkeeper.errors import InputError
from strandkeeper.optics.fibre import attenuation, fibre_name, item
from strandkeeper.optics.source import Tag, worst
from strandkeeper.optics.units import Db

__all__ = ["CableFigures", "LossBudget", "LossLine", "loss_budget"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LossLine:
    """One row of the table: so many of an item, what each and all lose, expected and at most.

    `always`: the loss is there with perfect work too (fibre, attenuator), unlike a connector's.
    """

    item: str
    count: float
    unit: str
    each_expected: Db
    each_limit: Db
    source: str
    expected_tag: Tag
    limit_tag: Tag
    always: bool

    @property
    def expected(self) -> Db:
        """Loss of all of them in good new work."""
        return self.each_expected * self.count

    @property
    def limit(self) -> Db:
        """The most that acceptance allows all of them."""
        return self.each_limit * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class CableFigures:
    """Figures of the owner's own cable that outrank the tables, expected and limit alike.

    Loss of a kilometre [dB/km], of one mated pair and of one splice [dB]; None: by the table.
    """

    attenuation_db_km: Db | None = None
    mating: Db | None = None
    splice: Db | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LossBudget:
    """What one strand should lose, and the most it may, with the rows it was added up from."""

    lines: tuple[LossLine, ...]
    fibre: str
    wavelength_nm: float

    @property
    def expected(self) -> Db:
        """Sum of the rows, good new work."""
        return Db(math.fsum(line.expected.value for line in self.lines))

    @property
    def limit(self) -> Db:
        """Sum of the rows, the most that acceptance allows."""
        return Db(math.fsum(line.limit.value for line in self.lines))

    @property
    def tag(self) -> Tag:
        """As sure as the least sure figure that adds anything to the limit."""
        return worst(*(line.limit_tag for line in self.lines if line.limit.value))

    @property
    def source(self) -> str:
        """One sentence on where the figures come from, for the screen."""
        sources = dict.fromkeys(line.source for line in self.lines if line.limit.value)
        remark = f" ({self.tag})" if self.tag.doubtful else ""
        return "limit: " + ("; ".join(sources) or "nothing is counted") + remark


def loss_budget(  # noqa: PLR0913 a cable has that many properties, all by keyword
    *,
    length_m: float,
    wavelength_nm: float,
    fibre: str = "G.652.D",
    matings: int = 2,
    splices: int = 0,
    extra: Db = Db(0.0),
    extra_note: str = "",
    figures: CableFigures | None = None,
) -> LossBudget:
    """What one strand should lose: fibre, mated pairs, splices and whatever else is in the way.

    Parameters
    ----------
    length_m : float [m, >= 0]
        Length of the fibre.
    wavelength_nm : float [nm, > 0]
        Of the light.
    fibre : str [-]
        A name that `fibre.fibre_name` accepts.
    matings : int [-, >= 0]
        Mated pairs of connectors between the two modules' ports, the ports not counted.
    splices : int [-, >= 0]
        Fusion or mechanical splices, those inside field connectors counted.
    extra : Db [dB, >= 0]
        An attenuator, a repair allowance.
    extra_note : str [-]
        What `extra` is, for the table.
    figures : CableFigures | None [dB/km, dB]
        What outranks the tables.

    Returns
    -------
    LossBudget [dB, positive is loss]
        Rows, expected and limit.

    Raises
    ------
    InputError
        When a figure is negative or not finite, or the fibre or wavelength is not known.

    Notes
    -----
    Additive and free of order. The reference measurement decides what is counted: see `meter`.

    Source
    ------
    ANSI/TIA-568.3-D form: length × attenuation + matings × 0.75 + splices × 0.3; attenuation by
    the fibre's own row.

    Example
    -------
    >>> print(loss_budget(length_m=800, wavelength_nm=1310).limit)
    1.82 dB
    """
    _check(length_m=length_m, matings=matings, splices=splices, extra=extra.value)
    own = figures or CableFigures()
    _check(
        attenuation=_value(own.attenuation_db_km),
        loss_of_a_mated_pair=_value(own.mating),
        loss_of_a_splice=_value(own.splice),
    )
    name = fibre_name(fibre)
    lines = [
        _glass(name, wavelength_nm, length_m, own.attenuation_db_km),
        _items("mated pair", matings, name, own.mating),
        _items("splice", splices, name, own.splice),
    ]
    if extra.value:
        lines.append(_given(extra_note or "extra", 1, "", extra, always=True))
    return LossBudget(lines=tuple(lines), fibre=name, wavelength_nm=wavelength_nm)


def _value(given: Db | None) -> float:
    return 0.0 if given is None else given.value


def _glass(fibre: str, wavelength_nm: float, length_m: float, own: Db | None) -> LossLine:
    item_name = f"{fibre} fibre at {wavelength_nm:g} nm"
    if own is not None:
        return _given(item_name, length_m / 1000, "km", own, always=True)
    row = attenuation(fibre, wavelength_nm)
    return LossLine(
        item=item_name,
        count=length_m / 1000,
        unit="km",
        each_expected=Db(row.expected_db_km),
        each_limit=Db(row.limit_db_km),
        source=row.source,
        expected_tag=row.expected_tag,
        limit_tag=row.limit_tag,
        always=True,
    )


def _items(
    kind: Literal["mated pair", "splice"], count: int, fibre: str, own: Db | None
) -> LossLine:
    words = "splices" if kind == "splice" else "mated pairs of connectors"
    if own is not None:
        return _given(words, count, "", own, always=False)
    row = item(kind, fibre)
    return LossLine(
        item=words,
        count=count,
        unit="",
        each_expected=Db(row.expected_db),
        each_limit=Db(row.limit_db),
        source=row.source,
        expected_tag=row.expected_tag,
        limit_tag=row.limit_tag,
        always=False,
    )


def _given(item_name: str, count: float, unit: str, each: Db, *, always: bool) -> LossLine:
    return LossLine(
        item=item_name,
        count=count,
        unit=unit,
        each_expected=each,
        each_limit=each,
        source="given",
        expected_tag=Tag.STANDARD,
        limit_tag=Tag.STANDARD,
        always=always,
    )


def _check(**figures: float) -> None:
    for name, value in figures.items():
        if not (math.isfinite(value) and value >= 0):
            words = name.removesuffix("_m").replace("_", " ")
            raise InputError(f"the {words} is {value}", hint="give a figure of 0 or more")
