"""The ledger's files: what was measured and done goes out beside cables and strands."""

from __future__ import annotations

import csv
import io
import json

from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.ledger_files import (
    from_csv,
    from_json,
    readings_to_csv,
    to_csv,
    to_json,
    works_to_csv,
)
from strandkeeper.model.meter_reading import MeterKind, MeterReading
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.rework import DirectionReport, Rework, ReworkVerdict, Side, Worth
from strandkeeper.model.verdict import Interval
from strandkeeper.optics.meter import MeterVerdict
from strandkeeper.optics.units import Db, Dbm

CABLE = Cable(name="shore, cable", strands=2, length_m=900.0)
STRAND = Strand(cable="shore, cable", number=1, label="blue", note='said "spare"')
READING = MeterReading(
    id=7,
    at_ms=1_750_000_000_000,
    who="me",
    kind=MeterKind.LOSS,
    reading=Dbm(-11.3),
    wavelength_nm=1310,
    source="laser",
    cable="shore, cable",
    strand=1,
    cords=2,
    reference=Dbm(-10.0),
    loss=Db(1.3),
    limit=Db(1.82),
    verdict=MeterVerdict.ACCEPT,
)
SIDE = Side(from_ms=0, to_ms=60_000)
WORK = Rework(
    id=8,
    link=LinkName("shore"),
    what="new plug",
    who="me",
    started_ms=1_750_000_000_000,
    finished_ms=1_750_000_600_000,
    direction=Direction.AB,
    end=End.B,
    cable="shore, cable",
    strand=1,
    reports={
        Direction.AB: DirectionReport(
            before=SIDE,
            after=SIDE,
            verdict=ReworkVerdict(
                worth=Worth.BETTER, change=Interval(value=-4.0, low=-4.2, high=-3.8)
            ),
        )
    },
)


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_a_reading_goes_out_with_its_method_and_what_it_was_worth() -> None:
    (row,) = rows(readings_to_csv([READING]))
    assert (row["cable"], row["strand"], row["cords"]) == ("shore, cable", "1", "2")
    assert (row["loss_db"], row["limit_db"], row["verdict"]) == ("1.3", "1.82", "accept")
    assert row["at"] == "2025-06-15T15:06:40Z"  # date -u -d @1750000000
    assert row["reported_dbm"] == ""


def test_work_goes_out_by_strand_and_end_with_its_verdict() -> None:
    (row,) = rows(works_to_csv([WORK]))
    assert (row["cable"], row["strand"], row["end"]) == ("shore, cable", "1", "B")
    assert (row["worth_ab"], row["change_ab_db"], row["worth_ba"]) == ("better", "-4.0", "")
    assert row["finished"] == "2025-06-15T15:16:40Z"


def test_everything_is_in_the_json_and_what_happened_is_not_taken_in_again() -> None:
    text = to_json([CABLE], [STRAND], [READING], [WORK])
    whole = json.loads(text)
    assert [r["id"] for r in whole["readings"]] == [7]
    assert whole["works"][0]["directions"]["ab"]["verdict"]["worth"] == "better"
    assert sorted(from_json(text)) == ["cables", "strands"]


def test_commas_and_quotes_come_back_as_they_were() -> None:
    (strand,) = from_csv(to_csv([STRAND]))["strands"]  # type: ignore[attr-defined]
    assert (strand["cable"], strand["note"]) == ("shore, cable", 'said "spare"')
