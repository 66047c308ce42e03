"""Validation errors of pydantic turned into sentences: by name, got, expected, the line to write.

A value under a key that could hold a secret is never repeated.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from strandkeeper.config.problem import Problem, nearest, one_of, place, value_text
from strandkeeper.config.schema import SECRET_WAYS, FileTable
from strandkeeper.config.source_tables import OID
from strandkeeper.config.table import Table
from strandkeeper.config.telling_tables import CLOCK

__all__ = ["explain", "item_name"]

_SECRET = re.compile(r"snmp|communit|pass|secret|key|token|pwd", re.IGNORECASE)

_BRANCHES = ("int", "float", "str")

Loc = tuple[int | str, ...]


def explain(error: ValidationError, raw: Mapping[str, Any]) -> list[Problem]:
    """Every error of one validation of the whole file, in the file's order."""
    found: dict[Loc, Problem] = {}
    for e in error.errors():
        loc, kind = e["loc"], e["type"]
        if loc[-1] in _BRANCHES:  # pydantic has an error for each type that would have done
            loc, kind = loc[: -2 if isinstance(loc[-2], int) else -1], "number_or_text"
        found.setdefault(loc, _problem(kind, loc, e.get("ctx", {}), e["input"], raw))
    return list(found.values())


def item_name(kind: str, index: int, items: object) -> str:
    """`switch "lab-switch"`, or `the 2nd [[switch]]` when it has no usable name."""
    item = items[index] if isinstance(items, list) else None
    name = item.get("name") if isinstance(item, Mapping) else None
    if isinstance(name, str) and name:
        return f'{kind} "{name}"'
    return f"the {_ordinal(index + 1)} [[{kind}]]"


def _ordinal(n: int) -> str:
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


def _problem(
    kind: str, loc: Loc, ctx: Mapping[str, Any], got: object, raw: Mapping[str, Any]
) -> Problem:
    table, names = _walk(loc, raw)
    last = str(loc[-1])
    if kind == "extra_forbidden":
        return _unknown_key(names, last, table)
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        return _wrong_version(names, got)
    info = table.model_fields.get(last)
    if kind == "missing":
        return Problem(place(*names), f"missing ({_description(info)})", _line(last, info))
    if isinstance(loc[-1], int) and kind == "string_type":
        return _not_a_text(loc, raw, got)
    if isinstance(loc[-1], int):
        return Problem(place(*names), f"got {value_text(got)}, expected a table")
    text = EXPECTED[kind](ctx) if kind in EXPECTED else "another value"
    if kind == "list_type" and _example(info).startswith('["'):
        text = "a list of texts in brackets"
    return Problem(
        place(*names), f"got {_shown(last, got)}, expected {text}", _line(last, info, got)
    )


def _not_a_text(loc: Loc, raw: Mapping[str, Any], got: object) -> Problem:
    """One item of a list of texts is something else."""
    table, names = _walk(loc[:-1], raw)
    name = str(loc[-2])
    expected = f"text in double quotes as the {_ordinal(int(loc[-1]) + 1)} of the list"
    return Problem(
        place(*names),
        f"got {_shown(name, got)}, expected {expected}",
        _line(name, table.model_fields[name]),
    )


_PATTERNS: Final = {
    CLOCK: "a time of day from 00:00 to 23:59",
    OID: "an object identifier in numbers, such as 1.3.6.1.4.1.32473.1.1.1.5",
}

# pydantic's error type: what was expected, in plain words
EXPECTED: Final[dict[str, Callable[[Mapping[str, Any]], str]]] = {
    "string_type": lambda _: "text in double quotes",
    "int_type": lambda _: "a whole number",
    "float_type": lambda _: "a number",
    "bool_type": lambda _: "true or false",
    "list_type": lambda _: "tables in double brackets, one a thing",
    "model_type": lambda _: "a table",
    "model_attributes_type": lambda _: "a table",
    "literal_error": lambda ctx: one_of(_choices(ctx["expected"])),
    "greater_than": lambda ctx: f"more than {ctx['gt']:g}",
    "greater_than_equal": lambda ctx: f"at least {ctx['ge']:g}",
    "less_than_equal": lambda ctx: f"at most {ctx['le']:g}",
    "string_too_short": lambda _: "some text",
    "too_short": lambda _: "at least one",
    "finite_number": lambda _: "a finite number",
    "too_long": lambda ctx: f"at most {ctx['max_length']}",
    "string_pattern_mismatch": lambda ctx: _PATTERNS[ctx["pattern"]],
    "number_or_text": lambda _: "a number, or text in double quotes",
}


def _walk(loc: Loc, raw: Mapping[str, Any]) -> tuple[type[Table], list[str]]:
    """The table that the last part of `loc` belongs to, and the names of the way there."""
    table: type[Table] = FileTable
    choices: list[type[Table]] = []
    names: list[str] = []
    for depth, part in enumerate(loc):
        if isinstance(part, int):
            names[-1] = item_name(str(loc[depth - 1]), part, raw.get(str(loc[depth - 1])))
            continue
        if len(choices) > 1:  # the part is the version that chose among v2c and v3
            table, choices = _of_version(part, choices), []
            continue
        names.append(part)
        if depth < len(loc) - 1:
            choices = _tables(table.model_fields[part].annotation)
            table = choices[0] if choices else table
    return table, names


def _of_version(version: str, choices: Sequence[type[Table]]) -> type[Table]:
    versions = {t: get_args(t.model_fields["version"].annotation) for t in choices}
    return next(t for t, of in versions.items() if version in of)


def _tables(annotation: object) -> list[type[Table]]:
    """The tables that an annotation such as `list[SwitchTable]` speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return [annotation]
    return [t for inner in get_args(annotation) for t in _tables(inner)]


def _unknown_key(names: list[str], key: str, table: type[Table]) -> Problem:
    secret = _in_the_clear(key, table)
    if secret:
        return Problem(
            place(*names),
            "a secret in this file could be read by whatever reads the file; "
            "put it alone into a file that only the service can read",
            f"{secret}_file = {_example(table.model_fields[f'{secret}_file'])}"
            f" (or {one_of(f'{secret}_{way}' for way in SECRET_WAYS[1:])})",
        )
    close = nearest(key, table.model_fields)
    if close is None:
        return Problem(place(*names), f"no such key; there are: {', '.join(table.model_fields)}")
    return Problem(
        place(*names), f"no such key; nearest: {close}", _line(close, table.model_fields[close])
    )


def _in_the_clear(key: str, table: type[Table]) -> str | None:
    """Which secret a key such as `community` or `auth_password` was meant to hold, if any."""
    stems = [f.removesuffix("_file") for f in table.model_fields if f.endswith("_file")]
    if key in stems:
        return key
    if not re.search(r"pass|secret|pwd|string|key$", key, re.IGNORECASE):
        return None
    by_first = [s for s in stems if s.split("_")[0] == key.lower().split("_")[0]]
    return next(iter([*by_first, *stems]), None)


def _wrong_version(names: list[str], got: object) -> Problem:
    where = place(*names, "version")
    wanted = '"1", "2c" or "3"'
    version = got.get("version") if isinstance(got, Mapping) else None
    if version is None:
        return Problem(where, f"missing (SNMP version: {wanted})", 'version = "3"')
    line = f'version = "{version}"' if str(version) in ("1", "3") else 'version = "2c"'
    return Problem(where, f"got {value_text(version)}, expected {wanted} in quotes", line)


def _choices(expected: str) -> Sequence[str]:
    """The allowed values out of pydantic's list, as they stand in the file."""
    parts = re.findall(r"'([^']*)'|(\d+)", expected)
    return [f'"{text}"' if text else number for text, number in parts]


def _shown(key: str, got: object) -> str:
    return value_text(got) if got == "" or not _SECRET.search(key) else "something else"


def _description(info: FieldInfo | None) -> str:
    return (info.description if info else None) or "needed here"


def _example(info: FieldInfo | None) -> str:
    return str(info.examples[0]) if info and info.examples else "..."


def _line(key: str, info: FieldInfo | None, got: object = None) -> str:
    """The line to write: the nearest allowed word if there is one, else the example."""
    example = _example(info)
    if re.fullmatch(r"\[+\w+\]+", example):
        return example
    literals = [v for v in _literals(info.annotation if info else None) if isinstance(v, str)]
    close = nearest(got, literals) if isinstance(got, str) else None
    return f"{key} = {value_text(close) if close else example}"


def _literals(annotation: object) -> list[object]:
    found: list[object] = []
    for inner in get_args(annotation):
        found += [inner] if isinstance(inner, str | int) else _literals(inner)
    return found
