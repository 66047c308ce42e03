"""A plan for a script: schema 1. Keys stay; new ones may come."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from strandkeeper.cli.budget_plan import PlannedLink
from strandkeeper.optics.budget import LossBudget
from strandkeeper.optics.budget_words import verdict_sentences
from strandkeeper.optics.plan import Comparison, EndPlan
from strandkeeper.optics.power_budget import PowerBudget
from strandkeeper.optics.units import Db, Dbm

__all__ = ["links_json", "loss_json"]

Json = dict[str, Any]


def links_json(links: Sequence[PlannedLink]) -> Json:
    """All links; one element when the link was described on the command line."""
    return {"schema": 1, "links": [_link(link) for link in links]}


def _link(link: PlannedLink) -> Json:
    plan, cable = link.plan, link.cable
    return {
        "name": link.name,
        "cable": {
            "length_m": cable.length_m,
            "fibre": cable.fibre,
            "matings": cable.matings,
            "splices": cable.splices,
            "extra_db": _figure(cable.extra),
            "strands": cable.strands,
        },
        "a": _end(plan.a),
        "b": _end(plan.b),
        "ab": _direction(plan.ab, link.measured.get("ab")),
        "ba": _direction(plan.ba, link.measured.get("ba")),
        "missing": list(plan.missing),
        "beyond_reach": list(plan.beyond),
        "wrong_parts": [
            {"kind": w.kind.value, "sure": w.sure.value, "sentence": w.sentence} for w in plan.wrong
        ],
        "remarks": list(link.remarks),
    }


def _end(end: EndPlan) -> Json:
    return {"name": end.name, "pmd": end.pmd}


def _direction(budget: PowerBudget | None, measured: Comparison | None) -> Json | None:
    if budget is None:
        return None
    return {
        "transmitter": {
            "launch_min_dbm": _figure(budget.sender.launch_min),
            "launch_max_dbm": _figure(budget.sender.launch_max),
            "wavelength_nm": budget.sender.wavelength_nm,
            "source": budget.sender.source,
            "tag": budget.sender.tag.value,
        },
        "receiver": {
            "sensitivity_dbm": _figure(budget.receiver.sensitivity),
            "overload_dbm": _figure(budget.receiver.overload),
            "source": budget.receiver.source,
            "tag": budget.receiver.tag.value,
        },
        "loss": loss_json(budget.loss),
        "least_loss_db": _figure(budget.least_loss),
        "penalties_db": _figure(budget.penalties),
        "reserve_db": _figure(budget.reserve),
        "power_budget_db": _figure(budget.power_budget),
        "weakest_dbm": _figure(budget.weakest),
        "strongest_dbm": _figure(budget.strongest),
        "margin_db": _figure(budget.margin),
        "margin_expected_db": _figure(budget.margin_expected),
        "headroom_db": _figure(budget.headroom),
        "attenuator_db": _figure(budget.attenuator),
        "verdicts": [verdict.value for verdict in budget.verdicts],
        "sentences": list(verdict_sentences(budget)),
        "tag": budget.tag.value,
        "measured": _comparison(measured),
    }


def loss_json(loss: LossBudget) -> Json:
    """A loss budget with its rows."""
    return {
        "expected_db": _figure(loss.expected),
        "limit_db": _figure(loss.limit),
        "tag": loss.tag.value,
        "lines": [
            {
                "item": line.item,
                "count": line.count,
                "unit": line.unit,
                "each_expected_db": _figure(line.each_expected),
                "each_limit_db": _figure(line.each_limit),
                "expected_db": _figure(line.expected),
                "limit_db": _figure(line.limit),
                "source": line.source,
                "expected_tag": line.expected_tag.value,
                "limit_tag": line.limit_tag.value,
            }
            for line in loss.lines
        ],
    }


def _comparison(measured: Comparison | None) -> Json | None:
    if measured is None:
        return None
    return {
        "loss_db": _figure(measured.measured),
        "accuracy_db": _figure(measured.accuracy),
        "verdict": measured.verdict.value,
    }


def _figure(value: Db | Dbm | None) -> float | None:
    """Ten-thousandths: below that is arithmetic's noise."""
    return None if value is None else round(value.value, 4) + 0.0
