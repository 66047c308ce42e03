"""`strandkeeper budget`: what a link should lose, whether the modules fit, and the meter's part."""

from __future__ import annotations

import argparse
import json
import math

from strandkeeper.cli import budget_meter, budget_plan
from strandkeeper.errors import ExitCode, InputError

EXAMPLE = "strandkeeper budget --length 900m --pmd 1000BASE-LX10"

_FIGURES = (
    ("launch-min-dbm", "weakest light the transmitter sends, from its data sheet [dBm]"),
    ("launch-max-dbm", "strongest light the transmitter sends [dBm]"),
    ("sensitivity-dbm", "weakest light the receiver can use [dBm]"),
    ("overload-dbm", "strongest light the receiver can use [dBm]"),
    ("wavelength-nm", "wavelength the module sends [nm]"),
)


def _number(text: str) -> float:
    """A finite number; float() alone would take 'nan' and 'inf'."""
    value = float(text)
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"{text!r} is no number")
    return value


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """A cable and two modules on the command line, or a configuration; meter arithmetic."""
    parser.add_argument(
        "config", nargs="?", metavar="CONFIG", help="configuration file: plan every link in it"
    )
    parser.add_argument(
        "link", nargs="?", metavar="LINK", help="only this link of the configuration"
    )
    _cable(parser.add_argument_group("the cable"))
    _modules(parser.add_argument_group("the modules"))
    _compare(parser.add_argument_group("plan against fact"))
    _meter(parser.add_argument_group("light source and power meter"))
    parser.add_argument(
        "--reserve-db",
        metavar="DB",
        type=_number,
        default=3.0,
        help="margin to keep for ageing [dB], default 3",
    )
    parser.add_argument("--details", action="store_true", help="error ratio, test time, sources")
    parser.add_argument("--json", action="store_true", help="the same for a script (schema 1)")


def _cable(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--length", help="with its unit: 900m, 0.9km, 3000ft")
    group.add_argument("--fibre", default="G.652.D", help="G.652.D (default), G.657.A1, OM3, ...")
    group.add_argument(
        "--matings",
        metavar="N",
        type=int,
        default=2,
        help="mated pairs of connectors on the way, default 2",
    )
    group.add_argument(
        "--splices", metavar="N", type=int, default=0, help="splices on the way, default 0"
    )
    group.add_argument(
        "--extra-db",
        metavar="DB",
        type=_number,
        default=0.0,
        help="attenuator or repair allowance [dB], default 0",
    )
    group.add_argument(
        "--attenuation-db-km",
        metavar="DB/KM",
        type=_number,
        help="your cable's own loss [dB/km] instead of the table",
    )
    group.add_argument(
        "--mating-db", metavar="DB", type=_number, help="loss of one mated pair [dB], likewise"
    )
    group.add_argument(
        "--splice-db", metavar="DB", type=_number, help="loss of one splice [dB], likewise"
    )
    group.add_argument("--extra-note", default="", help="what --extra-db is, for the table")
    group.add_argument("--strands", type=int, choices=(1, 2), help="fibres that the link uses")


def _modules(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--pmd", metavar="TYPE", help="type of both modules, such as 1000BASE-LX10")
    group.add_argument(
        "--far-pmd",
        metavar="TYPE",
        help="type at the far end, default as --pmd or its counterpart (-D, -U)",
    )
    group.add_argument("--module", metavar="FILE", help="raw pages of the module at this end")
    group.add_argument("--far-module", metavar="FILE", help="raw pages of the far module")
    group.add_argument("--types", action="store_true", help="list the module types known, and end")
    for name, words in _FIGURES:
        unit = name.rsplit("-", 1)[1].upper()
        group.add_argument(f"--{name}", metavar=unit, type=_number, help=words)
    for name, _ in _FIGURES:
        unit = name.rsplit("-", 1)[1].upper()
        group.add_argument(
            f"--far-{name}", metavar=unit, type=_number, help="the same at the far end"
        )
    group.add_argument(
        "--near-name", metavar="NAME", default="near end", help="your name for this end"
    )
    group.add_argument(
        "--far-name", metavar="NAME", default="far end", help="your name for the far end"
    )


def _compare(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--measured-loss-db", metavar="DB", type=_number, help="what the cable really loses [dB]"
    )
    group.add_argument(
        "--accuracy-db",
        metavar="DB",
        type=_number,
        default=6.0,
        help="how far that may be off [dB]; default 6, for two modules' own readings; 0.5 by meter",
    )


def _meter(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--meter", action="store_true", help="how to measure, and the limit to pass")
    group.add_argument(
        "--reference-dbm", metavar="DBM", type=_number, help="meter with the reference cords [dBm]"
    )
    group.add_argument(
        "--reading-dbm", metavar="DBM", type=_number, help="meter with the cable in between [dBm]"
    )
    group.add_argument(
        "--cords", type=int, choices=(1, 2, 3), default=1, help="cords at the reference, default 1"
    )
    group.add_argument("--source", default="laser", help="laser (default), led, vfl")
    group.add_argument(
        "--source-nm", metavar="NM", type=_number, help="wavelength of the source [nm]"
    )
    group.add_argument(
        "--meter-nm", metavar="NM", type=_number, help="wavelength the meter is set to [nm]"
    )
    group.add_argument(
        "--second-chance-db",
        metavar="DB",
        type=_number,
        default=0.5,
        help="less than this above the limit: clean and retry [dB], default 0.5",
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the plan, the comparison or the meter's verdict."""
    if arguments.types:
        from strandkeeper.cli.budget_types import types_text

        print(types_text())
        return ExitCode.DONE
    if arguments.config is not None:
        # imported only here: planning by hand needs neither configuration nor record
        from strandkeeper.cli import budget_config

        return budget_config.run(arguments)
    if arguments.length is None:
        raise InputError(
            "neither a cable nor a configuration is given",
            hint=f"for example: {EXAMPLE}\n  or: strandkeeper budget strandkeeper.toml",
        )
    if arguments.meter or arguments.reference_dbm is not None or arguments.reading_dbm is not None:
        return budget_meter.run(arguments)
    link = budget_plan.by_hand(arguments)
    if arguments.json:
        from strandkeeper.cli.budget_json import links_json

        print(json.dumps(links_json([link]), ensure_ascii=False, indent=2))
    else:
        from strandkeeper.cli.budget_text import link_text

        print(link_text(link, details=arguments.details))
    return ExitCode.DONE
