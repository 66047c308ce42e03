"""From arguments to a plan: the same value that a configuration's links become."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from strandkeeper.cli.decode import pages
from strandkeeper.errors import InputError
from strandkeeper.optics.budget import CableFigures
from strandkeeper.optics.length import length_m
from strandkeeper.optics.plan import CablePlan, Comparison, EndPlan, LinkPlan, compare, plan_for
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.recognise import from_module
from strandkeeper.optics.sff8472.identity import Identity, decode_identity
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.optics.wrong_parts import Part, part_from_module

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
    near, far, remarks = _types(arguments)
    a = _end(arguments, arguments.near_name, near, "")
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


def _types(
    arguments: argparse.Namespace,
) -> tuple[str | None, str | None, tuple[str, ...]]:
    """Types of both ends: as named, else as the module's data say, else the near end's match."""
    near, near_remarks = _type(arguments.pmd, arguments.module, arguments.near_name)
    far, far_remarks = _type(arguments.far_pmd, arguments.far_module, arguments.far_name)
    if far is not None or near is None or arguments.far_module is not None:
        return near, far, (*near_remarks, *far_remarks)
    spec = by_name(near)
    if spec.partner == spec.name:
        return near, spec.name, near_remarks
    remark = f"{spec.name} needs its counterpart at the far end: {spec.partner} is taken there"
    return near, spec.partner, (*near_remarks, remark)


def _type(named: str | None, file: str | None, end: str) -> tuple[str | None, tuple[str, ...]]:
    if named is not None or file is None:
        return named, ()
    found = from_module(_identity(file))
    if found.spec is None:
        return None, (f"{end}: {found.why}",)
    return found.spec.name, (f"{end}: {found.spec.name} ({found.sure}: {found.why})",)


def _identity(file: str) -> Identity:
    raw = pages(Path(file), None)
    if raw.a0 is None:
        raise InputError(f"{file} has no A0h page", hint="the page that says what the module is")
    return decode_identity(raw.a0)


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
        part=_part(name, getattr(arguments, prefix + "module")),
    )


def _part(name: str, file: str | None) -> Part | None:
    return None if file is None else part_from_module(name, _identity(file))


def _near(arguments: argparse.Namespace, figure: str, pmd: str | None) -> float | None:
    """A counterpart of a single-strand pair sends another wavelength than the near end."""
    if figure == "wavelength_nm" and pmd is not None and by_name(pmd).single_strand:
        return None
    value: float | None = getattr(arguments, figure)
    return value


def _dbm(value: float | None) -> Dbm | None:
    return None if value is None else Dbm(value)
