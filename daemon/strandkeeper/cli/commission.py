"""`strandkeeper commission`: the checklist of a new link, and handing it over."""

from __future__ import annotations

import argparse
import time
from contextlib import closing

from strandkeeper.alerts.wording_commission import advice_sentence, item_sentence
from strandkeeper.alerts.wording_rework import work_cautions
from strandkeeper.analysis.commissioning import checklist
from strandkeeper.cli.ask_daemon import add_config, ask_for, link_named, print_cautions
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.jobs.anchoring import anchored
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.commissioning import ListItem
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.link import Link
from strandkeeper.model.rework import Outcome
from strandkeeper.model.settings import Settings
from strandkeeper.store import RecordReader, ledger, open_reader

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = 'strandkeeper commission station.toml "Pump house" --accept'

_MARKS = {
    Outcome.PASSED: "+",
    Outcome.FAILED: "!",
    Outcome.PENDING: ".",
    Outcome.UNKNOWN: "?",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The link; whether to go on looking, and whether to hand it over."""
    add_config(parser)
    parser.add_argument(
        "--watch", action="store_true", help="look again every 2 s until Ctrl-C (default: once)"
    )
    parser.add_argument(
        "--accept",
        action="store_true",
        help="begin the acceptance: from now on bits are counted and a baseline is made",
    )
    parser.add_argument(
        "--matings", type=int, metavar="N", help="mated pairs (default: as planned)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Show the checklist; 0 when no line has failed, 1 otherwise."""
    settings = load(arguments.config)
    link = link_named(settings, arguments.link)
    with closing(open_reader(settings.store.path)) as record:
        items = _show(settings, link, record)
        while arguments.watch:
            time.sleep(2)
            items = _show(settings, link, record)
    failed = [item for item in items if item.outcome is Outcome.FAILED]
    print_cautions(work_cautions() if failed else ())
    if arguments.accept:
        ask_for(
            settings,
            EntryKind.COMMISSION,
            {"link": link.name, "matings": arguments.matings},
        )
        print("The acceptance has begun: `strandkeeper rework list` shows how it stands.")
    return ExitCode.OPERATOR if failed else ExitCode.DONE


def _show(settings: Settings, link: Link, record: RecordReader) -> tuple[ListItem, ...]:
    verdict = record.verdict(link.name)
    if verdict is None:
        raise InputError(
            f"nothing of {link.name!r} has been read yet",
            hint="start the daemon (`strandkeeper run CONFIG`) and wait a few seconds",
        )
    facts = anchored(link_facts(link, settings), record.ask(ledger.anchors))
    bench = {b.direction: b.difference for b in record.ask(ledger.benches) if b.link == link.name}
    items = checklist(facts, verdict, bench=bench)
    for item in items:
        print(paragraph(f"{_MARKS[item.outcome]} {item_sentence(link, item)}", hang=2))
        if advice := advice_sentence(item):
            print(paragraph(advice, indent=4))
    return items
