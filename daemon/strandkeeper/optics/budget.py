"""The loss budget: what a cable should lose by the book, item by item."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strandkeeper.errors import InputError
from strandkeeper.optics.fibre import attenuation, fibre_name, item
from strandkeeper.optics.source import Tag, worst
from strandkeeper.optics.units import Db

__all__ = ["LossBudget", "LossLine", "loss_budget"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LossLine:
    """One row of the table: so many of an item, what each and all lose, expected and at most."""

    item: str
    count: float
    unit: str
    each_expected: Db
    each_limit: Db
    source: str
    expected_tag: Tag
    limit_tag: Tag

    @property
    def expected(self) -> Db:
        """Loss of all of them in good new work."""
        return self.each_expected * self.count

    @property
    def limit(self) -> Db:
        """The most that acceptance allows all of them."""
        return self.each_limit * self.count


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


def loss_budget(
    *,
    length_m: float,
    wavelength_nm: float,
    fibre: str = "G.652.D",
    matings: int = 2,
    splices: int = 0,
    extra: Db = Db(0.0),
    extra_note: str = "",
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
    name = fibre_name(fibre)
    glass = attenuation(name, wavelength_nm)
    lines = [
        LossLine(
            item=f"{name} fibre at {wavelength_nm:g} nm",
            count=length_m / 1000,
            unit="km",
            each_expected=Db(glass.expected_db_km),
            each_limit=Db(glass.limit_db_km),
            source=glass.source,
            expected_tag=glass.expected_tag,
            limit_tag=glass.limit_tag,
        ),
        _items("mated pair", matings, name),
        _items("splice", splices, name),
    ]
    if extra.value:
        lines.append(_extra(extra, extra_note))
    return LossBudget(lines=tuple(lines), fibre=name, wavelength_nm=wavelength_nm)


def _items(kind: str, count: int, fibre: str) -> LossLine:
    row = item("splice" if kind == "splice" else "mated pair", fibre)
    return LossLine(
        item="splices" if kind == "splice" else "mated pairs of connectors",
        count=count,
        unit="",
        each_expected=Db(row.expected_db),
        each_limit=Db(row.limit_db),
        source=row.source,
        expected_tag=row.expected_tag,
        limit_tag=row.limit_tag,
    )


def _extra(extra: Db, note: str) -> LossLine:
    return LossLine(
        item=note or "extra",
        count=1,
        unit="",
        each_expected=extra,
        each_limit=extra,
        source="given",
        expected_tag=Tag.STANDARD,
        limit_tag=Tag.STANDARD,
    )


def _check(**figures: float) -> None:
    for name, value in figures.items():
        if not (math.isfinite(value) and value >= 0):
            words = name.replace("_m", " in m")
            raise InputError(f"the {words} is {value}", hint="give a figure of 0 or more")
