"""Every public function of optics/ and analysis/ tells its units, its errors and its source.

Style: one sentence, Parameters with a unit in brackets for each, Returns with its unit, Raises
where something is raised, Source, an Example that runs. Section names may be underlined or end in a
colon.
"""

from __future__ import annotations

import ast
import doctest
import importlib
import inspect
import pkgutil
import re
import textwrap
import types
from collections.abc import Callable, Iterator

import pytest

import strandkeeper.analysis
import strandkeeper.optics

PACKAGES = (strandkeeper.optics, strandkeeper.analysis)
HEAD = re.compile(r"^(Parameters|Returns|Raises|Notes|Source|Example)s?:?$")


def modules() -> Iterator[types.ModuleType]:
    for package in PACKAGES:
        for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            yield importlib.import_module(found.name)


def public_functions() -> list[tuple[str, Callable[..., object]]]:
    """Functions that a module offers in its `__all__` and defines itself."""
    named: list[tuple[str, Callable[..., object]]] = []
    for module in modules():
        for name in getattr(module, "__all__", ()):
            value = getattr(module, name)
            if inspect.isfunction(value) and value.__module__ == module.__name__:
                named.append((f"{module.__name__.removeprefix('strandkeeper.')}.{name}", value))
    return named


FUNCTIONS = public_functions()
UNIT = re.compile(r"\[[^\]]+\]")


def sections(function: Callable[..., object]) -> dict[str, list[str]]:
    """Lines by section; the first sentence stands under ''."""
    found: dict[str, list[str]] = {"": []}
    current = ""
    for line in (inspect.getdoc(function) or "").splitlines():
        head = HEAD.match(line.strip()) if not line.startswith(" ") else None
        if head:
            current = head[1]
            found[current] = []
        elif not re.fullmatch(r"-+", line):
            found[current].append(line)
    return found


def parameter_entries(lines: list[str]) -> dict[str, str]:
    """The text of each entry by name; 'a, b : float [m]' is two."""
    entries: dict[str, str] = {}
    names: list[str] = []
    indents = [len(line) - len(line.lstrip()) for line in lines if line.strip()]
    base = min(indents, default=0)
    for line in lines:
        if line.strip() and len(line) - len(line.lstrip()) == base:
            head = re.split(r"[:\[(]", line.strip(), maxsplit=1)[0]
            names = [n.strip().lstrip("*") for n in head.split(",")]
            entries.update(dict.fromkeys(names, ""))
        for name in names:
            entries[name] += " " + line.strip()
    return entries


def gaps(function: Callable[..., object]) -> list[str]:
    """Everything that the docstring leaves out, a phrase each."""
    told = sections(function)
    found = [] if " ".join(told[""]).strip() else ["no docstring"]
    found += _parameter_gaps(function, told)
    returns = " ".join(told.get("Returns", []))
    if not returns.strip():
        found.append("no Returns section")
    elif not UNIT.search(returns):
        found.append("Returns has no unit in brackets ([-] if it has none)")
    if not " ".join(told.get("Source", [])).strip():
        found.append("no Source section ('Own design, no source' is one)")
    if not any(">>>" in line for line in told.get("Example", [])):
        found.append("no Example")
    raises = " ".join(told.get("Raises", []))
    return found + [f"{e} is raised and not told" for e in raised(function) if e not in raises]


def _parameter_gaps(function: Callable[..., object], told: dict[str, list[str]]) -> list[str]:
    entries = parameter_entries(told.get("Parameters", []))
    found: list[str] = []
    for name in inspect.signature(function).parameters:
        if name not in entries:
            found.append(f"parameter {name!r} is not told")
        elif not UNIT.search(entries[name]):
            found.append(f"parameter {name!r} has no unit in brackets ([-] if it has none)")
    return found


def raised(function: Callable[..., object]) -> list[str]:
    """Names of the errors that the function's own body raises."""
    body = ast.parse(textwrap.dedent(inspect.getsource(function)))
    return sorted(
        node.exc.func.id
        for node in ast.walk(body)
        if isinstance(node, ast.Raise)
        and isinstance(node.exc, ast.Call)
        and isinstance(node.exc.func, ast.Name)
    )


@pytest.mark.parametrize(
    "function", [pytest.param(function, id=name) for name, function in FUNCTIONS]
)
def test_the_docstring_tells_units_errors_and_source(function: Callable[..., object]) -> None:
    assert gaps(function) == []


@pytest.mark.parametrize("module", list(modules()), ids=lambda m: m.__name__)
def test_the_examples_come_out_as_written(module: types.ModuleType) -> None:
    result = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE)
    assert result.failed == 0


def test_the_walk_finds_the_functions() -> None:
    """A walk that finds nothing would find nothing wrong either."""
    names = {name for name, _ in FUNCTIONS}
    assert {"optics.budget.loss_budget", "optics.pmd.by_name"} <= names
    assert "optics.sff8472.identity.decode_identity" in names


def test_a_docstring_without_units_is_caught() -> None:
    def careless(power: float) -> float:
        """Double it.

        Parameters
        ----------
        power : float
            How strong.
        """
        return power * 2

    assert gaps(careless) == [
        "parameter 'power' has no unit in brackets ([-] if it has none)",
        "no Returns section",
        "no Source section ('Own design, no source' is one)",
        "no Example",
    ]
