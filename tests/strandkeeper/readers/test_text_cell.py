"""Cells of text, as switches write them; nothing but the named error may come of any octets."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from strandkeeper.errors import DecodeError
from strandkeeper.model.enterprise_table import EnterpriseTable, TableColumn, parse_unit
from strandkeeper.model.oid import Absent, Value
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.table_figures import Figures, figures_of
from strandkeeper.readers.text_cell import folded, read_numbers

WORDS = ("N/A", "NA", "--", "-", "No module", "unsupported")


def figures(
    unit: str = "dBm",
    quantity: Quantity = Quantity.RX,
    *,
    no_light: tuple[int | float | str, ...] = (),
    not_there: tuple[int | float | str, ...] = WORDS,
) -> Figures:
    column = TableColumn(oid=(1, 3), unit=None if unit == "text" else parse_unit(unit))
    table = EnterpriseTable(
        name="t", index=(), columns={quantity: column}, no_light=no_light, not_there=not_there
    )
    return figures_of(table, quantity, column)


def shown(power: Power) -> float | str:
    return round(power.power.value, 2) if isinstance(power, Measured) else type(power).__name__


# facts: 9.6 of the collection of what agents write, and hand arithmetic: 0.30 mW = -5.23 dBm
# (10·log10 0.30 = -5.2288), 0.0999 mW = -10.00 dBm
CELLS = [
    (b"-5.23", -5.23),
    (b"-5.23 dBm", -5.23),
    (b"-5.23dBm", -5.23),
    (b"-5.23 DBM", -5.23),
    (b" -5.23 dBm \r\n", -5.23),
    (b"-5.23 dBm\0", -5.23),
    (b"-5.23\0\xff\xfe9 dBm", -5.23),
    (b"-5,23", -5.23),
    (b"-5,23 dBm", -5.23),
    ("\u22125.23 dBm".encode(), -5.23),
    ("\u20135,23".encode(), -5.23),
    ("-5.23\u00a0dBm".encode(), -5.23),
    (b"0.30 mW", -5.23),
    (b"0,30 mW", -5.23),
    (b"300 uW", -5.23),
    ("300 µW".encode(), -5.23),
    ("300 μW".encode(), -5.23),
    (b"3.0e-4 W", -5.23),
    (b"-5.23 dBm / 0.30 mW", -5.23),
    (b"0.30 mW / -5.23 dBm", -5.23),
    (b"-5.23 dBm (0.30 mW)", -5.23),
    (b"0.0999 mW", -10.0),
    (b"-38.50 dBm / 0.000 mW", -38.5),
    (b"Rx power: -5.23 dBm", -5.23),
    (b"-31.2 --", -31.2),
    (b"-31.2*", -31.2),
    (b"-31.2 dBm (low alarm)", -31.2),
    (b"+1.50", 1.5),
    (b"-inf", "NoLight"),
    (b"-INF dBm", "NoLight"),
    (b"-Infinity", "NoLight"),
    (b"0.00 mW", "NoLight"),
    (b"-- / 0,000 mW", "NoLight"),
    (b"-inf dBm / 0.000 mW", "NoLight"),
    (b"-40.00", "NoLight"),
    (b"-60", "NoLight"),
    (b"-327.68", "NoLight"),
    (b"", "NotReported"),
    (b"\0\0\0", "NotReported"),
    (b"N/A", "NotReported"),
    (b"n/a", "NotReported"),
    (b"NA", "NotReported"),
    (b"--", "NotReported"),
    (b"-", "NotReported"),
    (b"no module\0", "NotReported"),
    (b"unsupported", "NotReported"),
    (b"31.50 dBm", "NotReported"),  # 1.4 W: no module
    (b"-0.30 mW", "NotReported"),
]


@pytest.mark.parametrize(("cell", "expected"), CELLS)
def test_a_cell_is_a_power_or_what_its_word_stands_for(cell: bytes, expected: float | str) -> None:
    assert shown(figures().power(cell)) == expected


@pytest.mark.parametrize(
    "cell",
    [
        b"kein Modul", b"4800.0 rpm", b"- 5.23", b"--5.23", b"5-3", b"1.2.3", b"1,234.5", b"inf",
        b"nan", b"-5.23 dBm / 0.90 mW", b"1 2", b"-5.23 mV", b"dBm", b"?", b"-5.23 -6.10 -7.00",
        b"1" * 21, b"x" * 5000, b"-5.23 dBm / -6.00 dBm",
    ],
)  # fmt: skip
def test_what_is_neither_figure_nor_word_is_refused(cell: bytes) -> None:
    with pytest.raises(DecodeError):
        figures().power(cell)


def test_a_bare_number_has_the_unit_of_the_description() -> None:
    assert shown(figures("0.01 dBm").power(b"-523")) == -5.23
    assert shown(figures("0.01 dBm").power(-523)) == -5.23
    assert shown(figures("0.1 uW").power(2999)) == -5.23
    assert shown(figures("mW").power(b"0.30")) == -5.23


def test_a_unit_in_the_cell_wins_over_that_of_the_description() -> None:
    assert shown(figures("0.01 dBm").power(b"0.30 mW")) == -5.23


def test_cells_that_should_state_their_unit_and_do_not_are_refused() -> None:
    assert shown(figures("text").power(b"-5.23 dBm")) == -5.23
    for bare in (b"-5.23", -523):
        with pytest.raises(DecodeError):
            figures("text").power(bare)


def test_a_negative_number_in_an_unsigned_type_is_the_negative_number() -> None:
    """2^32 - 523: what a Gauge32 makes of -523."""
    assert shown(figures("0.01 dBm").power(4_294_966_773)) == -5.23
    assert figures("0.1 C", Quantity.TEMPERATURE).number(2**32 - 55) == -5.5


@pytest.mark.parametrize("word", [-4000, -214_748_364, 65535, 0, "Off", -40.0])
def test_values_and_words_that_mean_no_light_do(word: int | float | str) -> None:
    cell: Value = str(word).upper().encode() if isinstance(word, str | float) else word
    assert figures("0.01 dBm", no_light=(word,)).power(cell) == NO_LIGHT


def test_values_that_mean_no_module_are_not_reported() -> None:
    assert figures("0.01 dBm", not_there=(-1,)).power(-1) == NOT_REPORTED
    assert figures("uA", Quantity.BIAS, not_there=(-1,)).number(-1) is None


def test_zero_is_no_light_in_watts_and_a_milliwatt_in_dbm() -> None:
    assert figures("uW").power(0) == NO_LIGHT
    assert figures("0.01 dBm").power(0) == Measured(Dbm(0.0))


@pytest.mark.parametrize(
    ("unit", "quantity", "cell", "expected"),
    [
        ("1/256 C", Quantity.TEMPERATURE, 9011, 35.19921875),  # 9011 / 256
        ("C", Quantity.TEMPERATURE, b"35,2 \xc2\xb0C", 35.2),
        ("0.1 C", Quantity.TEMPERATURE, -105, -10.5),
        ("mV", Quantity.SUPPLY, 3310, 3.31),
        ("V", Quantity.SUPPLY, b"3.31 V", 3.31),
        ("0.1 mV", Quantity.SUPPLY, 33100, 3.31),
        ("2 uA", Quantity.BIAS, 18050, 36.1),
        ("mA", Quantity.BIAS, b"36.10 mA", 36.1),
        ("mA", Quantity.BIAS, b"0.0361 A", 36.1),
    ],
)
def test_other_figures_in_their_units(
    unit: str, quantity: Quantity, cell: Value, expected: float
) -> None:
    assert figures(unit, quantity).number(cell) == expected


def test_what_an_agent_left_out_is_not_reported() -> None:
    for value in (None, Absent.NO_SUCH_INSTANCE, (1, 3, 6)):
        assert figures().power(value) == NOT_REPORTED
        assert figures("C", Quantity.TEMPERATURE).number(value) is None


CELL_LIKE = st.text(alphabet="-+0123456789.,eEinfINFdBmMWuµ°C /()*:;|\0\r\n\u2212 N/A", max_size=30)


@given(st.one_of(st.binary(max_size=120), CELL_LIKE.map(str.encode), st.integers()))
@example(b"1e-99 mW")
@example(b"9" * 20 + b"e99 mW")
@example(b"-9e99")
@example("٣٫٥ dBm".encode())
@example("²".encode())
def test_no_octets_raise_anything_but_the_named_error(cell: Value) -> None:
    for unit, quantity in (
        ("text", Quantity.RX),
        ("0.01 dBm", Quantity.RX),
        ("0.1 uW", Quantity.TX),
        ("uA", Quantity.BIAS),
        ("1/256 C", Quantity.TEMPERATURE),
    ):
        read = figures(unit, quantity)
        try:
            power = read.power(cell) if quantity in (Quantity.RX, Quantity.TX) else None
            number = None if power is not None else read.number(cell)
        except DecodeError:
            continue
        assert power is None or not isinstance(power, Measured) or -40 < power.power.value <= 20
        assert number is None or abs(number) < 1e140


@given(
    st.integers(-3999, 2000),
    st.sampled_from(["", "dBm", " dBm"]),
    st.sampled_from(["-", "\u2212"]),
    st.sampled_from([".", ","]),
    st.sampled_from(["", "\0", "\r\n", " *", " --"]),
)
def test_a_figure_is_the_same_however_it_is_dressed(
    hundredths: int, unit: str, minus: str, point: str, tail: str
) -> None:
    plain = f"{hundredths / 100:.2f}{unit}{tail}"
    dressed = plain.replace("-", minus, 1) if hundredths < 0 else plain
    number = read_numbers(folded(dressed.replace(".", point).encode()))[0]
    assert number.value == Fraction(hundredths, 100)
