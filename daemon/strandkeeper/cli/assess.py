"""`strandkeeper assess`: the whole analysis of a history in a CSV file, without a daemon."""

from __future__ import annotations

import argparse
import gc
import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from strandkeeper.analysis import engine
from strandkeeper.cli.assess_text import assess_text
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.link import Link, LinkFacts, PortEnd, Thresholds
from strandkeeper.model.names import LinkName, PortName, SwitchName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.model.times import iso_utc
from strandkeeper.model.verdict import Event, LinkVerdict
from strandkeeper.model.verdict_json import verdict_to_json
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.readers.history_columns import read_blocks

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = "strandkeeper assess pump-house.csv --pmd 1000BASE-LX10"

ROWS_AT_ONCE: Final = 50_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The file, and what is known of the link: from a configuration or figure by figure."""
    parser.add_argument("file", metavar="FILE.csv", help="the history; - is standard input")
    parser.add_argument("--json", action="store_true", help="print JSON, schema 1 (default: words)")
    parser.add_argument("--config", type=Path, help="configuration that knows the link")
    parser.add_argument("--link", help="with --config: the link's name")
    parser.add_argument("--pmd", help="module type at both ends, such as 1000BASE-LX10")
    parser.add_argument("--sensitivity-dbm", type=float, help="weakest usable light [dBm]")
    parser.add_argument("--overload-dbm", type=float, help="strongest usable light [dBm]")
    parser.add_argument("--wavelength-ab-nm", type=int, help="wavelength from A to B [nm]")
    parser.add_argument("--wavelength-ba-nm", type=int, help="wavelength from B to A [nm]")
    parser.add_argument("--strands", type=int, choices=(1, 2), default=2, help="default: 2")
    parser.add_argument("--reserve-db", type=float, help="margin to keep [dB] (default: 6)")


def run(arguments: argparse.Namespace) -> int:
    """Judge the whole file and tell it; 0 also when the link is ill: the answer was given."""
    link, facts = _known(arguments)
    gc.disable()  # nothing here holds cycles; looking for some takes a fifth longer
    try:
        verdict, events, first_ms = _judge(facts, _lines(arguments.file))
    finally:
        gc.enable()
    if verdict is None:
        raise InputError(f"{arguments.file} has no rows", hint="Export a time in which it ran.")
    if arguments.json:
        told = {**verdict_to_json(verdict), "from": iso_utc(first_ms)}
        print(json.dumps(told, ensure_ascii=False))
    else:
        print(assess_text(link, verdict, events, first_ms))
    return ExitCode.DONE


def _known(arguments: argparse.Namespace) -> tuple[Link, LinkFacts]:
    if arguments.config is not None:
        settings = load(arguments.config)
        names = [link.name for link in settings.links]
        if arguments.link not in names:
            hint = f"There are: {', '.join(map(repr, names))}."
            raise InputError(f"--link {arguments.link!r} is not in the configuration", hint=hint)
        link = settings.link(LinkName(arguments.link))
        return link, link_facts(link, settings)
    link = _plain_link(arguments)
    return link, link_facts(link, _plain_settings(link, arguments.reserve_db))


def _plain_link(arguments: argparse.Namespace) -> Link:
    """A link of which only the arguments are known; its ends are called A and B."""

    def end(name: str, wavelength: int | None) -> PortEnd:
        return PortEnd(
            name=name,
            switch=SwitchName(name),
            port=PortName("-"),
            pmd=arguments.pmd,
            sensitivity=_maybe_dbm(arguments.sensitivity_dbm),
            overload=_maybe_dbm(arguments.overload_dbm),
            wavelength_nm=wavelength,
        )

    return Link(
        name=LinkName(Path(arguments.file).stem),
        a=end("A", arguments.wavelength_ab_nm),
        b=end("B", arguments.wavelength_ba_nm),
        strands=arguments.strands,
    )


def _maybe_dbm(value: float | None) -> Dbm | None:
    return None if value is None else Dbm(value)


def _plain_settings(link: Link, reserve_db: float | None) -> Settings:
    thresholds = Thresholds()
    if reserve_db is not None:
        urgent = min(reserve_db, thresholds.reserve_urgent.value)
        thresholds = Thresholds(reserve_warn=Db(reserve_db), reserve_urgent=Db(urgent))
    return Settings(
        station="",
        switches=(),
        links=(link,),
        store=StoreSettings(path=""),
        thresholds=thresholds,
    )


def _lines(file: str) -> Iterator[str]:
    if file == "-":
        yield from sys.stdin
        return
    try:
        with Path(file).open(encoding="utf-8", newline="") as lines:
            yield from lines
    except OSError as error:
        hint = "Give the name of a CSV file, or - for standard input."
        raise InputError(f"cannot read {file}: {error.strerror}", hint=hint) from error


def _judge(facts: LinkFacts, lines: Iterable[str]) -> tuple[LinkVerdict | None, list[Event], int]:
    """The verdict after the last row, every event, and when the history begins [ms]."""
    state = engine.initial(facts)
    verdict: LinkVerdict | None = None
    events: list[Event] = []
    first_ms = 0
    for block in read_blocks(lines, ROWS_AT_ONCE):
        first_ms = first_ms or int(block.data[0, 0])
        state, evaluation = engine.advance(facts, state, block)
        verdict = evaluation.verdict
        events += evaluation.events
        if sys.stderr.isatty():
            print(f"\rjudged up to {iso_utc(verdict.at_ms)}", end="", file=sys.stderr)
    if sys.stderr.isatty():
        print(file=sys.stderr)
    return verdict, events, first_ms
