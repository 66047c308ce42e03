"""Plan against fact for the links of a configuration."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from strandkeeper.cli.budget_json import links_json
from strandkeeper.cli.budget_plan import PlannedLink
from strandkeeper.cli.budget_text import blocks, link_text
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError, StoreError
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import LinkVerdict
from strandkeeper.optics.plan import CablePlan, Comparison, EndPlan, LinkPlan, compare, plan_for
from strandkeeper.optics.units import Db
from strandkeeper.store import open_reader

__all__ = ["planned_link", "run"]

_TWO_READINGS = Db(6.0)  # ±3 dB each, SFF-8472 section 9.2
_ANCHORED = Db(0.5)  # after a bench baseline: common practice, no source


def run(arguments: argparse.Namespace) -> int:
    """Print the plan of every link, or of one, beside what the record says of it now."""
    settings = load(Path(arguments.config))
    wanted = _wanted(settings, arguments.link)
    verdicts, remark = _verdicts(settings)
    links = [
        planned_link(link, verdicts.get(link.name), remark=remark, reserve=Db(arguments.reserve_db))
        for link in wanted
    ]
    if arguments.json:
        print(json.dumps(links_json(links), ensure_ascii=False, indent=2))
    else:
        print(blocks([link_text(link, details=arguments.details) for link in links]))
    return ExitCode.DONE


def _wanted(settings: Settings, name: str | None) -> tuple[Link, ...]:
    if name is None:
        return settings.links
    try:
        return (settings.link(LinkName(name)),)
    except KeyError:
        known = ", ".join(link.name for link in settings.links)
        raise InputError(f"there is no link {name!r}", hint=f"links: {known}") from None


def _verdicts(settings: Settings) -> tuple[dict[LinkName, LinkVerdict], str]:
    """What the record says now; a record that is not there yet is no error here."""
    path = Path(settings.store.path)
    if not path.exists():
        return {}, "nothing is measured yet: there is no record file (strandkeeper run makes it)"
    try:
        reader = open_reader(path)
    except StoreError as error:
        return {}, f"nothing can be compared: {error.message}"
    try:
        return {verdict.link: verdict for verdict in reader.verdicts()}, ""
    finally:
        reader.close()


def planned_link(
    link: Link, verdict: LinkVerdict | None, *, remark: str, reserve: Db
) -> PlannedLink:
    """A configured link by the book, beside its verdict where there is one."""
    cable = CablePlan(
        length_m=link.length_m,
        fibre=link.fibre,
        matings=link.matings,
        splices=link.splices,
        extra=link.extra,
        extra_note=link.extra_note,
        strands=link.strands,
    )
    plan = plan_for(_end(link.a), _end(link.b), cable, reserve=reserve)
    measured = _measured(plan, verdict)
    why = remark or ("" if measured else "the record has no loss of this link yet")
    return PlannedLink(
        name=link.name,
        cable=cable,
        plan=plan,
        measured=measured,
        remarks=(why,) if why else (),
    )


def _end(end: PortEnd) -> EndPlan:
    return EndPlan(
        name=end.name,
        pmd=end.pmd,
        sensitivity=end.sensitivity,
        overload=end.overload,
        wavelength_nm=end.wavelength_nm,
    )


def _measured(plan: LinkPlan, verdict: LinkVerdict | None) -> dict[str, Comparison]:
    if verdict is None:
        return {}
    found: dict[str, Comparison] = {}
    for direction, budget in ((Direction.AB, plan.ab), (Direction.BA, plan.ba)):
        now = verdict.direction(direction)
        if budget is not None and now.loss is not None:
            accuracy = _ANCHORED if now.anchored else _TWO_READINGS
            found[direction.value] = compare(now.loss, budget.loss, accuracy=accuracy)
    return found
