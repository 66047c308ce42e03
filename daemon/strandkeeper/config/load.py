"""Reading the configuration: one file in, settings out, or every problem at once."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from strandkeeper.config.build import build
from strandkeeper.config.checks import (
    interval_problems,
    link_problems,
    listen_problems,
    switch_problems,
)
from strandkeeper.config.checks_sources import source_problems
from strandkeeper.config.checks_telling import telling_problems
from strandkeeper.config.explain import explain
from strandkeeper.config.problem import Problem
from strandkeeper.config.schema import (
    DashboardTable,
    FileTable,
    IntervalsTable,
    LinkTable,
    MetricsTable,
    RetentionTable,
    StoreTable,
    SwitchTable,
)
from strandkeeper.config.source_tables import SourceTable
from strandkeeper.config.table import Table
from strandkeeper.config.telling_tables import HeartbeatTable, TargetTable
from strandkeeper.config.thresholds import ThresholdsTable
from strandkeeper.config.tomltext import parse
from strandkeeper.config.users import read_users, users_path
from strandkeeper.errors import ConfigError
from strandkeeper.model.settings import Settings

__all__ = ["load", "loads", "starter_text"]

AnyTable = TypeVar("AnyTable", bound=Table)


def load(path: Path, *, user_comes: bool = False) -> Settings:
    """The settings in that file. Raises ConfigError with every problem found.

    Paths inside the file are relative to its directory. Secrets are not read, only named.
    `user_comes`: whoever asks is about to add the user that open addresses need.
    """
    base = path.resolve().parent
    return loads(_text(path), base=base, name=str(path), user_comes=user_comes)


def loads(
    text: str, *, base: Path, name: str = "the configuration", user_comes: bool = False
) -> Settings:
    """The settings in that text, as `load` does. `name` is what errors call the file."""
    raw = parse(text, name)
    table, problems = _shape(raw)
    problems += _relations(raw)
    problems += listen_problems(
        _section(DashboardTable, raw, "dashboard"),
        _section(MetricsTable, raw, "metrics"),
        lambda: user_comes or _somebody(raw, base),
    )
    if table is None or problems:
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        raise ConfigError(f"{name}: {count}", problems=tuple(str(p) for p in problems))
    return build(table, base)


def starter_text() -> str:
    """The commented file that a newcomer starts from: two switches, one link."""
    return resources.files(__package__).joinpath("starter.toml").read_text(encoding="utf-8")


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        reason = f"there is no file {path}"
        hint = f"start from the commented one: strandkeeper check --starter > {path}"
    except UnicodeDecodeError as error:
        reason = f"{path} is not UTF-8 text (byte {error.start + 1})"
        hint = "save it as UTF-8 in the editor"
    except OSError as error:
        reason = f"{path} cannot be read: {error.strerror}"
        hint = "name a readable TOML file"
    raise ConfigError(reason, hint=hint)


def _shape(raw: Mapping[str, Any]) -> tuple[FileTable | None, list[Problem]]:
    try:
        return FileTable.model_validate(raw), []
    except ValidationError as error:
        return None, explain(error, raw)


def _relations(raw: Mapping[str, Any]) -> list[Problem]:
    """What the readable parts contradict, also when other parts are not readable."""
    switches, links = _items(SwitchTable, raw, "switch"), _items(LinkTable, raw, "link")
    switch_names, link_names = _names(raw, "switch"), _names(raw, "link")
    return [
        *switch_problems(switches, switch_names),
        *link_problems(links, link_names, switch_names),
        *source_problems(
            _items(SourceTable, raw, "table"),
            _names(raw, "table"),
            [(s.name, s.tables) for s in switches],
        ),
        *interval_problems(
            _section(IntervalsTable, raw, "intervals"),
            _section(RetentionTable, raw, "retention"),
            _section(ThresholdsTable, raw, "thresholds"),
        ),
        *telling_problems(
            _items(TargetTable, raw, "target"),
            _names(raw, "target"),
            _readable(HeartbeatTable, raw["heartbeat"]) if "heartbeat" in raw else None,
        ),
    ]


def _somebody(raw: Mapping[str, Any], base: Path) -> bool:
    """Whether anybody may log in. Raises InputError where the users cannot be read."""
    record = base / _section(StoreTable, raw, "store").path
    return bool(read_users(users_path(record)).users)


def _items(table: type[AnyTable], raw: Mapping[str, Any], key: str) -> list[AnyTable]:
    listed = raw.get(key)
    found = [_readable(table, item) for item in listed] if isinstance(listed, list) else []
    return [item for item in found if item is not None]


def _section(table: type[AnyTable], raw: Mapping[str, Any], key: str) -> AnyTable:
    found = _readable(table, raw.get(key, {}))
    return table() if found is None else found


def _readable(table: type[AnyTable], data: object) -> AnyTable | None:
    try:
        return table.model_validate(data)
    except ValidationError:
        return None


def _names(raw: Mapping[str, Any], key: str) -> list[str]:
    listed = raw.get(key)
    items = listed if isinstance(listed, list) else []
    names = [item.get("name") for item in items if isinstance(item, Mapping)]
    return [name for name in names if isinstance(name, str)]
