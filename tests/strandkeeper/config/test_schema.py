"""The schema describes itself: every key has its words and an example that is valid."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from typing import Any

import pytest
from tests.strandkeeper.config.texts import VALID, read

from strandkeeper.config.load import starter_text
from strandkeeper.config.schema import (
    ColumnTable,
    CommunityTable,
    DashboardTable,
    EndTable,
    FileTable,
    IntervalsTable,
    LinkTable,
    MetricsTable,
    RetentionTable,
    SourceTable,
    StoreTable,
    SwitchTable,
    UsmTable,
)
from strandkeeper.config.table import Table
from strandkeeper.config.thresholds import ThresholdsTable
from strandkeeper.model.link import Thresholds
from strandkeeper.optics.units import Db
from strandkeeper.snmp import credentials

TABLES: list[type[Table]] = [
    FileTable,
    SwitchTable,
    CommunityTable,
    UsmTable,
    LinkTable,
    EndTable,
    StoreTable,
    RetentionTable,
    IntervalsTable,
    DashboardTable,
    MetricsTable,
    ThresholdsTable,
    SourceTable,
    ColumnTable,
]
KEYS = [
    pytest.param(table, key, id=f"{table.__name__}.{key}")
    for table in TABLES
    for key in table.model_fields
]


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_every_key_is_described_and_has_an_example(table: type[Table], key: str) -> None:
    info = table.model_fields[key]
    assert info.description
    assert info.examples
    assert isinstance(info.examples[0], str)


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_every_key_stands_in_the_starter_file(table: type[Table], key: str) -> None:
    text = starter_text()
    ways = (f"{key} =", f"[{key}]", f"[[{key}]]", f".{key}]", f"or {key},", f", {key}")
    assert any(way in text for way in ways)


@pytest.mark.parametrize("key", list(ThresholdsTable.model_fields))
def test_an_example_of_a_threshold_is_its_default(key: str) -> None:
    info = ThresholdsTable.model_fields[key]
    assert info.examples
    assert tomllib.loads(f"x = {info.examples[0]}")["x"] == info.default


def test_the_defaults_of_the_file_are_those_of_the_model() -> None:
    """Entered twice: here by hand in the schema, there in model.link.Thresholds."""
    model = Thresholds()
    for field in fields(Thresholds):
        value: Any = getattr(model, field.name)
        key = f"{field.name}_db" if isinstance(value, Db) else field.name
        expected = value.value if isinstance(value, Db) else value
        assert ThresholdsTable.model_fields[key].default == expected, key
    assert len(ThresholdsTable.model_fields) == len(fields(Thresholds))


def test_the_commented_thresholds_of_the_starter_file_are_the_defaults() -> None:
    lines = [line for line in starter_text().splitlines() if line.startswith("# ")]
    shown = {
        line[2:].split(" = ")[0]: line.split(" = ")[1].split("#")[0].strip()
        for line in lines
        if " = " in line and line[2:].split(" = ")[0] in ThresholdsTable.model_fields
    }
    assert set(shown) == set(ThresholdsTable.model_fields)
    for key, text in shown.items():
        assert float(text) == ThresholdsTable.model_fields[key].default, key


def test_the_protocols_are_those_that_the_snmp_side_knows() -> None:
    def allowed(key: str) -> tuple[str, ...]:
        annotation: Any = UsmTable.model_fields[key].annotation
        return tuple(annotation.__args__[0].__args__)

    assert allowed("auth") == tuple(credentials.AUTH_PROTOCOLS)
    assert allowed("priv") == tuple(credentials.PRIV_PROTOCOLS)


@pytest.mark.parametrize("version", ["1", "2c"])
def test_both_community_versions_are_read(version: str) -> None:
    assert read(VALID.replace('"2c"', f'"{version}"')).switches[0].credentials
