"""[[table]]: a switch's own table of light readings, described by OIDs; see schema."""

from __future__ import annotations

from typing import Any, Final, Literal

from strandkeeper.config.table import Table, key

__all__ = ["OID", "QUANTITIES", "ColumnTable", "SourceTable"]

QUANTITIES: Final = ("rx", "tx", "bias", "temperature", "supply")
OID: Final = r"^\.?\d{1,10}(\.\d{1,10}){5,120}$"


def _oid(what: str, example: str = '"1.3.6.1.4.1.32473.1.1.1.9"') -> Any:
    return key(what, example, None, pattern=OID)


def _column(what: str, oid_end: int, unit: str) -> Any:
    example = f'{{ oid = "1.3.6.1.4.1.32473.1.1.1.{oid_end}", unit = "{unit}" }}'
    return key(f"where the {what} is, and what one count of it means", example, None)


class ColumnTable(Table):
    """One quantity of a [[table]]."""

    oid: str = key(
        "the column, without the row's index", '"1.3.6.1.4.1.32473.1.1.1.5"', pattern=OID
    )
    unit: str = key(
        "one count of it, such as 0.01 dBm, 0.1 uW, 1/256 C, mV, 2 uA; bare numbers in text are "
        'counts too; "text": every cell states its unit itself',
        '"0.01 dBm"',
        min_length=1,
    )
    kind: int | str | None = key(
        "the value that marks this quantity where each sensor has a row of its own", "5", None
    )
    no_light: list[int | float | str] = key(
        "words and values in this column that mean no light", "[-4000]", [], max_length=32
    )


class SourceTable(Table):
    """[[table]]: described once, named by each switch that has it."""

    name: str = key("your name for it; a switch names it in tables", '"optics"', min_length=1)
    index: str = key(
        "what the numbers of a row's index count, in order: ifIndex, entPhysicalIndex, port (the "
        "number on the front), unit (of a stack), lane, kind, any (means nothing), or a number",
        '"ifIndex"',
        "ifIndex",
        min_length=1,
    )
    rx: ColumnTable | None = _column("receive power", 5, "0.01 dBm")
    tx: ColumnTable | None = _column("transmit power", 4, "0.01 dBm")
    bias: ColumnTable | None = _column("laser's bias current", 3, "uA")
    temperature: ColumnTable | None = _column("module's temperature", 1, "0.1 C")
    supply: ColumnTable | None = _column("supply voltage", 2, "mV")
    serial: str | None = _oid("the column with the module's serial number")
    maker: str | None = _oid("the column with the module's maker")
    part: str | None = _oid("the column with the module's part number")
    wavelength: str | None = _oid(
        "the column with the module's wavelength: in nm or a tenth, hundredth or thousandth of it, "
        "or a text such as 1310 nm"
    )
    pages: str | None = _oid(
        "instead of figures: the column with the raw pages A0h and A2h (SFF-8472), one string"
    )
    page_a0: str | None = _oid("the column with page A0h, where each has its own")
    page_a2: str | None = _oid("the column with page A2h, where each has its own")
    kind_oid: str | None = _oid("the column that tells which quantity a row is about")
    port_oid: str | None = _oid("the column that tells a row's port, where the index does not")
    port_is: Literal["name", "ifIndex", "entPhysicalIndex", "port"] = key(
        "what that column holds", '"name"', "name"
    )
    port_name: str = key(
        "the port's name made from its number, {port} and {unit} standing for the numbers; or the "
        "one port that scalars are of",
        '"Gi{unit}/{port}"',
        "",
    )
    port_offset: int = key(
        "add to the port number, for its name or, without port_name, for the ifIndex",
        "1",
        0,
        ge=-1_000_000,
        le=1_000_000,
    )
    lane: int | None = key("the lane to judge; left out: the lowest", "1", None, ge=0, le=255)
    no_light: list[int | float | str] = key(
        "words and values that mean no light; 0 of a linear unit and -inf always do",
        '[-4000, "off"]',
        [],
        max_length=32,
    )
    not_there: list[int | float | str] = key(
        "words and values that mean no module, or one that does not measure",
        '["N/A", "--"]',
        [],
        max_length=32,
    )
    floor_dbm: float = key("at or below this it is no light [dBm]", "-40.0", -40.0, ge=-99, le=-15)
