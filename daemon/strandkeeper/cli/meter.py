"""`strandkeeper meter`: enter what an instrument showed, or list what was entered."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from contextlib import closing
from functools import partial
from pathlib import Path

from strandkeeper.alerts.wording_meter import change_sentence, reading_sentences
from strandkeeper.alerts.wording_rework import meter_cautions
from strandkeeper.cli.ask_daemon import ask_for, direction_named, link_named, print_cautions
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.cli.rework_text import local_time
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.meter_reading import MeterReading, last_alike
from strandkeeper.model.names import LinkName
from strandkeeper.model.settings import Settings
from strandkeeper.store import ledger, open_reader

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = (
    'strandkeeper meter station.toml "Pump house" --to "Pump house" --source laser '
    "--source-nm 1310 --reference -10.0 --reading -11.3"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Loss against a reference (the default), or power at the receiver's own cord."""
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    parser.add_argument("link", metavar="LINK", nargs="?", help="the link that was measured")
    parser.add_argument("--to", metavar="END", help="the direction, by its receiving end")
    parser.add_argument("--cable", help="the cable, for a strand that carries no link")
    parser.add_argument("--strand", type=int, metavar="N", help="the strand's number")
    parser.add_argument(
        "--power",
        action="store_true",
        help="power where the receiver's own cord ends: anchors its module (default: loss)",
    )
    parser.add_argument("--source", help="what the light came from: laser or led")
    parser.add_argument(
        "--source-nm", type=float, metavar="NM", help="the source's wavelength [nm]"
    )
    parser.add_argument(
        "--meter-nm",
        type=float,
        metavar="NM",
        help="the meter's setting [nm] (default: the source's)",
    )
    parser.add_argument(
        "--cords", type=int, choices=(1, 2, 3), help="cords at the reference (default 1)"
    )
    parser.add_argument("--reference", type=float, metavar="DBM", help="the reference [dBm]")
    parser.add_argument("--reading", type=float, metavar="DBM", help="what the meter shows [dBm]")
    parser.add_argument(
        "--sure", action="store_true", help="take a power that is far off the module's"
    )
    parser.add_argument("--by", metavar="NAME", help="who measured (default: you)")
    parser.add_argument(
        "--at",
        metavar="TIME",
        help="when, such as 2026-03-01T14:05Z (default: now); a power at most a day ago",
    )
    parser.add_argument("--note", help="what is worth remembering")


def run(arguments: argparse.Namespace) -> int:
    """Enter a reading; without --reading list them."""
    settings = load(arguments.config)
    link = None if arguments.link is None else link_named(settings, arguments.link)
    if arguments.reading is None and arguments.reference is None:
        _list(settings, None if link is None else link.name)
        return ExitCode.DONE
    way = None if link is None else direction_named(link, arguments.to)
    stored = ask_for(
        settings,
        EntryKind.METER,
        {
            "kind": "power" if arguments.power else "loss",
            "link": None if link is None else link.name,
            "direction": None if way is None else way.value,
            "cable": arguments.cable,
            "strand": arguments.strand,
            "source": arguments.source,
            "source_nm": arguments.source_nm,
            "meter_nm": arguments.meter_nm,
            "cords": arguments.cords,
            "reference_dbm": arguments.reference,
            "reading_dbm": arguments.reading,
            "sure": True if arguments.sure else None,
            "note": arguments.note,
            "by": arguments.by,
            "at": arguments.at,
        },
    )
    with closing(open_reader(settings.store.path)) as record:
        readings = record.ask(ledger.meter_readings)
    print("\n".join(reading_lines(next(r for r in readings if r.id == stored.id), readings)))
    print_cautions(meter_cautions())
    return ExitCode.DONE


def _list(settings: Settings, link: LinkName | None) -> None:
    with closing(open_reader(settings.store.path)) as record:
        readings = record.ask(partial(ledger.meter_readings, link=link))
    if not readings:
        print("No meter reading is on record.")
    for reading in readings:
        print("\n".join(reading_lines(reading, readings)))


def reading_lines(reading: MeterReading, earlier: Sequence[MeterReading] = ()) -> list[str]:
    """One reading, with what it is the loss of; `earlier` are those it may be compared with."""
    what = reading.link or f"strand {reading.strand} of {reading.cable}"
    way = "" if reading.direction is None else f" ({reading.direction.value})"
    head = f"{local_time(reading.at_ms)}  {what}{way}, {reading.wavelength_nm} nm, by {reading.who}"
    said = [*reading_sentences(reading), change_sentence(reading, earlier, _day(reading, earlier))]
    return [head, *(paragraph(text, indent=2) for text in said if text), *_note(reading)]


def _day(reading: MeterReading, earlier: Sequence[MeterReading]) -> str:
    before = last_alike(reading, earlier)
    return "" if before is None else local_time(before.at_ms)[:10]


def _note(reading: MeterReading) -> list[str]:
    return [paragraph(f"Note: {reading.note}", indent=2)] if reading.note else []
