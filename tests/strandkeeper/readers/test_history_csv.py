"""CSV text to rows and back: what it says is taken as it says it, what it cannot say is refused."""

from __future__ import annotations

import pytest

from strandkeeper.errors import DecodeError
from strandkeeper.model.names import End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import (
    AdminStatus,
    Deltas,
    EndRow,
    Media,
    OperStatus,
    OpticalReading,
)
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.history_csv import HistoryWriter, read_history

# The header of the interface, typed from the design and not taken from the code.
HEADER = (
    "time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,in_octets,out_octets,"
    "in_frames,fcs_errors,symbol_errors"
)
FULL = HEADER + ",last_change_s,media,module_id,admin_status"


def read(*lines: str, header: str = HEADER) -> list[EndRow]:
    return list(read_history([header, *lines]))


def write(*rows: EndRow) -> list[str]:
    writer = HistoryWriter()
    return [writer.line(row) for row in rows]


def test_every_cell_is_taken_in_its_unit() -> None:
    (row,) = read(
        "2026-03-01T12:00:00Z,B,-8.412,-5.6,12.5,-3.25,3.2971,up,86400.5,1,2,3,4,5,7.25,"
        'remote-fault,"SN 1, rev 2",down',
        header=FULL,
    )
    assert row == EndRow(
        time_ms=1_772_366_400_000,  # date -u -d 2026-03-01T12:00:00Z +%s
        end=End.B,
        optics=OpticalReading(
            rx=Measured(Dbm(-8.412)),
            tx=Measured(Dbm(-5.6)),
            bias_ma=12.5,
            temp_c=-3.25,
            vcc_v=3.2971,
        ),
        oper=OperStatus.UP,
        admin=AdminStatus.DOWN,
        uptime_cs=8_640_050,
        last_change_cs=725,
        media=Media.REMOTE_FAULT,
        module_id="SN 1, rev 2",
        deltas=Deltas(),  # the first running totals: no difference is known
    )


def test_no_light_is_a_word_and_an_empty_power_is_not_reported() -> None:
    dark, silent = read(
        "2026-03-01T12:00:00Z,A,no-light,,,,,down,,,,,,",
        "2026-03-01T12:00:00Z,B,,-5.6,,,,up,,,,,,",
    )
    assert dark.optics == OpticalReading(rx=NO_LIGHT)
    assert silent.optics == OpticalReading(rx=NOT_REPORTED, tx=Measured(Dbm(-5.6)))


def test_all_cells_empty_is_asked_and_not_answered() -> None:
    (row,) = read("2026-03-01T12:00:00Z,A,,,,,,,,,,,,")
    assert row == EndRow(time_ms=1_772_366_400_000, end=End.A, answered=False)


def test_empty_optics_say_nothing_until_that_lasts_90_seconds() -> None:
    rows = read(
        "2026-03-01T12:00:00Z,A,-8,,,,,up,,,,,,",
        "2026-03-01T12:00:30Z,A,,,,,,up,,,,,,",
        "2026-03-01T12:01:29Z,A,,,,,,up,,,,,,",
        "2026-03-01T12:01:30Z,A,,,,,,up,,,,,,",
        "2026-03-01T12:02:00Z,A,-8,,,,,up,,,,,,",
        "2026-03-01T12:02:30Z,A,,,,,,up,,,,,,",
    )
    nothing = OpticalReading()
    seen = OpticalReading(rx=Measured(Dbm(-8.0)))
    assert [row.optics for row in rows] == [seen, None, None, nothing, seen, None]


def test_a_difference_is_counted_from_the_same_ends_row_before() -> None:
    rows = read(
        "2026-03-01T12:00:00Z,A,,,,,,up,100,1000,500,10,0,0",
        "2026-03-01T12:00:00Z,B,,,,,,up,100,7,7,7,7,7",
        "2026-03-01T12:00:30Z,A,,,,,,up,130,1300,510,12,1,0",
    )
    assert rows[2].deltas == Deltas(
        in_octets=300, out_octets=10, in_frames=2, fcs_errors=1, symbol_errors=0
    )


@pytest.mark.parametrize(
    ("second", "why"),
    [
        ("2026-03-01T12:00:30Z,A,,,,,,up,130,999,,,,", "fell"),
        ("2026-03-01T12:00:30Z,A,,,,,,up,130,,,,,", "empty"),
        ("2026-03-01T12:00:30Z,A,,,,,,up,5,2000,,,,", "restarted"),
        ("2026-03-01T13:00:00Z,A,,,,,,up,150,2000,,,,", "restarted while nobody looked"),
    ],
)
def test_a_difference_is_right_or_unknown(second: str, why: str) -> None:
    rows = read("2026-03-01T12:00:00Z,A,,,,,,up,100,1000,,,,", second)
    assert rows[1].deltas.in_octets is None, why


def test_after_a_silence_counts_go_on_if_the_uptime_says_so() -> None:
    silence = "2026-03-01T12:00:30Z,A,,,,,,,,,,,,"
    first = "2026-03-01T12:00:00Z,A,,,,,,up,{},1000,,,,"
    last = "2026-03-01T12:01:00Z,A,,,,,,up,{},1600,,,,"
    for uptimes, expected in ((("100", "160"), 600), (("100", "20"), None), (("", ""), None)):
        rows = read(first.format(uptimes[0]), silence, last.format(uptimes[1]))
        assert rows[2].deltas.in_octets == expected


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("2026-03-01 noon,A,,,,,,up,,,,,,", "line 2: time: '2026-03-01 noon' is not a time"),
        ("2026-03-01T12:00:00,A,,,,,,up,,,,,,", "does not say its time zone"),
        ("2026-03-01T12:00:00Z,C,,,,,,up,,,,,,", "line 2: end: 'C' is neither A nor B"),
        ("2026-03-01T12:00:00Z,A,dark,,,,,up,,,,,,", "'dark' is neither dBm nor no-light"),
        ("2026-03-01T12:00:00Z,A,nan,,,,,up,,,,,,", "'nan' is not a power in dBm"),
        ("2026-03-01T12:00:00Z,A,-200,,,,,up,,,,,,", "'-200' is not a power in dBm"),
        ("2026-03-01T12:00:00Z,A,,,inf,,,up,,,,,,", "bias_ma: 'inf' is not a number"),
        ("2026-03-01T12:00:00Z,A,,,,,,UP,,,,,,", "'UP' is none of up, down, unknown"),
        ("2026-03-01T12:00:00Z,A,,,,,,up,-1,,,,,", "uptime_s: '-1' is less than nothing"),
        ("2026-03-01T12:00:00Z,A,,,,,,up,,1.5,,,,", "in_octets: '1.5' is not a whole count"),
        ("2026-03-01T12:00:00Z,A,,,,,,up,,-1,,,,", "in_octets: '-1' is not a whole count"),
        ("2026-03-01T12:00:00Z,A,,", "line 2: cells: 4 of them, the header has 14"),
        ('2026-03-01T12:00:00Z,A,"', "line 2: "),
    ],
)
def test_what_cannot_be_read_is_named_by_line_and_column(line: str, said: str) -> None:
    with pytest.raises(DecodeError) as refused:
        read(line)
    assert said in refused.value.message
    assert refused.value.message.startswith("line 2: ")


def test_time_that_runs_back_and_a_row_given_twice_are_refused() -> None:
    first = "2026-03-01T12:00:30Z,A,,,,,,up,,,,,,"
    with pytest.raises(DecodeError, match=r"line 3: time: .* is before the row above"):
        read(first, "2026-03-01T12:00:00Z,B,,,,,,up,,,,,,")
    with pytest.raises(DecodeError, match="line 3: end: a second row of end A at the same time"):
        read(first, first)


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("", "line 1: missing: time, end, rx_dbm"),
        (HEADER + ",colour", "line 1: unknown: colour"),
        (HEADER.replace("vcc_v,", ""), "line 1: missing: vcc_v"),
        (HEADER + ",media,media", "line 1: more than once: media"),
    ],
)
def test_a_column_that_is_not_ours_is_named(header: str, said: str) -> None:
    with pytest.raises(DecodeError) as refused:
        read(header=header)
    assert refused.value.message.startswith(said)
    assert refused.value.hint == (
        f"The header is {HEADER} and, optional, last_change_s,media,module_id,admin_status."
    )


def test_columns_may_stand_in_any_order_and_spreadsheets_may_mark_their_utf8() -> None:
    names = HEADER.split(",")
    cells = dict(zip(names, "2026-03-01T12:00:00Z,A,-8,,,,,up,,,,,,".split(","), strict=True))
    (row,) = read(
        ",".join(cells[name] for name in reversed(names)),
        header="\ufeff" + ",".join(reversed(names)),
    )
    assert row.optics == OpticalReading(rx=Measured(Dbm(-8.0)))


def answered(time_s: int, count: int | None, uptime_cs: int | None) -> EndRow:
    return EndRow(
        time_ms=time_s * 1000,
        end=End.A,
        oper=OperStatus.UP,
        uptime_cs=uptime_cs,
        deltas=Deltas(fcs_errors=count),
    )


def fcs_cells(*rows: EndRow) -> list[str]:
    place = FULL.split(",").index("fcs_errors")
    return [line.split(",")[place] for line in write(*rows)]


def test_totals_begin_at_0_and_start_again_at_0_after_an_empty_cell() -> None:
    counts = [None, 3, 4, None, 5, 6]
    rows = [answered(n * 30, count, n * 3000) for n, count in enumerate(counts)]
    assert fcs_cells(*rows) == ["0", "3", "7", "", "0", "6"]


def test_after_a_restart_seen_by_a_silence_no_difference_is_lost() -> None:
    rows = [
        answered(0, None, 9000),
        answered(30, 3, 12000),
        EndRow(time_ms=60_000, end=End.A, answered=False),
        answered(90, None, 500),
        answered(120, 2, 3500),
    ]
    assert fcs_cells(*rows) == ["0", "3", "", "0", "2"]


def test_the_header_that_is_written_is_the_one_that_is_read() -> None:
    assert HistoryWriter().header == FULL


def test_a_row_that_was_answered_with_nothing_still_reads_as_answered() -> None:
    lines = write(EndRow(time_ms=0, end=End.A))
    assert read(*lines, header=FULL)[0].answered
