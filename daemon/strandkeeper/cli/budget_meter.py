"""Light source and power meter: how to measure, the limit to pass, what a result means."""

from __future__ import annotations

import argparse
import json
from typing import Any

from strandkeeper.cli.budget_details import gap_sentence
from strandkeeper.cli.budget_json import loss_json
from strandkeeper.cli.budget_plan import cable_figures
from strandkeeper.cli.budget_text import WORDS, loss_table
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.optics.budget import LossBudget
from strandkeeper.optics.length import length_m
from strandkeeper.optics.meter import (
    Acceptance,
    MeterVerdict,
    acceptance,
    acceptance_limit,
    check_source,
    insertion_loss,
)
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.units import Db, Dbm

__all__ = ["run"]

_INCLUDES = {
    1: "the cable and the connections at both its ends",
    2: "the cable and the connection at one of its ends (it reads about one connection low)",
    3: "the cable alone, without the connections at its ends",
}

_DRAWINGS = {
    1: (
        "reference   [source]====cord 1====[meter]",
        "measure     [source]====cord 1====><....cable....><====cord 2====[meter]",
    ),
    2: (
        "reference   [source]====cord 1====><====cord 2====[meter]",
        "measure     [source]====cord 1====><....cable....><====cord 2====[meter]",
    ),
    3: (
        "reference   [source]====cord 1====><==cord 3==><====cord 2====[meter]",
        "measure     [source]====cord 1====><....cable....><====cord 2====[meter]",
    ),
}

_CAUTION = paragraph(
    "Treat every fibre as live: the light is invisible. Never look into a plug or port; switch the"
    " far laser off and check with the meter before you inspect or clean."
)


def run(arguments: argparse.Namespace) -> int:
    """Print how to measure, or judge what was measured; 1 when it did not pass."""
    wavelength = _wavelength(arguments)
    source_nm = arguments.source_nm or wavelength
    meter_nm = arguments.meter_nm or source_nm
    check_source(arguments.source, source_nm=source_nm, meter_nm=meter_nm, link_nm=wavelength)
    limit = acceptance_limit(
        length_m=length_m(arguments.length),
        wavelength_nm=wavelength,
        fibre=arguments.fibre,
        matings=arguments.matings,
        splices=arguments.splices,
        cords=arguments.cords,
        figures=cable_figures(arguments),
    )
    result = _judged(arguments, limit)
    if arguments.json:
        print(json.dumps(_json(arguments, limit, result), ensure_ascii=False, indent=2))
    else:
        print("\n".join(_text(arguments, limit, result)))
    passed = result is None or result.verdict is MeterVerdict.ACCEPT
    return ExitCode.DONE if passed else ExitCode.OPERATOR


def _wavelength(arguments: argparse.Namespace) -> float:
    if arguments.wavelength_nm:
        return float(arguments.wavelength_nm)
    spec = by_name(arguments.pmd) if arguments.pmd else None
    if spec is None or spec.wavelength_nm is None:
        raise InputError(
            "the wavelength of the link is not known",
            hint="add --pmd 1000BASE-LX10 or --wavelength-nm 1310",
        )
    return float(spec.wavelength_nm)


def _judged(arguments: argparse.Namespace, limit: LossBudget) -> Acceptance | None:
    reference, reading = arguments.reference_dbm, arguments.reading_dbm
    if reference is None and reading is None:
        return None
    if reference is None or reading is None:
        missing = "--reference-dbm" if reference is None else "--reading-dbm"
        raise InputError(
            "a loss is the difference of two readings, and one is missing",
            hint=f"add {missing}; strandkeeper budget --length ... --meter shows how to take both",
        )
    measured = insertion_loss(Dbm(reference), Dbm(reading), cords=arguments.cords)
    return acceptance(measured, limit.limit, second_chance=Db(arguments.second_chance_db))


def _text(arguments: argparse.Namespace, limit: LossBudget, result: Acceptance | None) -> list[str]:
    if result is None:
        return _how_to(arguments, limit)
    measured = result.measured
    lines = [
        paragraph(
            f"Measured {measured.loss.value:.2f} dB at {limit.wavelength_nm:g} nm with a"
            f" {measured.cords}-cord reference; the limit is {result.limit.value:.2f} dB."
            f" It is the loss of {measured.includes}."
        ),
        "",
        paragraph(f"Verdict: {_verdict(result)}", hang=2),
    ]
    gap = gap_sentence(limit.fibre, limit.wavelength_nm, measured.loss - limit.expected)
    if gap and result.verdict is not MeterVerdict.ACCEPT:
        lines += ["", paragraph(f"For a sense of scale: {gap}.", hang=2)]
    return [*lines, "", *loss_table(limit), *_doubt(limit), "", _CAUTION]


def _verdict(result: Acceptance) -> str:
    excess, chance = result.excess.value, result.second_chance.value
    match result.verdict:
        case MeterVerdict.ACCEPT:
            return (
                f"passed, {-excess:.2f} dB below the limit. Write down loss, wavelength, date and"
                f" '{result.measured.cords} cord'."
            )
        case MeterVerdict.CLEAN_AND_RETEST:
            return (
                f"{excess:.2f} dB above the limit, less than {chance:g} dB: clean every connection,"
                " plug again and measure again. If it stays, make the worse end anew."
            )
        case MeterVerdict.REJECT:
            return (
                f"failed, {excess:.2f} dB above the limit, which is more than dirt usually takes."
                " Clean and measure once more; then look for a tight bend, a bad splice or a bad"
                " plug, make the end that looks worse anew, and measure again."
            )
        case MeterVerdict.BAD_REFERENCE:
            return (
                "more light than at the reference cannot be: the reference cord was dirty or bad."
                " Clean or replace it, take the reference again, measure again."
            )


def _how_to(arguments: argparse.Namespace, limit: LossBudget) -> list[str]:
    reference, measure = _DRAWINGS[arguments.cords]
    return [
        f"The cable may lose {limit.limit.value:.2f} dB at {limit.wavelength_nm:g} nm;"
        f" good work shows about {limit.expected.value:.1f} dB.",
        "",
        "  " + reference,
        "  " + measure,
        "",
        "  1. Let the source warm up some minutes. Clean and inspect every plug.",
        "  2. Connect the reference as drawn; note what the meter shows (the reference).",
        "  3. Do not unplug cord 1 from the source any more: that would spoil the reference.",
        "  4. Put the cable in between; note what the meter shows (the reading).",
        "  5. strandkeeper budget ... --reference-dbm REFERENCE --reading-dbm READING",
        "",
        f"  This measures {_INCLUDES[arguments.cords]}.",
        *(_when_not_one(arguments.cords)),
        "",
        *loss_table(limit),
        *_doubt(limit),
        "",
        _CAUTION,
        "",
        WORDS,
    ]


def _when_not_one(cords: int) -> list[str]:
    if cords == 1:
        return [
            "  The meter must take the cable's own kind of plug; --cords 2 or 3 if it does not."
        ]
    return [
        "  One cord is preferred where the meter takes the cable's kind of plug.",
        "  Never compare figures taken with different counts of cords.",
    ]


def _doubt(limit: LossBudget) -> list[str]:
    if not limit.tag.doubtful:
        return []
    return ["", paragraph(f"Take with care: {limit.source}.", indent=2, hang=2)]


def _json(
    arguments: argparse.Namespace, limit: LossBudget, result: Acceptance | None
) -> dict[str, Any]:
    return {
        "schema": 1,
        "meter": {
            "cords": arguments.cords,
            "includes": _INCLUDES[arguments.cords],
            "wavelength_nm": limit.wavelength_nm,
            "limit": loss_json(limit),
            "loss_db": None if result is None else round(result.measured.loss.value, 4),
            "excess_db": None if result is None else round(result.excess.value, 4),
            "verdict": None if result is None else result.verdict.value,
            "sentence": None if result is None else _verdict(result),
        },
    }
