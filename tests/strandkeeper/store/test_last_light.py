"""When each end last gave a light reading, from real rows of a real file."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import EndRow, OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.last_light import LastLight

SHORE, JETTY = LinkName("shore"), LinkName("jetty")
T0 = 1_795_000_200_000
MINUTE = 60_000
LIT = Measured(Dbm(-9.0))


def row(minute: int, end: End, rx: Power | None, *, answered: bool = True) -> EndRow:
    optics = None if rx is None else OpticalReading(rx=rx)
    return EndRow(time_ms=T0 + minute * MINUTE, end=end, answered=answered, optics=optics)


def lights(path: Path, rows: Iterable[tuple[LinkName, EndRow]]) -> dict[object, LastLight]:
    writer = open_writer(path, reserve=False)
    for link, each in rows:
        writer.append(Batch(rows=((link, each),)))
    _, state = writer.telling()
    writer.close()
    return dict(state.lights)


def test_the_newest_reading_and_the_newest_answer_of_an_end_are_told_apart(path: Path) -> None:
    rows = [(SHORE, row(n, End.A, LIT if n < 10 else NOT_REPORTED)) for n in range(20)]
    rows += [(SHORE, row(20, End.A, None, answered=False))]
    found = lights(path, rows)
    assert found == {(SHORE, End.A): LastLight(read_ms=T0 + 9 * MINUTE, heard_ms=T0 + 19 * MINUTE)}


def test_no_light_is_a_reading_and_an_end_that_never_gave_one_is_left_out(path: Path) -> None:
    rows = [(SHORE, row(n, End.A, NO_LIGHT)) for n in range(3)]
    rows += [(JETTY, row(n, End.B, NOT_REPORTED)) for n in range(3)]
    assert list(lights(path, rows)) == [(SHORE, End.A)]


def test_a_reading_of_days_ago_is_found_by_the_hours(path: Path) -> None:
    """Readings for ten minutes, then for two days answers without any."""
    rows = [(SHORE, row(n, End.B, LIT)) for n in range(10)]
    rows += [(SHORE, row(10 + 10 * n, End.B, NOT_REPORTED)) for n in range(288)]
    found = lights(path, rows)
    assert found == {
        (SHORE, End.B): LastLight(read_ms=T0 + 9 * MINUTE, heard_ms=T0 + 2880 * MINUTE)
    }


def test_where_the_rows_are_gone_the_hour_of_the_reading_is_still_known(path: Path) -> None:
    rows = [(SHORE, row(n, End.B, LIT)) for n in range(10)]
    rows += [(SHORE, row(10 + 10 * n, End.B, NOT_REPORTED)) for n in range(60)]
    writer = open_writer(path, reserve=False)
    for link, each in rows:
        writer.append(Batch(rows=((link, each),)))
    writer._connection.execute("DELETE FROM reading WHERE rx_kind = 0")  # as the retention does
    _, state = writer.telling()
    writer.close()
    hour = 3_600_000
    assert state.lights[SHORE, End.B].read_ms == T0 // hour * hour + hour - 1


def test_an_empty_record_knows_of_no_end(path: Path) -> None:
    assert lights(path, []) == {}
