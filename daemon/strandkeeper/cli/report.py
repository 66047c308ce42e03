"""`strandkeeper report`: the record of one link on paper, or a card for each building."""

from __future__ import annotations

import argparse
import time
from contextlib import closing
from functools import partial
from pathlib import Path

from strandkeeper.cli.ask_daemon import add_config, link_named
from strandkeeper.cli.report_card import card_html
from strandkeeper.cli.report_html import Paper, report_html
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.jobs.anchoring import anchored
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction
from strandkeeper.model.settings import Settings
from strandkeeper.model.stats import DAY_S
from strandkeeper.store import ledger, open_reader, rework

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = 'strandkeeper report station.toml "Pump house" -o pump-house.html'

_YEAR_MS = 366 * 86_400_000
_EVENTS = 40


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The link, where to, and which of the two papers."""
    add_config(parser)
    parser.add_argument("-o", dest="output", metavar="FILE", required=True, help="the HTML file")
    parser.add_argument(
        "--card",
        action="store_true",
        help="a card for each building: normal figures, strands, six steps (default: the record)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Write the paper; it prints on A4 and Letter and fetches nothing."""
    settings = load(arguments.config)
    link = link_named(settings, arguments.link)
    paper = _paper(settings, link)
    text = card_html(paper) if arguments.card else report_html(paper)
    try:
        Path(arguments.output).write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{arguments.output} cannot be written: {error.strerror}", hint="name another file"
        ) from error
    print(f"{arguments.output}: open it in a browser and print it")
    return ExitCode.DONE


def _paper(settings: Settings, link: Link) -> Paper:
    now_ms = time.time_ns() // 1_000_000
    with closing(open_reader(settings.store.path)) as record:
        verdict = record.verdict(link.name)
        if verdict is None:
            raise InputError(
                f"nothing of {link.name!r} has been read yet",
                hint="start the daemon (`strandkeeper run CONFIG`) and wait a few seconds",
            )
        return Paper(
            station=settings.station,
            link=link,
            facts=anchored(link_facts(link, settings), record.ask(ledger.anchors)),
            verdict=verdict,
            made_ms=now_ms,
            strands=record.ask(ledger.strands),
            cables=record.ask(ledger.cables),
            readings=record.ask(partial(ledger.meter_readings, link=link.name)),
            benches=[b for b in record.ask(ledger.benches) if b.link == link.name],
            works=record.ask(partial(rework.reworks, link=link.name)),
            events=record.events(link.name, limit=_EVENTS),
            days={
                way: record.stats(link.name, way, DAY_S, now_ms - _YEAR_MS, now_ms)
                for way in Direction
            },
        )
