"""From arguments to a plan: the same value that a configuration's links become."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, field

from strandkeeper.optics.budget import CableFigures
from strandkeeper.optics.length import length_m
from strandkeeper.optics.plan import CablePlan, Comparison, EndPlan, LinkPlan, compare, plan_for
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.units import Db, Dbm

__all__ = ["PlannedLink", "by_hand", "cable_figures"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLink:
    """A link, its plan, and what was measured of it ('ab', 'ba'); `remarks` are sentences."""

    name: str | None
    cable: CablePlan
    plan: LinkPlan
    measured: Mapping[str, Comparison] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()


def by_hand(arguments: argparse.Namespace) -> PlannedLink:
    """The link described on the command line. Raises InputError for what cannot be."""
    cable = CablePlan(
        length_m=length_m(arguments.length),
        fibre=arguments.fibre,
        matings=arguments.matings,
        splices=arguments.splices,
        extra=Db(arguments.extra_db),
        extra_note=arguments.extra_note,
        strands=arguments.strands,
        figures=cable_figures(arguments),
    )
    far, remarks = _far_pmd(arguments)
    a = _end(arguments, arguments.near_name, arguments.pmd, "")
    b = _end(arguments, arguments.far_name, far, "far_")
    plan = plan_for(a, b, cable, reserve=Db(arguments.reserve_db))
    measured: dict[str, Comparison] = {}
    if arguments.measured_loss_db is not None and plan.ab is not None:
        measured["ab"] = compare(
            Db(arguments.measured_loss_db), plan.ab.loss, accuracy=Db(arguments.accuracy_db)
        )
    return PlannedLink(name=None, cable=cable, plan=plan, measured=measured, remarks=remarks)


def cable_figures(arguments: argparse.Namespace) -> CableFigures:
    """Figures of the owner's own cable, where given."""
    return CableFigures(
        attenuation_db_km=_db(arguments.attenuation_db_km),
        mating=_db(arguments.mating_db),
        splice=_db(arguments.splice_db),
    )


def _db(value: float | None) -> Db | None:
    return None if value is None else Db(value)


def _far_pmd(arguments: argparse.Namespace) -> tuple[str | None, tuple[str, ...]]:
    if arguments.far_pmd is not None or arguments.pmd is None:
        return arguments.far_pmd, ()
    spec = by_name(arguments.pmd)
    if spec.partner == spec.name:
        return spec.name, ()
    remark = f"{spec.name} needs its counterpart at the far end: {spec.partner} is taken there"
    return spec.partner, (remark,)


def _end(arguments: argparse.Namespace, name: str, pmd: str | None, prefix: str) -> EndPlan:
    def given(figure: str) -> float | None:
        """The far end is like the near one unless told otherwise."""
        own: float | None = getattr(arguments, prefix + figure)
        if own is None and prefix and arguments.far_pmd is None:
            return _near(arguments, figure, pmd)
        return own

    return EndPlan(
        name=name,
        pmd=pmd,
        launch_min=_dbm(given("launch_min_dbm")),
        launch_max=_dbm(given("launch_max_dbm")),
        sensitivity=_dbm(given("sensitivity_dbm")),
        overload=_dbm(given("overload_dbm")),
        wavelength_nm=given("wavelength_nm"),
    )


def _near(arguments: argparse.Namespace, figure: str, pmd: str | None) -> float | None:
    """A counterpart of a single-strand pair sends another wavelength than the near end."""
    if figure == "wavelength_nm" and pmd is not None and by_name(pmd).single_strand:
        return None
    value: float | None = getattr(arguments, figure)
    return value


def _dbm(value: float | None) -> Dbm | None:
    return None if value is None else Dbm(value)
